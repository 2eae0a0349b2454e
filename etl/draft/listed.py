"""Tell a log that lists its values, one a row; gather an anchor's as a load does."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from etl.draft.header import Header, unnumbered
from etl.draft.named import KNOWN, best_named, may_be_name
from etl.draft.numbers import is_read, measured, unit_of
from etl.draft.said import Said
from etl.draft.sample import Rows
from etl.draft.words import plain
from etl.site_map import ListedValues

# Words for columns that stand below one another, and how often each comes again.
_LEAST_NAMES = 4
_LEAST_SHARE = 1 / 3
_LEAST_AGAIN = 2
# An anchor's values are named once each, but for a few that were taken again.
_UNIQUE = 0.95
_LEAST_VALUES = 3
_GAPPY = 0.6
_MOSTLY = 0.6
_MOST_COLUMNS = 40
# What the column of the values is called. Common practice, no source.
_VALUE_WORDS = frozenset(
    plain(word)
    for word in (
        *("value", "values", "result", "answer", "response", "reading"),
        *("measured", "actual", "wert", "messwert", "ergebnis", "antwort", "istwert"),
        *("angabe", "valeur", "résultat", "réponse", "mesure", "valor", "resultado"),
        *("respuesta", "resposta", "medida", "valore", "risultato", "risposta"),
        *("waarde", "resultaat", "antwoord", "meting", "wartość", "wynik", "hodnota"),
        *("výsledek", "värde", "resultat", "værdi", "verdi", "svar"),
    )
)

# Codes have none: looking each up as a name takes longer than all else.
_WORD = re.compile(r"[^\W\d_]{4}")
# What stands in a list of objects in a JSON record.
_NUMBERED = re.compile(r"(?P<within>.+)\.(?P<place>[1-9]\d*)\.(?P<leaf>[^.]+)")

Key = tuple[str, ...]
# The columns of a list's objects, by their number in it and the name there.
Places = dict[tuple[int, str], int]


def lists_values(rows: Rows) -> bool:
    """Say whether some column of rows holds words for columns, which come again."""
    width = min(max(map(len, rows)), _MOST_COLUMNS)
    padded = [[*row, *[""] * (width - len(row))] for row in rows]
    return _name_place(padded, width) is not None


def with_listed(header: Header) -> Header:
    """Return the header with a column for each name that stands in a column of names.

    And a row an anchor. The columns of names, values and units stay, without their
    own names; the header as it is where it lists none.
    """
    width = min(len(header.names), _MOST_COLUMNS)
    rows = [[*row, *[""] * (len(header.names) - len(row))] for row in header.rows]
    name = _name_place(rows, width)
    if name is None:
        return header
    others = [place for place in range(width) if place != name]
    unit = next((place for place in others if _are_units(rows, place)), None)
    others = [place for place in others if place != unit]
    value = _value_place(header, rows, name, others)
    if value is None:
        return header
    others.remove(value)
    found = _anchor_places(header, rows, name, others)
    if found is None:
        return header
    anchor, fill_down = found
    names = [cell for cell in dict.fromkeys(row[name] for row in rows) if cell]
    listed = ListedValues(
        tuple(header.names[place] for place in anchor),
        header.names[name],
        header.names[value],
        None if unit is None else header.names[unit],
        fill_down=fill_down,
    )
    said = ", ".join(map(repr, names[:2]))
    reason = f"{said} and others stand below one another, for one anchor after another"
    return _gathered(
        replace(header, rows=rows, listed=Said(listed, "likely", reason)),
        [place for place in (name, value, unit) if place is not None],
        [*zip(_keys(rows, anchor, fill_down=fill_down), rows, strict=True)],
    )


def with_listed_within(header: Header) -> Header:
    """Return with_listed of a list in JSON records, "answers.1.question"."""
    found = [_NUMBERED.fullmatch(name) for name in header.names]
    for within in dict.fromkeys(one["within"] for one in found if one):
        places = {
            (int(one["place"]), one["leaf"]): at
            for at, one in enumerate(found)
            if one and one["within"] == within
        }
        listed = with_listed(_as_rows(header, within, places))
        if listed.listed is not None:
            return listed
    return header


def _as_rows(header: Header, within: str, places: Places) -> Header:
    """Return a header with a row for each object of a record's list."""
    own = [at for at in range(len(header.names)) if at not in places.values()]
    leaves = [*dict.fromkeys(leaf for _, leaf in places)]
    numbers = dict.fromkeys(number for number, _ in places)

    def cell(row: Sequence[str], at: int | None) -> str:
        return row[at] if at is not None and at < len(row) else ""

    rows = [
        [
            *(cell(row, at) for at in own),
            *(cell(row, places.get((number, leaf))) for leaf in leaves),
        ]
        for row in header.rows
        for number in numbers
    ]
    blank = len(own)
    return replace(
        header,
        names=(
            *(header.names[at] for at in own),
            *(f"{within}.{leaf}" for leaf in leaves),
        ),
        bare=(*(header.bare[at] for at in own), *leaves),
        units=(None,) * (blank + len(leaves)),
        groups=(*(header.groups[at] for at in own), *[""] * len(leaves))
        if header.groups
        else (),
        rows=[row for row in rows if any(row[blank:])],
    )


