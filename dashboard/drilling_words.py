"""What the model of drilling time says, and what it does not, in sentences: pure."""

from typing import Any

import polars as pl

from dashboard import words
from queries.readers.drilling_bill import Bill
from queries.readers.drilling_options import Comparison
from queries.readers.drilling_support import ENOUGH, ENOUGH_SITES
from queries.statistics.drilling_effects import (
    STUDY_NEW_S,
    STUDY_WORN_M,
    STUDY_WORN_S,
    StudyCheck,
    term_effects,
)
from queries.statistics.drilling_model import DrillingModel

TRIGGER_ONLY = "Drilling is trigger time only: moving and marking are in no log."
FATES = {
    "no_depth": "no depth logged",
    "untimed": "no time logged",
    "zero_time": "0 s",
    "shared": "one time for several holes: half or more of the day's times are 0",
    "copied": "one time copied to all holes of a crew's day and setting",
    "too_fast": "faster than 25 mm/s and than 3 times its size's and method's median",
    "too_coarse": "rounded to more than half the median time",
}
CAUSES = {
    "site": "sites differ",
    "crew": "crews differ",
    "model": "the model's own error",
    "abandonment": "how often holes are abandoned",
    "holes": "hole to hole",
}


def fates_words(fates: pl.DataFrame) -> str:
    """Say how many drilling times are used, what the others are, what to ask about.

    `fates`: one row a site (drilling_fate.sql).
    """
    if fates.is_empty():
        return "No attempt to drill is in this store."
    attempts, used = words.total(fates, "attempts"), words.total(fates, "used")
    left_out = [
        f"{words.count(words.total(fates, name))} {text}"
        for name, text in FATES.items()
        if words.total(fates, name)
    ]
    said = [f"{words.share(used, attempts)} attempts have a depth and a time to use."]
    if left_out:
        said.append(f"Left out: {'; '.join(left_out)}.")
    over = words.total(fates, "over_limit")
    if over:
        said.append(
            f"{words.count(over)} are faster than 25 mm/s: ask whether they were "
            "drilled to depth and timed. Where a size is that fast on the whole they "
            "stay in, as cutting off its fast end would mislead."
        )
    rounded = fates.filter((pl.col("resolution_s") >= 1) | (pl.col("heap_s") > 0))
    if rounded.height:
        steps = [
            f"{row['site']} ({words.plain(max(row['resolution_s'], row['heap_s']))} s)"
            for row in rounded.to_dicts()
        ]
        said.append(f"Rounded times, taken as intervals: {words.and_list(steps)}.")
    return " ".join(said)


def thin_words(depths: pl.DataFrame) -> str:
    """Say which sizes and methods the data hold little of; empty where of none.

    `depths`: read_drilling_data.
    """
    counted = (
        depths.filter(pl.col("used") > 0)
        .group_by("diameter_mm", "anchor_size", "drill_method")
        .agg(pl.col("used").sum(), pl.col("site_code").n_unique().alias("sites"))
        .filter((pl.col("used") < ENOUGH) | (pl.col("sites") < ENOUGH_SITES))
        .sort("diameter_mm", "anchor_size", "drill_method")
    )
    if counted.is_empty():
        return ""
    texts = [
        f"{row['anchor_size']} with {words.method(row['drill_method'])} "
        f"({words.plural(row['used'], 'hole')}, {words.plural(row['sites'], 'site')})"
        for row in counted.to_dicts()
    ]
    return f"Thin: {'; '.join(texts)}."


def coverage_words(model: DrillingModel) -> str:
    """Say how well each site was foretold by all the others."""
    means = sum(one.is_mean_covered for one in model.coverage)
    shares = [one.covered for one in model.coverage]
    return (
        f"Each site foretold by the others alone: the 80{words.SPACE}% interval of a "
        f"hole on a new site held {words.percent(model.covered)} of the left-out "
        f"holes ({words.percent(min(shares))} to {words.percent(max(shares))} a site), "
        f"the one for a site's mean {means} of {len(shares)} sites."
    )


def place_words(site_code: str | None, names: dict[str, str]) -> str:
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
        for row in ends
    ]
    said = [f"{rows[0]['anchor_size']} on {place}: {words.and_list(texts)}."]
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
    holes = f"{words.plain(found.holes_per_shift)} holes by one pair of hands"
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


TERMS = {
    "depth": "Depth",
    "diameter": "Bit diameter",
    "strength": "Concrete strength",
    "bit metres": "Each metre the bit has drilled, to 60 m",
    "bit metres unknown": "Bit of unknown metres, beside a new one",
    "strength unknown": "Strength not logged, beside 30 MPa",
    "bit worn": "Bit logged as worn, or under its smallest diameter",
    "through rebar": "Drilled through reinforcement",
    "abandoned": "Abandoned attempt, for the depth it got to",
}


def term_name(term: str) -> str:
    """Return a term of the model in words."""
    if term.startswith("method "):
        return f"Drilled with {words.method(term[7:])}"
    if term.startswith("orientation "):
        return f"On {words.method(term[12:])}"
    return TERMS.get(term, term)


def wear_words(model: DrillingModel) -> str:
    """Say what worn bits cost; empty where the logs do not tell."""
    found = {row["term"]: row for row in term_effects(model).to_dicts()}
    metre = found.get("bit metres")
    if metre is None:
        return ""
    ends = [100 * (row - 1) for row in (metre["factor_low"], metre["factor_high"])]
    return (
        "Each metre that a bit has drilled adds "
        f"{words.fixed(100 * (metre['factor'] - 1), 2)}"
        f"{words.SPACE}% ({words.fixed(ends[0], 2)} to "
        f"{words.fixed(ends[1], 2)}{words.SPACE}%)."
    )


def study_words(check: StudyCheck) -> str:
    """Set the model beside a published measurement: is the order of magnitude right?"""
    worn = (
        ""
        if check.worn_factor is None
        else f", and {words.fixed(check.worn_factor, 2)} times that after "
        f"{STUDY_WORN_M:.0f} m"
    )
    return (
        "Beside a measurement (Antonucci et al. 2017: 19 mm bit, 76 mm deep, on a "
        f"robot bench; {words.plain(STUDY_NEW_S)} s with a new bit, "
        f"{words.fixed(STUDY_WORN_S / STUDY_NEW_S, 2)} times that after "
        f"{STUDY_WORN_M:.0f} m) the "
        f"model says {words.fixed(check.p50_s, 1)} s (80"
        f"{words.SPACE}% of new sites' holes: {words.fixed(check.p10_s, 1)} to "
        f"{words.fixed(check.p90_s, 1)} s)"
        f"{worn}. Another machine and another hand: an order of magnitude, no test."
    )


def seconds(minutes_each: float) -> str:
    """Minutes of a hole in seconds, one decimal."""
    return f"{words.fixed(60 * minutes_each, 1)}{words.SPACE}s"


def minutes(value: float) -> str:
    """Minutes of a hole, two decimals."""
    return f"{words.fixed(value, 2)}{words.SPACE}min"


def hours(value: float | None) -> str:
    """Hours of a list, two decimals, one from 10 on."""
    if value is None:
        return words.DASH
    sign = "\N{MINUS SIGN}" if value < 0 else ""
    text = (
        words.fixed(abs(value), 1)
        if abs(value) >= 9.995
        else words.fixed(abs(value), 2)
    )
    return f"{sign}{text}{words.SPACE}h"
