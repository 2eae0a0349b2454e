"""Units in a column of their own beside the figures, as a tool exports them."""

from dataclasses import replace

from etl.draft.header import Header
from etl.draft.looks import looks_of
from etl.draft.numbers import header_readings, is_read, measured, unit_of
from etl.draft.words import plain

# What such a column is called, and nothing else. Common practice, no source.
_NAMES = frozenset(
    [
        *("unit", "units", "uom", "einheit", "unité"),
        *("unidad", "unidade", "unità", "eenheid"),
    ]
)


def with_units_beside(header: Header, decimal: str) -> Header:
    """Return the header with figures that have the unit of the next column behind them.

    The column of the units stays, without its name.
    """
    found = {
        place - 1: place
        for place in range(1, len(header.names))
        if _are_units(header, place, decimal) and _are_bare(header, place - 1, decimal)
    }
    units = {*found.values()}

    def cells(row: list[str]) -> list[str]:
        return [
            f"{cell} {row[found[place]]}"
            if place in found and found[place] < len(row) and measured(cell, decimal)
            else cell
            for place, cell in enumerate(row)
        ]

    return replace(
        header,
        bare=tuple(
            "" if place in units else name for place, name in enumerate(header.bare)
        ),
        rows=[cells(row) for row in header.rows] if found else header.rows,
        unit_beside={place: header.names[at] for place, at in found.items()},
    )


def _are_units(header: Header, place: int, decimal: str) -> bool:
    """Say whether a column is called so, and holds units of the site's alone."""
    names = {plain(word) for word in _NAMES}
    last_word = plain(header.bare[place]).rpartition(" ")[2]
    units = [unit_of(cell) for cell in looks_of(header.rows, place, decimal).filled]
    return last_word in names and bool(units) and all(u and is_read(u) for u in units)


def _are_bare(header: Header, place: int, decimal: str) -> bool:
    """Say whether a column has figures, and neither it nor its name says a unit."""
    looks = looks_of(header.rows, place, decimal)
    is_told = header.units[place] or header_readings(header.bare[place])[0].unit
    return not (is_told or looks.cell_units) and looks.number_share == 1
