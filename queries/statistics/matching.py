"""Groups beside others' like work, as far as what makes it alike was recorded.

Work is alike where its anchor size, drill method and orientation are. Of these a site
may log two. That is no kind of work: a group that recorded one of them nowhere is
compared with all others without it, and so is a group whose others recorded none, as
nothing would compare with it; never without what both sides recorded. What is left
out stays in the difference, which has to be said.
"""

from collections.abc import Callable, Sequence
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
    q_values,
    weigh,
)

Kind = tuple[str | None, ...]
_Answer = TypeVar("_Answer", Comparison, Weighed)
# Keys of a kind of work that may be left out, and in which order that is tried: of
# the two a site mostly logs the method.
LEFT_OUT = (("orientation",), ("drill_method",), ("drill_method", "orientation"))
_WORK = (
    *("comparable_judged", "comparable_nonconforming"),
    *("difficulty", "difficulty_variance"),
)
_TAKEN = (
    *("expected", "ratio", "ratio_low", "ratio_high", "p_value"),
    *("is_worse", "can_tell", "mix_part", "performance_part"),
    *_WORK,
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
    names = ("p_value", "is_worse", "can_tell", *_WORK)
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
    recorded = _recorded(cells, kinds, keys)
    lacks = {key: (own == 0) & (others > 0) for key, (own, others) in recorded.items()}
    may = {key: (own == 0) | (others == 0) for key, (own, others) in recorded.items()}
    is_judged = cells.judged.sum(axis=1) > 0
    ways = [way for way in LEFT_OUT if set(way) <= recorded.keys()]

    def take(way: tuple[str, ...], due: NDArray[np.bool_]) -> _Answer:
        if not due.any():
            return found
        coarser = ask(_merged(cells, kinds, keys, way))
        taken = due & ~np.isnan(coarser.p_value)
        for group in np.flatnonzero(taken):
            without[group] = way
        return _with_rows(found, coarser, taken, names)

    # Of a group that lacks both the last way counts, which is both.
    for way in ways:
        lacking = np.logical_and.reduce([lacks[key] for key in way])
        found = take(way, is_judged & lacking)
    for way in ways:
        silent = np.isnan(found.p_value) & is_judged
        found = take(way, silent & np.logical_and.reduce([may[key] for key in way]))
    return found, tuple(without)


def _recorded(
    cells: Cells, kinds: Sequence[Kind], keys: Sequence[str]
) -> dict[str, tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """Return by key how much of each group's work, and of its others', has it."""
    found = {}
    for key in LEFT_OUT[-1]:
        if key not in keys:
            continue
        place = keys.index(key)
        is_known = np.array([kind[place] is not None for kind in kinds], dtype=bool)
        own = cells.judged[:, is_known].sum(axis=1)
        found[key] = (own, own.sum() - own)
    return found


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
    q_value = q_values(rows["p_value"], rows["can_tell"])
    flagged = (q_value <= FLAGGED_AT) & rows["is_worse"]
    return replace(found, **rows, q_value=q_value, flagged=flagged)
