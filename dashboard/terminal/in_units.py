"""Tables for people in the reader's units; programs get mm and Nm."""

from collections.abc import Mapping, Sequence

from dashboard import words
from dashboard.units import scaled, unit_shown
from dashboard.wish import INCH, wish

# The words of a column's name that say its unit, and ours.
ENDINGS = {"_mm": "mm", "_nm": "Nm", "_m_per_100": "m"}


def in_unit(name: str, value: object) -> tuple[str, object]:
    """Return a column's name and one value of it, as text, in the reader's unit."""
    unit = _unit_of(name)
    if unit is None or not isinstance(value, float):
        return name, value
    return _renamed(name), words.figure(value, unit, decimals=2)


def in_units(
    columns: Sequence[str], rows: Sequence[Mapping[str, object]]
) -> tuple[list[str], list[dict[str, object]]]:
    """Return the columns and rows of a table with lengths and torques converted."""
    return [_renamed(name) for name in columns], [
        {_renamed(name): _value(name, row[name]) for name in columns} for row in rows
    ]


def _value(name: str, value: object) -> object:
    unit = _unit_of(name)
    return scaled(value, unit) if unit and isinstance(value, float) else value


def _renamed(name: str) -> str:
    unit = _unit_of(name)
    if unit is None:
        return name
    ending = next(ending for ending in ENDINGS if name.endswith(ending))
    shown = ending.replace(f"_{unit.lower()}", f"_{unit_shown(unit)}", 1)
    return name.removesuffix(ending) + shown


def _unit_of(name: str) -> str | None:
    """Return our unit of a column that is to be converted."""
    if wish().units != INCH:
        return None
    return next((unit for end, unit in ENDINGS.items() if name.endswith(end)), None)
