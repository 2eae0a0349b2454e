"""Settle the unit of a placed column: named, by the setting data, or as is usual."""

from dataclasses import replace

from etl.draft.numbers import is_read
from etl.draft.placed import MAY_MEAN, Placed
from etl.draft.said import Said, Sureness
from etl.draft.words import words
from etl.units import FACTORS, units_of


def with_unit(one: Placed, named: set[str]) -> Placed:
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
    return _with_unit_told(one) if one.told.unit is not None else one


def _with_unit_told(one: Placed) -> Placed:
    """Weigh a unit that is named against the one by the setting data."""
    named, told = one.said.value, one.told.unit
    if named != told:
        specified = "about what its setting codes specify"
        reason = f"it says {named}, but only in {told} it is {specified}"
        choices = tuple(filter(None, (told, named)))
        return replace(one, said=Said(named, "guess", reason), unit_choices=choices)
    return _as_told(one, "likely") if one.said.reason == MAY_MEAN else one


def _as_told(one: Placed, sureness: Sureness) -> Placed:
    """Return a column in the unit by the setting data, or asked about by its name."""
    unit = one.told.unit
    if one.said.reason == MAY_MEAN and one.told.is_all_of_it:
        reason = "all of it is just what its setting codes specify: was it measured?"
        return replace(one, said=Said(unit, "guess", reason))
    reason = f"in {unit} it is about what its setting codes specify"
    return replace(one, said=Said(unit, sureness, reason))


def _with_likely_unit(one: Placed, named: set[str]) -> Placed:
    """Take our unit where none is named and the figures suit it; else ask."""
    ours, said = one.column.unit, one.said
    middle, usual = one.looks.middle, words().columns[one.column.name].usual
    assert ours is not None
    if one.told.unit is not None:
        is_contested = said.sureness == "guess" and said.reason != MAY_MEAN
        return _as_told(one, "guess" if is_contested else "likely")
    if _is_bare_asked(one):
        return _with_bare_asked(one)
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


def _is_bare_asked(one: Placed) -> bool:
    """Say whether some cells have a unit that the others may not be in.

    Not where it is the one that these are taken for, and they lie about alike.
    """
    units = [*one.looks.cell_units]
    is_ours = units == [one.column.unit] and one.looks.is_bare_near(units[0])
    return bool(units) and not is_ours


def _with_bare_asked(one: Placed) -> Placed:
    """Ask in which unit the cells are that say none, where others say theirs."""
    ours, middle = one.column.unit, one.looks.middle
    usual = words().columns[one.column.name].usual
    assert ours is not None and middle is not None
    units = [unit for unit, _ in one.looks.cell_units.most_common()]
    count = one.looks.cell_units.total()
    reason = (
        f"{count} of {len(one.looks.numbers)} figures {'says' if count == 1 else 'say'}"
        f" {' and '.join(units)}, the others nothing: which is theirs?"
    )
    of_cells = (unit for unit in units if unit in units_of(ours))
    suiting = _usual_units(ours, middle, usual) if usual else (ours,)
    choices = tuple(dict.fromkeys((*of_cells, *suiting)))
    return replace(one, said=Said(ours, "guess", reason), unit_choices=choices)


def _is_usual(number: float, unit: str, usual: tuple[float, float]) -> bool:
    low, high = usual
    return low / 1.5 <= number * FACTORS[unit][1] <= high * 1.5


def _usual_units(
    ours: str, middle: float, usual: tuple[float, float]
) -> tuple[str, ...]:
    return tuple(unit for unit in units_of(ours) if _is_usual(middle, unit, usual))
