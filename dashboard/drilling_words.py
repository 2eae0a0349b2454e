"""What the model of drilling time says, and what it does not, in sentences: pure."""

import polars as pl

from dashboard import words
from queries.readers.drilling_support import (
    ENOUGH,
    ENOUGH_SITES,
    NOT_RECORDED,
    by_method,
)
from queries.statistics.drilling_effects import (
    STUDY_NEW_S,
    STUDY_WORN_M,
    STUDY_WORN_S,
    StudyCheck,
    tells_wear,
    term_effects,
)
from queries.statistics.drilling_model import DrillingModel

FATES = {
    "no_depth": "no depth logged",
    "untimed": "no time logged",
    "zero_time": "0 s",
    "shared": "one time for several holes: half or more of the day's times are 0",
    "copied": "one time copied to all holes of a crew's day and setting",
    "too_fast": "faster than 25 mm/s and than 3 times its size's and method's median",
    "too_coarse": "rounded to more than half the median time",
}


def fates_words(fates: pl.DataFrame) -> str:
    """Say how many drilling times are used, what the others are, what to ask about.

    `fates`: one row a site, as DrillingData.fates has it.
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
            f"{words.plural(over, 'is', 'are')} faster than 25 mm/s: ask whether "
            f"{'it was' if over == 1 else 'they were'} drilled to depth and timed. "
            "Where a size is that fast on the whole they stay in, as cutting off its "
            "fast end would mislead."
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
        f"{row['anchor_size']} {by_method(row['drill_method'])} "
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
        return f"Drilled {by_method(term[7:])}"
    if term.startswith("orientation "):
        orientation = term[12:]
        if orientation == NOT_RECORDED:
            return "Orientation not recorded"
        return f"On {words.method(orientation)}"
    return TERMS.get(term, term)


def wear_words(model: DrillingModel) -> str:
    """Say what worn bits cost; empty where the logs do not tell."""
    found = {row["term"]: row for row in term_effects(model).to_dicts()}
    metre = found.get("bit metres")
    if metre is None:
        return ""
    if not tells_wear(model):
        return "What a worn bit costs these logs do not tell."
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
    """Hours of a list: one decimal from 10 on, three under a hundredth, else two."""
    if value is None:
        return words.DASH
    sign = "\N{MINUS SIGN}" if value < 0 else ""
    size = abs(value)
    decimals = 1 if size >= 9.995 else 2 if size >= 0.0095 or not size else 3
    return f"{sign}{words.fixed(size, decimals)}{words.SPACE}h"
