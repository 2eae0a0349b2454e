"""Several anchors in a row, as of a plate: columns that differ by a number alone."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from etl.draft.header import Header
from etl.draft.looks import BLANK
from etl.draft.match import name_fit
from etl.draft.named import KNOWN, best_named
from etl.draft.numbers import header_readings
from etl.draft.placed import Placed
from etl.draft.said import Said, Sureness
from etl.site_map.beside import ANCHOR, MARK, MOST_ANCHORS
from queries.columns import COLUMN_BY_NAME

_LETTERS = "ABCDEFGHIJ"
# A number, or one capital letter, that is no part of a larger number or word.
_TOLD_APART = re.compile(
    r"(?<!\d)(?<!\d[.,/])\d{1,2}(?!\d)(?![.,/]\d)"
    rf"|(?<![^\W_])[{_LETTERS}](?![^\W_])"
)
# A header that stands there again is told apart by the staging.
_AGAIN = re.compile(r"(?P<first>.+)(?P<text> \(\d{1,2}\))", re.DOTALL)
# One anchor may have several of these.
_SEVERAL = ("edge_1_mm", "edge_2_mm", "spacing_mm")
_MEASURED = ("number", "integer", "yes_no")
_FEWEST_ALONE = 3
_OFTEN, _MOSTLY = 0.5, 0.95

Texts = tuple[str, ...]
# The places of a header's columns for one anchor after the other.
Places = tuple[int, ...]


def with_anchors(header: Header) -> Header:
    """Return the header with one column for all of a row's anchors, "Torque {anchor}".

    The first anchor's cells stand in it. The header as it is where a row holds one.
    """
    texts, found = _anchors(header.names)
    if not texts:
        return header
    count = _count_place(header, found.values())
    first = {places[0]: pattern for pattern, places in found.items()}
    dropped = {place for places in found.values() for place in places[1:]} | {count}
    dropped |= {
        place
        for place, pattern in first.items()
        if not _is_measure(pattern) and _says_only_which(header, place)
    }
    kept = [place for place in range(len(header.names)) if place not in dropped]
    return replace(
        header,
        names=tuple(first.get(place, header.names[place]) for place in kept),
        bare=tuple(
            _without(header.bare[place], texts[0] if place in first else "")
            for place in kept
        ),
        units=tuple(header.units[place] for place in kept),
        groups=tuple(
            _without(header.groups[place], texts[0])
            for place in kept
            if place < len(header.groups)
        ),
        rows=[
            [row[place] if place < len(row) else "" for place in kept]
            for row in header.rows
        ],
        anchors=texts,
        anchor_count=None if count is None else header.names[count],
    )


def with_anchor_number(
    header: Header, placed: Sequence[Placed], within: Said[tuple[str, ...]] | None
) -> tuple[list[Placed], Said[tuple[str, ...]] | None]:
    """Return the columns and what a record's number counts within, of such a row.

    A record is the anchor, counted within the number of the row: a guess, as the
    anchors are, while no column is taken that is one's own. A time that stands once is
    asked: it may be that of all its anchors.
    """
    if header.anchors:
        placed = [_time_asked(one) for one in placed]
    numbers = [one for one in placed if one.column.name == "record_id"]
    if not header.anchors or not numbers:
        return list(placed), within
    number = numbers[0]
    sureness, reason = _sureness(placed), "a row holds several anchors"
    if MARK not in number.header:
        earlier = within.value if within is not None and within.is_active else ()
        within = Said((*earlier, number.header), sureness, reason)
        number = replace(number, header=ANCHOR)
    if sureness == "guess":
        number = replace(number, said=Said(None, sureness, reason))
    return [number if one.column.name == "record_id" else one for one in placed], within


def _sureness(placed: Sequence[Placed]) -> Sureness:
    """Return how sure it is that rows hold several anchors, by the columns taken."""
    has_own = any(
        MARK in one.header
        for one in placed
        if one.said.is_active and one.column.name != "record_id"
    )
    return "likely" if has_own else "guess"


def _time_asked(one: Placed) -> Placed:
    if one.column.unit != "s" or MARK in one.header:
        return one
    reason = "is it the time of one anchor, or of all in the row?"
    return replace(one, said=Said(one.said.value, "guess", reason))


def anchors_said(header: Header, placed: Sequence[Placed]) -> Said[None]:
    """Return why a row is taken for one of several anchors, with what that means."""
    names = [name for name in header.names if MARK in name]
    first, last = (names[0].replace(MARK, header.anchors[at]) for at in (0, -1))
    reason = (
        f"{first!r} to {last!r} are of {len(header.anchors)} anchors in a row; what it "
        "says once counts for each of them"
    )
    return Said(None, _sureness(placed), reason)


def _anchors(names: Sequence[str]) -> tuple[Texts, dict[str, Places]]:
    """Return what tells the anchors apart, and the columns by their common name."""
    by_texts: dict[Texts, dict[str, Places]] = defaultdict(dict)
    for pattern, found in _patterns(names).items():
        if texts := _in_order(found):
            by_texts[texts][pattern] = tuple(found[text] for text in texts)
    fitting = {
        texts: found
        for texts, found in by_texts.items()
        if any(map(_is_measure, found))
        and (len(texts) >= _FEWEST_ALONE or len(found) > 1 or _is_listed(found))
    }
    if not fitting:
        return (), {}
    return max(fitting.items(), key=lambda one: (len(one[1]), len(one[0])))


def _says_only_which(header: Header, place: int) -> bool:
    """Say whether a column only numbers the first of a row's anchors."""
    return {cell for row in header.rows for cell in row[place : place + 1]} == {"1"}


