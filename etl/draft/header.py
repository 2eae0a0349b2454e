"""Find the row of column names among titles, groups and units."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from etl.draft.as_above import with_marks_read
from etl.draft.feet import is_known_by_load, without_feet
from etl.draft.held import NOTHING_HELD, Held
from etl.draft.named import KNOWN, best_fit, may_be_name
from etl.draft.numbers import header_readings, unit_of
from etl.draft.said import Said, Sureness
from etl.draft.sample import Rows
from etl.site_map import ListedValues, Piece
from etl.site_map.years import YearFrom
from etl.staging import joined_headers, title_in, unique_headers
from queries.columns import Column

_LOOKED_AT = 40
_CELLS_LOOKED_AT = 80
_WITHIN = re.compile(r"(?P<group>.+)\.(?P<bare>[^.\s][^.]*)", re.DOTALL)
_NUMBERED = re.compile(
    r"^\s*(?:q(?:uestion)?[\s.]*)?\d{1,3}(?:\.\d{1,3})*[a-z]?"
    r"(?:\s*[.):–-]+\s*|\s+)(?=[^\W\d])",
    re.IGNORECASE,
)
_FEWEST_NUMBERED = 3
_FEWEST_AGAIN = 3
_FIRST_ROWS = 5
_FEWEST_FIGURES = 4


@dataclass(frozen=True)
class OfCell:
    """One value of the cells of a header that hold several, and what it is called."""

    header: str
    piece: Piece
    spoken: tuple[str, ...]


@dataclass(frozen=True)
class Header:
    """Where the column names stand, and what is above and below them.

    `row` counts from 1. `names` are those of the site map, `bare` those without what
    stands in a row of units below, and `groups` above, as a merged "Hole" over "Depth";
    `units` and `groups` are these, by column. `feet` are what rows
    begin with that end a form, as a signature; they are not among `rows`.
    `as_above` are marks that repeat the cell above them, in `rows` done already
    (etl/draft/as_above.py).
    `rows` are the rows of data, `above` those over the names. `titles` are those of
    them that hold for all rows, with their columns; `said_once` are the last of the
    names, of these and of what the file's name says (etl/draft/titles.py). `anchors`
    tell several anchors of a row apart, `anchor_count` says how many it has
    (etl/draft/beside.py). `pieces` are columns, by place, that are one of the values
    of another's cells (etl/draft/pieces.py). `marks` are those beside the figures of a
    column, by place (etl/draft/marks.py); `rows` are without them. `year` is
    that of dates without one (etl/draft/years.py), which `rows` have. `beside`: what a
    JSON object says beside its records, by pointer (etl/draft/records.py).
    `ticked` are columns, by place, whose cells are the names of others that are ticked,
    with the header by its name (etl/draft/ticked.py). `prefixes` are what stands before
    the names of several columns, by place, as a group's (etl/draft/prefixes.py),
    `unit_beside` the headers of units beside figures (etl/draft/unit_beside.py).
    `held` is what the store holds that values may be (etl/draft/held.py).
    `sideways` where the names stand below one another: then what is said of rows is
    meant of columns. `listed` where a row holds one value: `rows` are gathered then,
    one an anchor, and what is named in them is among the names (etl/draft/listed.py).
    """

    row: Said[int]
    names: tuple[str, ...]
    bare: tuple[str, ...]
    units: tuple[str | None, ...]
    rows: Rows
    groups: tuple[str, ...] = ()
    above: Rows = field(default_factory=list)
    titles: dict[str, str] = field(default_factory=dict)
    said_once: tuple[str, ...] = ()
    feet: tuple[str, ...] = ()
    as_above: Said[tuple[str, ...]] | None = None
    anchors: tuple[str, ...] = ()
    anchor_count: str | None = None
    sideways: Said[bool] | None = None
    listed: Said[ListedValues] | None = None
    pieces: dict[int, OfCell] = field(default_factory=dict)
    marks: dict[int, tuple[str, ...]] = field(default_factory=dict)
    year: Said[YearFrom] | None = None
    beside: dict[str, str] = field(default_factory=dict)
    ticked: dict[int, dict[str, str]] = field(default_factory=dict)
    prefixes: dict[int, str] = field(default_factory=dict)
    unit_beside: dict[int, str] = field(default_factory=dict)
    held: Held = NOTHING_HELD

    @property
    def name_rows(self) -> int | list[int]:
        """The row of names, with those of groups and units, as a site map has them."""
        row = self.row.value
        first = row - 1 if self.groups else row
        last = row + 1 if any(self.units) else row
        return [*range(first, last + 1)] if first < last else row

    def unit(self, place: int, column: Column) -> str | None:
        """The unit that stands for a column under its name, or in that of its group.

        A group's is that of its figures only: "Hole (mm)" may hold who drilled it.
        """
        if self.units[place] or column.kind != "number":
            return self.units[place]
        return self._group(place)[1]

    def spoken(self, place: int) -> tuple[str, ...]:
        """Return what a column is called: its name, and behind that of its group."""
        if place in self.pieces:
            return self.pieces[place].spoken
        group, _ = self._group(place)
        name = self.bare[place]
        return (name, f"{group} {name}") if group else (name,)

    def _group(self, place: int) -> tuple[str, str | None]:
        """Return the name of a column's group, and the unit that stands in it."""
        above = self.groups[place] if place < len(self.groups) else ""
        group = " ".join(filter(None, (above, self.prefixes.get(place))))
        reading = header_readings(group)[0] if group else None
        if reading is None or reading.unit is None or reading.is_weak:
            return group, None
        return " ".join(reading.words), reading.unit


