"""What drilling takes for embedments and lists of anchors, in sentences: pure."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from dashboard import words
from dashboard.drilling_words import hours, minutes, seconds
from queries.readers.drilling_bill import Bill
from queries.readers.drilling_options import Comparison
from queries.readers.drilling_support import by_method

TRIGGER_ONLY = "Drilling is trigger time only: moving and marking are in no log."
CAUSES = {
    "site": "sites differ",
    "crew": "crews differ",
    "model": "the model's own error",
    "abandonment": "how often holes are abandoned",
    "holes": "hole to hole",
}


def place_words(site_code: str | None, names: Mapping[str, str]) -> str:
    """Say where: a known site by its name, or a new one."""
    if site_code is None:
        return "a site never drilled before"
    return names.get(site_code, site_code)


OUTSIDE = "No embedment asked for is within the data."


def _foretold(found: Comparison) -> list[dict[str, Any]]:
    return found.options.filter(pl.col("p50_min").is_not_null()).to_dicts()


def options_lead(found: Comparison, place: str) -> list[str]:
    """Say what the shallowest and the deepest option take, and what the first saves.

    A line each; what lies between stands in the table.
    """
    rows = sorted(_foretold(found), key=lambda row: row["embedment_mm"])
    if not rows:
        return [OUTSIDE]
    ends = rows if len(rows) < 2 else [rows[0], rows[-1]]
    texts = [
        f"{hours(row['hours_per_100_p50'])} of drilling per 100 anchors at "
        f"{words.quantity(row['embedment_mm'], 'mm')} "
        f"({hours(row['hours_per_100_p80'])} at 80{words.SPACE}% confidence)"
        f"{_with_handling(row, found.handling)}"
        for row in ends
    ]
    between = words.plural(len(rows) - len(ends), "embedment")
    more = f" {between} between: see the table." if len(rows) > len(ends) else ""
    hole = f"{rows[0]['anchor_size']}, drilled {by_method(rows[0]['drill_method'])},"
    said = [f"{hole} on {place}: {'; '.join(texts)}.{more}"]
    if _saves(rows[0]):
        said.append(_saving_words(rows[0], found.reference_mm))
    return said


def options_words(found: Comparison, place: str) -> str:
    """Say what each option takes; empty where nothing can be foretold."""
    rows = _foretold(found)
    if not rows:
        return ""
    size = rows[0]["anchor_size"]
    texts = [
        f"{words.quantity(row['embedment_mm'], 'mm')}: {seconds(row['p50_min'])} "
        f"({minutes(row['p50_min'])}) per good hole (80{words.SPACE}% interval "
        f"{seconds(row['low_min'])} to {seconds(row['high_min'])}), "
        f"{hours(row['hours_per_100_p50'])} of drilling per 100 anchors at "
        f"50{words.SPACE}% confidence, {hours(row['hours_per_100_p80'])} at "
        f"80{words.SPACE}%{_with_handling(row, found.handling)}"
        for row in rows
    ]
    return f"{size} on {place}. {'; '.join(texts)}."


def _with_handling(row: dict[str, Any], handling: pl.DataFrame) -> str:
    total = row["hours_per_100_with_handling"]
    if total is None:
        return ""
    return f", with {handled_steps(handling)} at the means logged {hours(total)}"


def handled_steps(handling: pl.DataFrame) -> str:
    """Name the steps that are logged: "cleaning and setting"; empty where none is."""
    return words.and_list(handling["step"].unique().sort().to_list())


def _saves(row: dict[str, Any]) -> bool:
    return (row["saved_h_per_100"] or 0) > 0


def _saving_words(row: dict[str, Any], reference_mm: float) -> str:
    middle, low, high = saving(row)
    return (
        f"{words.quantity(row['embedment_mm'], 'mm')} saves {middle} of drilling per "
        f"100 anchors ({low} to {high}) against "
        f"{words.quantity(reference_mm, 'mm')}, at "
        f"{100 * row['cone_ratio']:.0f}{words.SPACE}% of its indicative cone."
    )


def saving(row: dict[str, Any]) -> list[str]:
    """Say an option's saving and the ends of its interval, all in one unit.

    Minutes under 0.1 h, where two decimals of hours would hide it.
    """
    found = [row[name] for name in ("saved_h_per_100", "saved_low_h", "saved_high_h")]
    if abs(found[0]) >= 0.1:
        return [hours(value) for value in found]
    return [
        words.fixed(60 * value, 1).replace("-", "\N{MINUS SIGN}") + f"{words.SPACE}min"
        for value in found
    ]


def handling_words(handling: pl.DataFrame) -> str:
    """Say what cleaning and setting add to the drilling, where any log tells.

    `handling`: of one size, by step and method (`handling_time.sql`).
    """
    if handling.is_empty():
        return "No log tells how long cleaning and setting took for it."
    several = handling["drill_method"].n_unique() > 1
    parts = [
        f"{row['step']} "
        + (f"({words.method(row['drill_method'])}) " if several else "")
        + f"{words.quantity(row['mean_s'], 's')} an anchor "
        f"({words.plural(row['anchors'], 'anchor')}; {_site_means(row)})"
        for row in handling.to_dicts()
    ]
    return f"Beside the drilling, where logged: {', '.join(parts)}."


def shift_words(found: Comparison, *, is_given: bool) -> str:
    """Say what a shift is taken for, and whence."""
    number = words.plain(found.holes_per_shift)
    holes = f"{number} {'hole' if number == '1' else 'holes'} by one pair of hands"
    if is_given:
        return f"A shift is {holes}, as given."
    return (
        f"A shift is taken for {holes}: the median that a crew has logged on a day, "
        "which need not be all that it drilled. Where more are drilled, give them: the "
        "points rise with them."
    )


def _site_means(row: dict[str, Any]) -> str:
    if row["sites"] == 1:
        return "1 site"
    return (
        f"means of {row['sites']} sites {words.quantity(row['low_s'], 's')} to "
        f"{words.quantity(row['high_s'], 's')}"
    )


def bill_words(bill: Bill, place: str) -> str:
    """Say the hours of a list at both confidences, and what makes them uncertain."""
    causes = sorted(bill.causes.items(), key=lambda pair: -pair[1])
    parts = [
        f"{CAUSES[name]} {words.known_percent(share)}"
        for name, share in causes
        if share >= 0.005
    ]
    return (
        f"{words.plural(bill.holes, 'hole')} on {place}, "
        f"{words.plural(bill.crews, 'crew')}: {hours(bill.p50_h)} of drilling at "
        f"50{words.SPACE}% confidence, {hours(bill.p80_h)} at 80{words.SPACE}% "
        f"(80{words.SPACE}% interval {hours(bill.low_h)} to {hours(bill.high_h)}). "
        f"{_bill_handling(bill)} {_adding_up(bill)}"
        f"What makes the drilling uncertain: {', '.join(parts)}."
    )


def adds_up(bill: Bill) -> bool:
    """Tell whether the sum of the lines' 80 % is printed as the list's 80 % is."""
    return hours(bill.sum_of_p80_h) == hours(bill.p80_h)


def _adding_up(bill: Bill) -> str:
    if adds_up(bill):
        return ""
    return (
        f"Adding up the lines' 80{words.SPACE}% would give {hours(bill.sum_of_p80_h)}, "
        "which is not the list's. "
    )


def _bill_handling(bill: Bill) -> str:
    if bill.is_all_handled:
        return (
            "With cleaning and setting, at the means logged, "
            f"{hours(bill.p50_h + bill.handling_h)} at 50{words.SPACE}%."
        )
    if not bill.handled:
        return "No log tells how long cleaning and setting take for these anchors."
    of_how_many = (
        "as far as either is logged"
        if bill.handled == bill.holes
        else f"{words.count(bill.handled)} of them, the others' are in no log"
    )
    return (
        f"Cleaning and setting, at the means logged, add {hours(bill.handling_h)} "
        f"({of_how_many})."
    )
