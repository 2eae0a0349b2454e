"""Place a file's headers in canonical columns, and say how sure each place is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from etl.draft.assign import assign
from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import Match, match
from etl.draft.named import KNOWN
from etl.draft.numbers import is_read
from etl.draft.said import Said, Sureness
from etl.draft.words import words
from etl.site_map import Piece
from etl.units import FACTORS, units_of
from queries.columns import COLUMN_BY_NAME, Column

_WEAKEST_PAIR = 0.25
_CLOSE, _NEAR = 0.05, 0.15
# What match.py gives where half of the words are known.
_HALF_KNOWN = 0.7
NEEDED = ("record_id", "crew_code", "setting_code")
# Values that are all another tell a record number, as words and dates tell theirs.
_TOLD = ("record_id",)
_WHEN = {"installed_on", "installed_at"}
_WORDED = ("date", "time", "instant", "choice", "yes_no")


@dataclass(frozen=True)
class Placed:
    """A header in a canonical column. `said` holds the unit to read it in.

    `unit_choices` are the units it may be in, where that is a question. `piece` says
    which value of a cell it is, `marks` what stands beside its figures.
    """

    column: Column
    header: str
    looks: Looks
    said: Said[str | None]
    unit_choices: tuple[str, ...] = ()
    piece: Piece | None = None
    marks: tuple[str, ...] = ()
    ticked: Mapping[str, str] = field(default_factory=dict)
    unit_header: str | None = None


def place_columns(header: Header, looks: Sequence[Looks]) -> list[Placed]:
    """Return the placed headers in the order of the canonical columns."""
    columns, width = list(COLUMN_BY_NAME.values()), len(header.bare)
    matches = [
        [_best_match(header, place, looks[place], column) for place in range(width)]
        for column in columns
    ]
    totals = [[_worth(found) for found in row] for row in matches]
    owners = assign(totals)
    named = {
        found.unit
        for row, place in zip(matches, owners, strict=True)
        if place is not None and (found := row[place]).unit
    }
    placed = []
    for number, place in enumerate(owners):
        if place is None:
            continue
        found = matches[number][place]
        said = _sureness(found, columns[number])
        rival = _rival(number, place, totals, owners, header.names, columns)
        of_cell = header.pieces.get(place)
        one = Placed(
            columns[number],
            of_cell.header if of_cell else header.names[place],
            looks[place],
            _weaker(Said(found.unit, *said), rival),
            piece=of_cell.piece if of_cell else None,
            marks=header.marks.get(place, ()),
            ticked=header.ticked.get(place, {}),
            unit_header=header.unit_beside.get(place),
        )
        placed.append(_with_marks(_with_unit(one, named)))
    return _consistent_times(placed)


def _best_match(header: Header, place: int, looks: Looks, column: Column) -> Match:
    """Return how well a column of the file suits, by its name or its group's too."""
    if place in header.pieces and column.name == "record_id":
        return Match(0.0, 0.0)  # What numbers a row is no figure of it.
    found, *grouped = (
        match(name, looks, column, header.unit(place, column))
        for name in header.spoken(place)
    )
    named = max(one.name_fit for one in (found, *grouped))
    if not looks.filled and named < KNOWN:
        return Match(0.0, 0.0)  # A word of a name, and no value, say nothing.
    if not grouped:
        return found
    # A group's words may speak against it, as "Required" over "Depth" does.
    if grouped[0].name_fit == 0:
        return grouped[0]
    return max(found, grouped[0], key=lambda one: (one.total, one.unit is not None))


def _worth(found: Match) -> float:
    return found.total if found.total >= _WEAKEST_PAIR else 0.0


def _sureness(found: Match, column: Column) -> tuple[Sureness, str]:
    """Return how sure a match is by itself, and why."""
    reason = found.reason
    if column.kind == "yes_no" and found.value_fit < _HALF_KNOWN:
        return "guess", reason
    if found.name_fit >= 0.99:
        if found.value_fit >= 0.9:
            return "sure", reason
        return ("likely" if found.value_fit >= 0.6 else "guess"), reason
    if found.name_fit > 0.75 and found.value_fit >= 0.9:
        return "likely", "the header has other words besides"
    is_told_by_values = column.name in _TOLD or column.kind in _WORDED
    is_told_by_values = is_told_by_values and not reason
    is_told_by_unit = found.unit is not None and column.unit not in (None, "mm")
    if found.name_fit >= 0.75 and (is_told_by_values or is_told_by_unit):
        what = "values" if is_told_by_values else "unit"
        return "likely", f"the header may mean it, and its {what} too"
    return "guess", reason or "the header may mean something else"


def _rival(
    number: int,
    place: int,
    totals: list[list[float]],
    owners: list[int | None],
    names: Sequence[str],
    columns: Sequence[Column],
) -> tuple[float, str]:
    """Return by how much this pair is better than the next, and what that one is.

    A header or column that is better placed elsewhere is no rival.
    """
    here = totals[number][place]
    owner_of = {owner: row for row, owner in enumerate(owners) if owner is not None}
    rivals = [(1.0, "")]
    for other, total in enumerate(totals[number]):
        owner = owner_of.get(other)
        is_better_placed = owner is not None and totals[owner][other] >= total
        if other != place and total and not is_better_placed:
            rivals.append((here - total, f"{names[other]!r} may be it"))
    for row, scores in enumerate(totals):
        taken = owners[row]
        is_better_placed = taken is not None and scores[taken] >= scores[place]
        # A day alone or with its time: its values have told.
        is_same = {columns[number].name, columns[row].name} == _WHEN
        if row != number and scores[place] and not is_better_placed and not is_same:
            rivals.append((here - scores[place], f"it may be {columns[row].name}"))
    return min(rivals)