def find_headers(rows: Rows) -> list[Header]:
    """Return what may be the header of a text or sheet, the plainest first.

    The row that looks most like names, by itself, then with the row above as names of
    groups, then as such names itself, over the row below: first where that has names
    of columns too, as in another language. `rows` holds one at least.
    """
    scores = [_score(row) for row in rows[:_LOOKED_AT]]
    place = max(range(len(scores)), key=lambda number: (scores[number], -number))
    plain = _header_at(rows, place)
    found = [plain]
    if place > 0 and _may_group(rows[place - 1], rows[place]):
        found.append(_header_at(rows, place, rows[place - 1]))
    below = place + 1
    if (
        not any(plain.units)
        and below < len(rows)
        and _may_group(rows[place], rows[below])
    ):
        both = _header_at(rows, below, rows[place])
        is_said_again = _known(rows[below]) >= max(
            _FEWEST_AGAIN, sum(map(bool, rows[below])) / 2
        )
        if _is_over_figures(rows, below):
            return [both]
        found.insert(0 if is_said_again else len(found), both)
    return found


def _is_over_figures(rows: Rows, place: int) -> bool:
    """Say whether all words of a row stand over what is none: they are names.

    As "required" and "actual" below "Torque" do.
    """
    named = [column for column, cell in enumerate(rows[place]) if cell]
    data = [
        cell
        for row in rows[place + 1 : place + 1 + _LOOKED_AT]
        for column, cell in enumerate(row)
        if column in named and cell
    ]
    return len(data) >= _FEWEST_FIGURES and not any(map(may_be_name, data))


def first_headers(rows: Rows) -> list[Header]:
    """Return the first rows of names alone as headers.

    Where rows hold names, as of values that are listed, they look more like names than
    what stands over them.
    """
    looked_at = enumerate(rows[:_LOOKED_AT])
    names = [place for place, row in looked_at if _are_names(row)]
    return [_header_at(rows, place) for place in names[:_FIRST_ROWS]]


def _may_group(above: Sequence[str], names: Sequence[str]) -> bool:
    """Say whether two rows may be names of groups over names of columns."""
    return _are_names(above) and _are_names(names)


def _are_names(row: Sequence[str]) -> bool:
    cells = [cell for cell in row if cell]
    return len(cells) > 1 and all(
        may_be_name(cell) and ":" not in cell for cell in cells
    )


