"""Give each column one header and each header one column, by the best total score."""

from collections.abc import Sequence
from math import inf


def assign(scores: Sequence[Sequence[float]]) -> list[int | None]:
    """Return, for each row of scores, its column in the assignment of highest total.

    Scores are 0 or more; a pair of score 0 is not made (None). At most one row has a
    given column. The Hungarian method with potentials, by shortest augmenting paths
    (Kuhn 1955, Naval Research Logistics Quarterly 2:83-97; this form from memory).
    """
    if not scores or not scores[0]:
        return [None] * len(scores)
    rows = len(scores)
    # A column of no worth for each row: it may also stay without.
    costs = [[-score for score in row] + [0.0] * rows for row in scores]
    owners = _solve(costs)
    found: list[int | None] = [None] * rows
    for column, row in enumerate(owners):
        if row is not None and column < len(scores[0]) and scores[row][column] > 0:
            found[row] = column
    return found


def _solve(costs: list[list[float]]) -> list[int | None]:
    """Return the row of each column in the assignment of least cost."""
    width = len(costs[0])
    row_price, column_price = [0.0] * len(costs), [0.0] * width
    owners: list[int | None] = [None] * width
    for start in range(len(costs)):
        slack, previous = [inf] * width, [-1] * width
        visited = [False] * width
        row, column = start, -1
        while True:
            best, nearest = inf, -1
            for other in range(width):
                if visited[other]:
                    continue
                reduced = costs[row][other] - row_price[row] - column_price[other]
                if reduced < slack[other]:
                    slack[other], previous[other] = reduced, column
                if slack[other] < best:
                    best, nearest = slack[other], other
            row_price[start] += best
            for other in range(width):
                owner = owners[other]
                if visited[other]:
                    column_price[other] -= best
                    if owner is not None:
                        row_price[owner] += best
                else:
                    slack[other] -= best
            visited[nearest], column = True, nearest
            next_row = owners[column]
            if next_row is None:
                break
            row = next_row
        while column != -1:
            before = previous[column]
            owners[column] = start if before == -1 else owners[before]
            column = before
    return owners