def _weaker(said: Said[str | None], rival: tuple[float, str]) -> Said[str | None]:
    lead, words_for_it = rival
    if lead > _NEAR:
        return said
    reason = f"{said.reason}; {words_for_it}".lstrip("; ")
    if lead <= _CLOSE or said.sureness == "guess":
        return Said(said.value, "guess", reason)
    return Said(said.value, "likely", reason)


def _with_marks(one: Placed) -> Placed:
    """Leave it to who knows the site whether marks beside figures say no more."""
    if not one.marks:
        return one
    reason = f"{one.said.reason}; the marks beside its figures are not read"
    sureness: Sureness = "likely" if one.said.is_active else "guess"
    return replace(one, said=Said(one.said.value, sureness, reason.lstrip("; ")))


def _with_unit(one: Placed, named: set[str]) -> Placed:
    """Settle the unit of a column that has one, by its name and its usual figures."""
    ours, said = one.column.unit, one.said
    if ours is None:
        return replace(one, said=replace(said, value=None))
    middle, usual = one.looks.middle, words().columns[one.column.name].usual
    if said.value is None:
        return _with_likely_unit(one, named)
    if not is_read(said.value):
        reason = f"its unit {said.value} is not one of {', '.join(units_of(ours))}"
        return replace(one, said=Said(ours, "guess", reason))
    if FACTORS[said.value][0] != ours:
        reason = f"its values are in {said.value}, which is no unit of this column"
        return replace(one, said=Said(ours, "guess", reason))
    if middle is not None and usual and not _is_usual(middle, said.value, usual):
        reason = f"it says {said.value}, but values about {middle:g} are unusual in it"
        choices = _usual_units(ours, middle, usual)
        return replace(
            one, said=Said(said.value, "guess", reason), unit_choices=choices
        )
    return one


def _with_likely_unit(one: Placed, named: set[str]) -> Placed:
    """Take our unit where none is named and the figures suit it; else ask."""
    ours, said = one.column.unit, one.said
    middle, usual = one.looks.middle, words().columns[one.column.name].usual
    assert ours is not None
    if one.looks.are_units_mixed:
        units = tuple(unit for unit, _ in one.looks.cell_units.most_common())
        reason = (
            f"its cells say {' and '.join(units)}; some say no unit: which is theirs?"
        )
        return replace(one, said=Said(ours, "guess", reason), unit_choices=units)
    if middle is None or usual is None:
        sureness: Sureness = "guess" if said.sureness == "guess" else "likely"
        reason = f"{said.reason}; no unit is named".lstrip("; ")
        return replace(one, said=Said(ours, sureness, reason))
    choices = _usual_units(ours, middle, usual)
    if one.looks.fraction_share > 0.1 and "in" in choices:
        reason = "no unit is named, but only inches are written as 3 1/2"
        weaker: Sureness = "guess" if said.sureness == "guess" else "likely"
        return replace(one, said=Said("in", weaker, reason))
    others = [unit for unit in choices if unit != ours]
    # A site that measures in inches seldom has newton metres.
    is_foreign = bool(named & {"in", "ft", "psi", "ksi", "ft·lbf", "in·lbf"}) and bool(
        {"in", "ft", "ft·lbf", "in·lbf", "psi", "ksi"} & set(others)
    )
    reason = f"no unit is named; values about {middle:g} suit {' or '.join(choices)}"
    if not choices:
        reason = f"no unit is named, and values about {middle:g} are unusual in any"
    if ours not in choices or is_foreign or said.sureness == "guess":
        return replace(one, said=Said(ours, "guess", reason), unit_choices=choices)
    is_only = not others and said.sureness == "sure" and len(units_of(ours)) == 1
    return replace(one, said=Said(ours, "sure" if is_only else "likely", reason))


def _is_usual(number: float, unit: str, usual: tuple[float, float]) -> bool:
    low, high = usual
    return low / 1.5 <= number * FACTORS[unit][1] <= high * 1.5


def _usual_units(
    ours: str, middle: float, usual: tuple[float, float]
) -> tuple[str, ...]:
    return tuple(unit for unit in units_of(ours) if _is_usual(middle, unit, usual))


def _consistent_times(placed: list[Placed]) -> list[Placed]:
    """A time of day is active only with an active day, and not beside an instant."""
    active = {one.column.name for one in placed if one.said.is_active}
    if "installed_at" not in active and "installed_on" in active:
        return placed
    reason = (
        "installed_at holds a time already"
        if "installed_at" in active
        else "a time needs installed_on"
    )
    return [
        replace(one, said=Said(None, "guess", reason))
        if one.column.name == "installed_time"
        else one
        for one in placed
    ]