def _header_at(rows: Rows, place: int, groups: Sequence[str] = ()) -> Header:
    cells = sum(map(bool, (*groups, *rows[place])))
    known = _known(groups) + _known(unnumbered(rows[place]))
    sureness: Sureness = "sure" if known >= 4 else "likely" if known >= 2 else "guess"
    reason = f"{known} of its {cells} cells are words for columns"
    units, data = _units_below(rows, place)
    data, feet = without_feet(data)
    # A load knows column names that come again and totals by themselves.
    data = [row for row in data if not is_known_by_load(row, rows[place])]
    data, as_above = with_marks_read(data)
    first = place - 1 if groups else place
    names = joined_headers(rows[first : place + 2 if any(units) else place + 1])
    padded = [*rows[place], *[""] * (len(names) - len(rows[place]))]
    if any(units):
        # Beside units there may be names: "required (Nm)" below the name of a group.
        said = zip(units, rows[place + 1], strict=False)
        for column, (unit, cell) in enumerate(said):
            if cell and unit is None:
                padded[column] = names[column]
    return Header(
        Said(place + 1, sureness, reason),
        names,
        unnumbered(padded if groups else unique_headers(padded)),
        (*units, *[None] * (len(names) - len(units))),
        data,
        _filled_right(groups, len(names)),
        rows[:first],
        feet=feet,
        as_above=as_above,
    )


def unnumbered(names: Iterable[str]) -> tuple[str, ...]:
    """Return names without the numbers before them, as of the questions of a form.

    Where half of them have one, and all are told apart without: "2. Randabstand" among
    others is the second.
    """
    given = tuple(names)
    bare = tuple(_NUMBERED.sub("", name) for name in given)
    numbered = sum(one != name for one, name in zip(bare, given, strict=True))
    is_list = numbered >= max(_FEWEST_NUMBERED, sum(map(bool, given)) / 2)
    return bare if is_list and len({*bare}) == len({*given}) else given


def _filled_right(cells: Sequence[str], width: int) -> tuple[str, ...]:
    """Return the cells of a row of groups, a blank with the text to its left."""
    found: list[str] = []
    for cell in [*cells, *[""] * (width - len(cells))] if cells else ():
        found.append(cell or (found[-1] if found else ""))
    return tuple(found)


def unread_above(header: Header) -> list[str]:
    """Say what the row above the column names holds, where nothing of it is read."""
    cells = [cell for cell in header.above[-1] if cell] if header.above else []
    is_read = any(title_in([cells], one, ()) is not None for one in header.titles)
    if len(cells) < 2 or is_read:
        return []
    row = len(header.above)
    return [f"row {row} above the header holds {', '.join(cells)}, which is not read"]


def plain_header(rows: Rows) -> Header:
    """Return the header of a file whose columns have names by its format.

    What lies in an object, "hole.depth", is of that group.
    """
    names = tuple(rows[0])
    parted = [_WITHIN.fullmatch(name) for name in names]
    said = Said(1, "sure", "the file names its columns")
    return Header(
        said,
        names,
        unnumbered(
            found["bare"] if found else name
            for found, name in zip(parted, names, strict=True)
        ),
        (None,) * len(names),
        rows[1:],
        tuple(found["group"] if found else "" for found in parted),
    )


def _score(row: Sequence[str]) -> float:
    """Return how much a row looks like column names."""
    cells = [cell for cell in row[:_CELLS_LOOKED_AT] if cell]
    if len(cells) < 2:
        return -1.0
    names = {cell for cell in cells if may_be_name(cell)}
    values = sum(not may_be_name(cell) for cell in cells)
    return 3.0 * _known(unnumbered(row)) + len(names) - 2.0 * values


def _known(row: Sequence[str]) -> int:
    cells = [cell for cell in row[:_CELLS_LOOKED_AT] if may_be_name(cell)]
    return sum(best_fit(cell) >= KNOWN for cell in cells)


def _units_below(rows: Rows, place: int) -> tuple[tuple[str | None, ...], Rows]:
    """Return the units in the row below the header, if it holds units, and the data."""
    width = max(map(len, rows[place : place + 2]))
    below = rows[place + 1] if place + 1 < len(rows) else []
    found = [unit_of(cell.strip("[]() ")) if cell else None for cell in below]
    filled = sum(map(bool, below))
    if not filled or sum(unit is not None for unit in found) < 0.6 * filled:
        return (None,) * width, rows[place + 1 :]
    units = [*found, *([None] * width)][:width]
    return tuple(units), rows[place + 2 :]
