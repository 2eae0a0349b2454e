"""Groups beside others' like work, as far as what makes it alike was recorded.

Work is alike where its anchor size, drill method and orientation are. Of these a site
may log two: then no other site's work is like its own, and nothing would compare. A
group without like work is therefore compared without what one of the two sides, the
group or all of its others, recorded nowhere; never without what both recorded. What
that does to a rate then stays in the difference, which has to be said.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from queries.statistics.comparison import Comparison, compare
from queries.statistics.flagging import (
    FLAGGED_AT,
    Cells,
    GroupDays,
    Weighed,
    weigh,
)
from queries.statistics.multiple import benjamini_hochberg

Kind = tuple[str | None, ...]
_Answer = TypeVar("_Answer", Comparison, Weighed)
# Keys of a kind of work that may be left out, and in which order that is tried: of
# the two a site mostly logs the method.
LEFT_OUT = (("orientation",), ("drill_method",), ("drill_method", "orientation"))
_TAKEN = (
    *("expected", "ratio", "ratio_low", "ratio_high", "p_value"),
    *("mix_part", "performance_part", "silent_judged", "is_worse"),
)


@dataclass(frozen=True)
class Matched:
    """A comparison, and by group the keys that it was compared without."""

    comparison: Comparison
    without: tuple[tuple[str, ...], ...]


def compare_matched(
    cells: Cells, kinds: Sequence[Kind], keys: Sequence[str], days: GroupDays
) -> Matched:
    """Compare groups with others' work of the same kind, or of the nearest recorded.

    `kinds` are the columns of `cells`, each a value a key, None where not recorded.
    """
    return Matched(
        *_matched(cells, kinds, keys, lambda like: compare(like, days), _TAKEN)
    )


def weigh_matched(
    cells: Cells, kinds: Sequence[Kind], keys: Sequence[str], days: GroupDays
) -> Weighed:
    """Return only the test of compare_matched."""
    names = ("p_value", "is_worse")
    found, _ = _matched(cells, kinds, keys, lambda like: weigh(like, days), names)
    return found


def _matched(
    cells: Cells,
    kinds: Sequence[Kind],
    keys: Sequence[str],
    ask: Callable[[Cells], _Answer],
    names: Sequence[str],
) -> tuple[_Answer, tuple[tuple[str, ...], ...]]:
    """Return what is asked of groups, of some without keys, and these by group.

    `names`: what an answer has of a group by the cells.
    """
    found = ask(cells)
    without: list[tuple[str, ...]] = [()] * len(cells.judged)
    is_judged = cells.judged.sum(axis=1) > 0
    if not (np.isnan(found.p_value) & is_judged).any():
        return found, tuple(without)
    for left_out, may in _ways(cells, kinds, keys):
        silent = np.isnan(found.p_value) & is_judged & may
        if not silent.any():
            continue
        coarser = ask(_merged(cells, kinds, keys, left_out))
        taken = silent & ~np.isnan(coarser.p_value)
        found = _with_rows(found, coarser, taken, names)
        for group in np.flatnonzero(taken):
            without[group] = left_out
    return found, tuple(without)


def _ways(
    cells: Cells, kinds: Sequence[Kind], keys: Sequence[str]
) -> Iterator[tuple[tuple[str, ...], NDArray[np.bool_]]]:
    """Yield what may be left out, and of which groups."""
    one_sided = {
        key: _is_one_sided(cells, [kind[place] for kind in kinds])
        for place, key in enumerate(keys)
    }
    for left_out in LEFT_OUT:
        if set(left_out) <= one_sided.keys():
            yield left_out, np.logical_and.reduce([one_sided[key] for key in left_out])


def _is_one_sided(cells: Cells, values: Sequence[str | None]) -> NDArray[np.bool_]:
    """Say of which groups they or all of their others record nothing of a key."""
    is_known = np.array([value is not None for value in values], dtype=bool)
    own = cells.judged[:, is_known].sum(axis=1)
    return np.asarray((own == 0) | (own.sum() - own == 0))


def _merged(
    cells: Cells, kinds: Sequence[Kind], keys: Sequence[str], left_out: Sequence[str]
) -> Cells:
    """Return the cells of what is left of the keys."""
    kept = [place for place, key in enumerate(keys) if key not in left_out]
    columns: dict[Kind, int] = {}
    column_of = [
        columns.setdefault(tuple(kind[place] for place in kept), len(columns))
        for kind in kinds
    ]
    belongs = np.zeros((len(kinds), len(columns)), dtype=np.int64)
    belongs[range(len(kinds)), column_of] = 1
    return Cells(cells.judged @ belongs, cells.nonconforming @ belongs)


def _with_rows(
    found: _Answer, other: _Answer, taken: NDArray[np.bool_], names: Sequence[str]
) -> _Answer:
    """Return an answer with the rows of another, flagged among all of its groups."""
    rows = {
        name: np.where(taken, getattr(other, name), getattr(found, name))
        for name in names
    }
    q_value = benjamini_hochberg(rows["p_value"])
    flagged = (q_value <= FLAGGED_AT) & rows["is_worse"]
    return replace(found, **rows, q_value=q_value, flagged=flagged)