def _name_place(rows: Rows, width: int) -> int | None:
    """Return the column whose cells are words for columns, which come again."""
    counts = {place: _known_count(rows, place) for place in range(width)}
    place = max(counts, key=counts.__getitem__, default=0)
    return place if counts.get(place, 0) >= _LEAST_NAMES else None


def _known_count(rows: Rows, place: int) -> int:
    cells = [row[place] for row in rows if row[place]]
    names = dict.fromkeys(cells)
    is_worded = sum(_WORD.search(name) is not None for name in names) >= _LEAST_NAMES
    if len(cells) < _LEAST_AGAIN * len(names) or not is_worded:
        return 0
    best = [best_named(cell) for cell in names if may_be_name(cell)]
    known = {column for fit, column in best if fit >= KNOWN}
    return len(known) if len(known) >= _LEAST_SHARE * len(names) else 0


def _are_units(rows: Rows, place: int) -> bool:
    cells = [row[place] for row in rows if row[place]]
    units = [unit for cell in cells if (unit := unit_of(cell)) and is_read(unit)]
    return bool(cells) and len(units) >= _MOSTLY * len(cells)


def _value_place(
    header: Header, rows: Rows, name: int, others: Sequence[int]
) -> int | None:
    """Return the column called so, else the first behind the names that is filled."""
    called = [
        place
        for place in others
        if _VALUE_WORDS.intersection(plain(header.bare[place]).split())
        and not _is_number(header.bare[place])
    ]
    filled = [
        place
        for place in others
        if place > name and sum(bool(row[place]) for row in rows) >= len(rows) / 2
    ]
    return next(iter([*called, *filled]), None)


def _anchor_places(
    header: Header, rows: Rows, name: int, others: Sequence[int]
) -> tuple[tuple[int, ...], bool] | None:
    """Return the columns that tell anchors apart, and whether they are to be filled.

    Within what they say each name stands once. One is enough mostly, else two: that of
    the record's number is one of them, where there is one.
    """
    numbers = {place for place in others if _is_number(header.bare[place])}
    for places in (*((place,) for place in others), *combinations(others, 2)):
        if numbers.isdisjoint(places) and numbers:
            continue
        filled = sum(any(row[place] for place in places) for row in rows)
        fill_down = filled < _GAPPY * len(rows)
        keys = _keys(rows, places, fill_down=fill_down)
        pairs = [
            (key, plain(row[name]))
            for key, row in zip(keys, rows, strict=True)
            if any(key) and row[name]
        ]
        anchors = {key for key, _ in pairs}
        if (
            len(pairs) >= _UNIQUE * sum(bool(row[name]) for row in rows)
            and len({*pairs}) >= _UNIQUE * len(pairs)
            and len(pairs) >= _LEAST_VALUES * len(anchors)
        ):
            return places, fill_down
    return None


def _is_number(name: str) -> bool:
    fit, column = best_named(name)
    return fit >= KNOWN and column == "record_id"


def _keys(rows: Rows, places: Sequence[int], *, fill_down: bool) -> list[Key]:
    last = [""] * len(places)
    keys = []
    for row in rows:
        own = [row[place] for place in places]
        if fill_down:
            last = [cell or above for cell, above in zip(own, last, strict=True)]
            own = last
        keys.append(tuple(own))
    return keys


def _gathered(
    header: Header, places: Sequence[int], rows: Iterable[tuple[Key, list[str]]]
) -> Header:
    """Return the header with a row an anchor; `places` hold name, value, maybe unit."""
    own: dict[Key, list[str]] = {}
    said: dict[Key, dict[str, list[str]]] = {}
    spelled: dict[str, str] = {}
    for key, row in rows:
        if not any(key):
            continue
        first = own.setdefault(key, [""] * len(header.names))
        for place, cell in enumerate(row):
            first[place] = first[place] or ("" if place in places else cell)
        name, cell = row[places[0]], _with_unit(row, places)
        if name:
            header_name = spelled.setdefault(" ".join(name.lower().split()), name)
            cells = said.setdefault(key, {}).setdefault(header_name, [])
            cells += [cell] if cell and cell not in cells else []
    return _widened(header, places, spelled.values(), own, said)


def _with_unit(row: Sequence[str], places: Sequence[int]) -> str:
    cell = row[places[1]]
    unit = row[places[2]] if len(places) > 2 else ""
    has_unit = unit_of(unit) is not None and cell[-1:].isnumeric()
    is_figure = measured(cell, ".") is not None or measured(cell, ",") is not None
    return f"{cell} {unit}" if has_unit and is_figure else cell


def _widened(
    header: Header,
    places: Sequence[int],
    named: Iterable[str],
    own: dict[Key, list[str]],
    said: dict[Key, dict[str, list[str]]],
) -> Header:
    more = [name for name in named if name not in header.names]
    bare = ["" if at in places else name for at, name in enumerate(header.bare)]

    def cells(key: Key) -> Iterator[str]:
        its = {name: " / ".join(texts) for name, texts in said.get(key, {}).items()}
        for name, cell in zip(header.names, own[key], strict=True):
            yield cell or its.get(name, "")
        yield from (its.get(name, "") for name in more)

    return replace(
        header,
        names=(*header.names, *more),
        bare=(*bare, *unnumbered(more)),
        units=(*header.units, *[None] * len(more)),
        rows=[[*cells(key)] for key in own],
    )
