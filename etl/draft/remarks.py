"""What a draft remarks on the columns that a map has no place for."""

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from etl.draft.codes import Codes
from etl.draft.header import Header
from etl.draft.held import Held
from etl.draft.looks import Looks
from etl.draft.match import may_count
from etl.draft.named import KNOWN, best_named
from etl.draft.numbers import measured
from etl.draft.placed import Placed
from etl.draft.words import words
from queries.columns import COLUMN_BY_NAME

_MOSTLY = 0.95
_FEW_OTHERS = 0.9
_FIGURES = ("number", "integer")
_RANGE = re.compile(r"\D{0,10}(\d{1,6})(?: ?(?:-|–|to|bis|à|a) ?\D{0,10}(\d{1,6}))?")
_OFTEN = 0.5


def answers_said(header: Header, looks: Sequence[Looks]) -> tuple[str, ...]:
    """Return a remark on the columns of answers that are named as what is measured."""
    found = [
        name
        for place, name in enumerate(header.names)
        if _are_answers(looks[place]) and _is_measured(header, place)
    ]
    if not found:
        return ()
    remark = (
        f"{', '.join(map(repr, found))}: answers, where what was measured is judged; "
        "without figures these checks are unrecorded, which is never a pass"
    )
    return (remark,)


def unfigured_said(
    header: Header,
    looks: Sequence[Looks],
    placed: Sequence[Placed],
    said: Sequence[str],
) -> tuple[str, ...]:
    """Return a remark on each column that is named as a figure and mostly is none.

    Not on answers, nor where another remark (`said`) begins with the name: they say
    what to do about it.
    """
    taken = {one.header for one in placed if one.said.is_active}
    remarks = []
    for place, name in enumerate(header.names):
        its = looks[place]
        figures = its.number_share + its.clear_share + its.minutes_share
        is_said = _are_answers(its) or any(one.startswith(repr(name)) for one in said)
        is_other = name in taken or place in header.pieces or is_said
        if is_other or not its.filled or figures >= _FEW_OTHERS:
            continue
        fit, column = best_named(header.spoken(place)[0])
        if fit >= KNOWN and COLUMN_BY_NAME[column].kind in _FIGURES:
            odd = next(cell for cell in its.filled if not measured(cell, its.decimal))
            remarks.append(
                f"{name!r} is named as a figure ({column}), but "
                f"{100 * (1 - figures):.0f} % of its cells are none, as {odd!r}: these "
                "could not be read"
            )
    return tuple(remarks)


def counts_said(
    header: Header, looks: Sequence[Looks], placed: Sequence[Placed]
) -> tuple[str, ...]:
    """Return a remark on each column that counts several anchors in its rows.

    Not on the record's number: "Anchors" may number them as well.
    """
    taken = {
        one.header
        for one in placed
        if one.column.name == "record_id" and one.said.is_active
    }
    return tuple(
        f"{name!r} says more than 1 in {several} rows: each row counts as one anchor; "
        "where it stands for several, the log should have a row for each"
        for place, name in enumerate(header.names)
        if may_count(header.spoken(place)[0]) and name not in taken
        if (several := sum(number > 1 for number in looks[place].numbers))
    )


def ranges_said(placed: Sequence[Placed]) -> tuple[str, ...]:
    """Return a remark where the records' numbers are 1-4, 5-8: several anchors each."""
    for one in placed:
        named = range_in(one.looks.filled) if one.column.name == "record_id" else None
        if named:
            remark = (
                f"record numbers as {named!r} seem to name several anchors: each row "
                "counts as one; the log should have a row for each"
            )
            return (remark,)
    return ()


def settings_said(held: Held, codes: Mapping[str, Codes]) -> tuple[str, ...]:
    """Return a remark where words for anchors are asked and no codes are held."""
    asked = codes["setting_code"].unknown if "setting_code" in codes else ()
    if held.settings or not asked:
        return ()
    remark = (
        "no setting data are loaded: load them first and draft anew, so that it can "
        f"be told which of their codes {asked[0]!r} may be"
    )
    return (remark,)


def range_in(numbers: Sequence[str]) -> str | None:
    """Return the first range among record numbers, where they are such; else None.

    Most go on where the one before ended, which a plate's number and an anchor's in it
    do not. A number alone, among ranges, is one of a single anchor.
    """
    found = [_RANGE.fullmatch(number) for number in numbers]
    ends = [(int(one[1]), int(one[2] or one[1])) for one in found if one]
    going_on = sum(
        first[1] + 1 == second[0] <= second[1] for first, second in pairwise(ends)
    )
    if going_on == 0 or going_on < _OFTEN * (len(found) - 1):
        return None
    return next((one[0] for one in found if one and one[2]), None)


def _are_answers(looks: Looks) -> bool:
    verdicts = looks.word_share(dict.fromkeys(words().verdicts, ""))
    return max(looks.answer_share, verdicts) >= _MOSTLY


def _is_measured(header: Header, place: int) -> bool:
    fit, name = best_named(header.spoken(place)[0])
    # Revisions are numbered 0 and 1 as a rule, and nothing is measured by them.
    is_figure = COLUMN_BY_NAME[name].kind in _FIGURES and name != "revision"
    return fit >= KNOWN and is_figure
