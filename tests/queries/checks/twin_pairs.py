"""The twin's edge and spacing: pairs (c, s) as European assessments state them."""

from collections.abc import Callable
from fractions import Fraction

from tests.queries.checks.twin_values import UNREADABLE, Judged, Row, known, lost


def pair(need: Row) -> tuple[Fraction, Fraction, Fraction, Fraction]:
    """c_min, s_1, s_min, c_1; without a pair both smallest are allowed at once."""
    return (
        need["min_edge_mm"],
        need["at_spacing_mm"] or need["min_spacing_mm"],
        need["min_spacing_mm"],
        need["at_edge_mm"] or need["min_edge_mm"],
    )


def is_allowed(c: Fraction, s: Fraction, need: Row) -> bool:
    """A = (c_min, s_1), B = (s_min, c_1), or on and above the line between them."""
    c_min, s_1, s_min, c_1 = pair(need)
    if c < c_min or s < s_min:
        return False
    if c >= c_1 or s >= s_1:
        return True
    if not need["edge_spacing_interpolates"]:
        return False
    return s >= s_1 - (s_1 - s_min) * (c - c_min) / (c_1 - c_min)


def nearest(row: Row) -> Fraction | None:
    edges = [known(row["edge_1_mm"]), known(row["edge_2_mm"])]
    return min((edge for edge in edges if edge is not None), default=None)


def _paired(
    value: Fraction | None,
    smallest: Fraction,
    safe: Fraction,
    needed: Callable[[], Fraction | None],
) -> Fraction | None:
    """Return the limit that decides one partner of the pair, if one does."""
    if value is None:
        return None
    if value < smallest:
        return smallest
    limit = needed()
    if limit is not None:
        return limit
    return safe if value >= safe else None


def edge_distance(row: Row, need: Row) -> Judged:
    c, s = nearest(row), known(row["spacing_mm"])
    c_min, s_1, s_min, c_1 = pair(need)

    def needed() -> Fraction | None:
        if s is None:
            return None
        if s >= s_1:
            return c_min
        if s >= s_min and need["edge_spacing_interpolates"]:
            return c_min + (s_1 - s) * (c_1 - c_min) / (s_1 - s_min)
        return c_1  # also for a spacing below s_min, which is the spacing's own fault

    limit = _paired(c, c_min, c_1, needed)
    margin = None if limit is None or c is None else c - limit
    torn = UNREADABLE in (row["edge_1_mm"], row["edge_2_mm"])
    if margin is not None and margin < 0:
        return "nonconforming", margin, "close"
    if margin is None or torn:
        return lost(row, "edge_1_mm", "edge_2_mm", "spacing_mm"), margin, None
    if c is not None and s is not None and s >= s_min:
        assert is_allowed(c, s, need)
    return "conforming", margin, None


def spacing(row: Row, need: Row) -> Judged:
    c, s = nearest(row), known(row["spacing_mm"])
    c_min, s_1, s_min, c_1 = pair(need)

    def needed() -> Fraction | None:
        if c is None:
            return None
        if c >= c_1:
            return s_min
        if c >= c_min and need["edge_spacing_interpolates"]:
            return s_1 - (s_1 - s_min) * (c - c_min) / (c_1 - c_min)
        return s_1  # also for an edge below c_min, which is the edge's own fault

    limit = _paired(s, s_min, s_1, needed)
    margin = None if limit is None or s is None else s - limit
    torn = UNREADABLE in (row["edge_1_mm"], row["edge_2_mm"])
    if margin is not None and margin < 0:
        return "nonconforming", margin, "close"
    # An edge that cannot be read may be nearer and ask for up to s_1.
    if margin is None or s is None or (torn and s < s_1):
        return lost(row, "edge_1_mm", "edge_2_mm", "spacing_mm"), margin, None
    return "conforming", margin, None
