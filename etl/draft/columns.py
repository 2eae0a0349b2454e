"""Place a file's headers in canonical columns, and say how sure each place is."""

from collections.abc import Sequence
from dataclasses import replace

from etl.draft.assign import assign
from etl.draft.embedment import unless_nominal
from etl.draft.figure_units import with_unit
from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import Match, match, value_fit
from etl.draft.named import KNOWN, best_fit
from etl.draft.placed import MAY_MEAN, Placed
from etl.draft.said import Said, Sureness
from etl.draft.specified import by_settings
from queries.columns import COLUMN_BY_NAME, Column

_WEAKEST_PAIR = 0.25
_HALF = 0.5
_CLOSE, _NEAR = 0.05, 0.15
# What match.py gives where half of the words are known.
_HALF_KNOWN = 0.7
# So many of its values are codes that the store holds; a name alone may tell better.
_HELD, _BY_CODES = 0.75, 0.9
# Of measured cutting diameters few are whole millimetres.
_STAMPED = 0.9
# Values that are all another tell a record number, as words and dates tell theirs.
_TOLD = ("record_id",)
_WHEN = {"installed_on", "installed_at"}
_CLOCKS = {"installed_at", "installed_time"}
# Of fewer instants a draft would have to ask: the day alone is taken.
_TIMED = 0.75
_WORDED = ("date", "time", "instant", "choice", "yes_no")


def place_columns(
    header: Header, looks: Sequence[Looks], *, has_week: bool = False
) -> list[Placed]:
    """Return the placed headers in the order of the canonical columns.

    `has_week`: the day is that of a week and a weekday, which are no columns of these.
    """
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
    taken = {
        column.name
        for column, place in zip(columns, owners, strict=True)
        if place is not None
    }
    setting = owners[[column.name for column in columns].index("setting_code")]
    placed = []
    for number, place in enumerate(owners):
        if place is None:
            continue
        column, found = columns[number], matches[number][place]
        if column.name == "installed_on" and not taken & _CLOCKS:
            column, found = _timed(column, found, looks[place])
        said = _sureness(found, column)
        rival = _rival(number, place, totals, owners, header.names, columns)
        of_cell = header.pieces.get(place)
        codes = looks[setting] if setting is not None else None
        one = Placed(
            column,
            of_cell.header if of_cell else header.names[place],
            looks[place],
            _weaker(Said(found.unit, *said), rival),
            told=by_settings(column, looks[place], codes),
            piece=of_cell.piece if of_cell else None,
            marks=header.marks.get(place, ()),
            ticked=header.ticked.get(place, {}),
            unit_header=header.unit_beside.get(place),
        )
        one = _unless_stamped(_with_marks(with_unit(one, named)))
        placed.append(unless_nominal(one, codes))
    return _consistent_times(placed, has_week=has_week)


def _timed(column: Column, found: Match, looks: Looks) -> tuple[Column, Match]:
    """Return the instant for a day whose cells have a time of day: else it was lost."""
    if looks.instant_share < _TIMED:
        return column, found
    instant = COLUMN_BY_NAME["installed_at"]
    fit, reason = value_fit(instant, looks)
    return instant, replace(found, value_fit=fit, reason=reason)


def _best_match(header: Header, place: int, looks: Looks, column: Column) -> Match:
    """Return how well a column of the file suits, by its name or its group's too."""
    if place in header.pieces and column.name == "record_id":
        return Match(0.0, 0.0)  # What numbers a row is no figure of it.
    found, *grouped = (
        _as_held(
            match(name, looks, column, header.unit(place, column)), name, looks, column
        )
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


def _as_held(found: Match, name: str, looks: Looks, column: Column) -> Match:
    """Return a match by what the store holds, which tells where a name does not."""
    is_named = found.name_fit >= KNOWN
    if column.kind != "code" or (looks.number_share > _HALF and not is_named):
        return found  # A number may be the code of anything.
    is_setting = looks.held_share("setting_code") >= _HELD
    if column.name == "anchor_type_code" and is_setting:
        return found if looks.held_share(column.name) >= _HELD else Match(0.0, 0.0)
    # What names another column is that, whatever else is called as its values are.
    is_other = not is_named and best_fit(name) >= KNOWN
    if looks.held_share(column.name) < _HELD or (is_other and not is_setting):
        return found
    named = max(found.name_fit, _BY_CODES)
    return replace(found, name_fit=named, value_fit=1.0, reason="", is_held=True)


def _worth(found: Match) -> float:
    return found.total if found.total >= _WEAKEST_PAIR else 0.0


def _sureness(found: Match, column: Column) -> tuple[Sureness, str]:
    """Return how sure a match is by itself, and why."""
    reason = found.reason
    if column.kind == "yes_no" and found.value_fit < _HALF_KNOWN:
        return "guess", reason
    if found.name_fit >= 0.99:
        if found.value_fit >= 0.9:
            return ("likely" if reason else "sure"), reason
        return ("likely" if found.value_fit >= 0.6 else "guess"), reason
    if found.is_held:
        return "likely", "the store holds its values as such codes"
    if found.name_fit > 0.75 and found.value_fit >= 0.9:
        return "likely", "the header has other words besides"
    is_told_by_values = column.name in _TOLD or column.kind in _WORDED
    is_told_by_values = is_told_by_values and not reason
    is_told_by_unit = found.unit is not None and column.unit not in (None, "mm")
    if found.name_fit >= 0.75 and (is_told_by_values or is_told_by_unit):
        what = "values" if is_told_by_values else "unit"
        return "likely", f"the header may mean it, and its {what} too"
    return "guess", reason or MAY_MEAN


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


def _unless_stamped(one: Placed) -> Placed:
    """Ask whether a bit was measured: of whole sizes nearly every one would fail."""
    looks = one.looks
    are_sizes = looks.whole_share + looks.fraction_share >= _STAMPED
    if one.column.name != "bit_diameter_mm" or not are_sizes:
        return one
    reason = "whole sizes are stamped on bits; the check wants what its edges measure"
    return replace(one, said=Said(one.said.value, "guess", reason))


def _consistent_times(placed: list[Placed], *, has_week: bool) -> list[Placed]:
    """A time of day is active only with an active day, and not beside an instant."""
    active = {one.column.name for one in placed if one.said.is_active}
    # With a week any other day is dropped.
    if has_week or ("installed_at" not in active and "installed_on" in active):
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
