"""Drilling, embedments side by side as a table: a column an embedment."""

from collections.abc import Callable

from dash import html

from dashboard import words
from dashboard.drilling_options_words import (
    handled_steps,
    saving,
)
from dashboard.parts import Cell, Column, Row, table
from dashboard.units import unit_shown
from queries.readers.drilling_options import Comparison

# A quantity: its name, and how an option becomes its cell.
Quantity = tuple[str, Callable[[Row], Cell | str]]


def options_table(found: Comparison) -> html.Div:
    """Return the options as columns, and what is asked of each as rows.

    At most six embedments are compared, so that this fits a telephone; a dozen
    quantities side by side do not.
    """
    options = found.options.to_dicts()
    rows: list[Row] = [
        {"name": name, "cells": [cell(option) for option in options]}
        for name, cell in _quantities(found)
    ]
    return table(
        rows,
        [
            Column("Embedment", lambda row: row["name"]),
            *(
                Column(_head(option, found.reference_mm), _at(place), is_number=True)
                for place, option in enumerate(options)
            ),
        ],
        caption="Embedments side by side",
        look="turned",
    )


def _at(place: int) -> Callable[[Row], Cell | str]:
    """Return how a row gives its cell for the option at a place."""

    def cell(row: Row) -> Cell | str:
        found: Cell | str = row["cells"][place]
        return found

    return cell


def _head(option: Row, reference_mm: float) -> str:
    embedment = words.quantity(option["embedment_mm"], "mm")
    is_reference = option["embedment_mm"] == reference_mm
    return f"{embedment} (reference)" if is_reference else embedment


def _quantities(found: Comparison) -> list[Quantity]:
    steps = handled_steps(found.handling)
    handled = [
        (f"{steps.capitalize()}, s an anchor, mean logged", _number("handling_s", 1)),
        (
            f"Drilling (P50) with {steps}, h per 100",
            _number("hours_per_100_with_handling", 2),
        ),
    ]
    points = [
        ("Points a shift", _number("points_per_shift", 1)),
        ("Holes to 100 points", _number("holes_to_action", 0)),
        ("Holes to 400 points", _number("holes_to_limit", 0)),
    ]
    return [
        (f"Hole depth, {unit_shown('mm')}", _depth),
        ("Drilling per good hole, s, P50", _seconds("p50_min")),
        ("Drilling per good hole, s, P80", _seconds("p80_min")),
        ("Drilling per good hole, s, 80 % interval", _interval),
        ("Drilling saved per 100", _saved),
        ("Drilling, h per 100, P50", _number("hours_per_100_p50", 2)),
        ("Drilling, h per 100, P80", _number("hours_per_100_p80", 2)),
        *(handled if steps else ()),
        ("Indicative cone ratio", _number("cone_ratio", 2)),
        (f"Drilling, s per {words.fixed(1, 2)} of that ratio", _per_ratio),
        ("Lost per 100", _number("abandoned_per_100", 1)),
        (f"Bit wear per 100, {unit_shown('m')} drilled", _bit_wear),
        *(points if found.vibration_m_s2 is not None else ()),
        ("Holes like it", _like_it),
    ]


def _number(name: str, decimals: int) -> Callable[[Row], str]:
    return lambda row: words.number(row[name], decimals)


def _depth(row: Row) -> str:
    return words.figure(row["hole_depth_mm"], "mm")


def _seconds(name: str) -> Callable[[Row], Cell | str]:
    """Seconds, which tell options apart, with the minutes under them."""

    def cell(row: Row) -> Cell | str:
        if row[name] is None:
            return words.DASH
        return Cell(
            words.fixed(60 * row[name], 1),
            small=f"{words.fixed(row[name], 2)}{words.SPACE}min",
        )

    return cell


def _interval(row: Row) -> str:
    if row["low_min"] is None:
        return words.DASH
    low, high = (words.fixed(60 * row[name], 1) for name in ("low_min", "high_min"))
    return f"{low} to {high}"


def _saved(row: Row) -> Cell | str:
    if row["saved_h_per_100"] is None:
        return words.DASH
    middle, low, high = saving(row)
    return Cell(middle, small=f"{low} to {high}")


def _per_ratio(row: Row) -> str:
    per_ratio = row["min_per_ratio"]
    return words.number(None if per_ratio is None else 60 * per_ratio, 1)


def _bit_wear(row: Row) -> str:
    return words.number(row["bit_m_per_100"], unit="m")


def _like_it(row: Row) -> Cell | str:
    if row["holes_like_it"] is None:
        return words.DASH
    return Cell(
        words.count(row["holes_like_it"]),
        small=words.plural(row["sites_like_it"], "site"),
    )