def _patterns(names: Sequence[str]) -> dict[str, dict[str, int]]:
    """Return each common name of columns, with their places by what is not common."""
    found: dict[str, dict[str, int]] = defaultdict(dict)
    for place, name in enumerate(names):
        for at in _TOLD_APART.finditer(name):
            pattern = f"{name[: at.start()]}{MARK}{name[at.end() :]}"
            found[pattern].setdefault(at.group(), place)
        again = _AGAIN.fullmatch(name)
        first, text = (again["first"], again["text"]) if again else (name, "")
        found[f"{first}{MARK}"].setdefault(text, place)
    return found


def _in_order(found: Mapping[str, int]) -> Texts:
    """Return the texts that count on from the first; none where they do not."""
    texts = sorted(found, key=lambda text: (len(text), text))
    count = len(texts)
    ways = (
        [str(number) for number in range(1, count + 1)],
        [f"{number:02}" for number in range(1, count + 1)],
        list(_LETTERS[:count]),
        ["", *(f" ({number})" for number in range(2, count + 1))],
    )
    counts = 2 <= count <= MOST_ANCHORS and texts in ways
    return tuple(texts) if counts else ()


def _is_measure(pattern: str) -> bool:
    """Say whether a common name is that of a measure of one anchor."""
    bare = " ".join(pattern.replace(MARK, " ").split())
    fit, column = best_named(bare.rpartition(". .")[2])
    torque = any(
        reading.unit == "Nm" and not name_fit(reading.words, "recheck_torque_nm")
        for reading in header_readings(bare)
    )
    kind = COLUMN_BY_NAME[column].kind
    return torque or (fit >= KNOWN and kind in _MEASURED and column not in _SEVERAL)


def _is_listed(patterns: Iterable[str]) -> bool:
    """Say whether they are the values of a list of objects, "holes.1.depth"."""
    return any(f".{MARK}." in pattern for pattern in patterns)


def _without(name: str, text: str) -> str:
    """Return a name without what tells the anchors apart."""
    if not text:
        return name
    bare = re.sub(rf"(?<![^\W_]){re.escape(text)}(?![^\W_])", " ", name)
    return " ".join(bare.split()).strip(" ._-") or name


def _is_filled(cells: Sequence[str]) -> bool:
    return any(not BLANK.fullmatch(cell) for cell in cells)


def _count_place(header: Header, found: Iterable[Places]) -> int | None:
    """Return the column that says how many anchors a row has, by its numbers."""
    of_anchor = list(zip(*found, strict=True))
    filled = [
        sum(any(map(_is_filled, (row[p : p + 1] for p in its))) for its in of_anchor)
        for row in header.rows
    ]
    taken = {place for its in of_anchor for place in its}
    for place in range(len(header.names)):
        cells = [(row[place : place + 1] or [""])[0] for row in header.rows]
        said = [int(cell) if cell.isdecimal() else -1 for cell in cells]
        pairs = list(zip(said, filled, strict=True))
        if (
            place not in taken
            and len({*said}) > 1
            and max(said) <= len(of_anchor)
            and sum(count >= logged for count, logged in pairs) >= _MOSTLY * len(pairs)
            and sum(count == logged for count, logged in pairs) >= _OFTEN * len(pairs)
        ):
            return place
    return None
