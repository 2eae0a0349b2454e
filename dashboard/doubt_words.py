"""Batches that are worth a look, in words that accuse nobody: pure."""

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from dashboard import words
from queries.readers.doubts import BATCH, DOUBTED_AT, NAMED_AT, SIGNS

# As batch_sign.sql has it.
FEWEST_ROWS = 20
# A standard deviation in parts of the band that is none.
SAME = 1e-6
CAUTION = (
    "Worth a look, and nothing more: every sign has innocent explanations, and no sign "
    "shows that a record is right. Ask on site before drawing any conclusion."
)
# What was found, of how many; the share usual among the others follows.
FOUND = {
    "edge": "torques lie just inside the band",
    "round": "torques are round figures",
    "torque": "torques repeat the one before",
    "record": "records repeat all measured values of the row before",
    "pace": "anchors follow sooner after the one before than their own drilling took",
    "stamp": "anchors are stamped within ten minutes of the day's last",
}
INNOCENT: dict[str, tuple[str, ...]] = {
    "edge": (
        "a low or high reading corrected on the spot, and only the second logged",
        "a preset wrench whose click lies near the end of the band",
    ),
    "round": (
        "a gauge with coarse steps, such as 5 Nm",
        "one person read, another wrote, and rounded",
    ),
    "torque": (
        "a preset wrench, which shows only that it clicked",
        "one reading logged for a group of anchors",
    ),
    "record": ("like anchors in one row, entered once and filled down by agreement",),
    "pace": ("two people drilling at a time", "a clock that was set"),
    "stamp": (
        "a log filled in from a paper sheet at the end of the shift",
        "a device that was offline and sent all at once",
    ),
    "spread": (
        "a preset wrench, which shows only that it clicked",
        "a steady hand and a good tool",
    ),
}
# What each silent sign lacks.
SHORT = {
    "edge": "torque",
    "round": "the gauge's step",
    "torque": "torque",
    "record": "measured values",
    "pace": "times or drilling times",
    "stamp": "times",
    "spread": "two torques of one setting code",
}


def named_signs(batch: Mapping[str, Any]) -> list[str]:
    """Return the signs that make a batch worth a look, the clearest first."""
    chances = {
        name: batch[f"{name}_chance"]
        for name in SIGNS
        if batch[f"{name}_chance"] is not None
    }
    by_chance = sorted(chances, key=lambda name: chances[name])
    return [name for name in by_chance if chances[name] <= NAMED_AT] or by_chance[:1]


def sign_words(batch: Mapping[str, Any], name: str) -> str:
    """Return what one sign of a batch shows, beside what is usual among the others."""
    usual = batch[f"{name}_expected"]
    if name == "spread":
        # A mean of equal torques is off by what floats leave.
        if batch["spread_frac"] < SAME:
            return (
                "torques inside the band are all the same, usually they vary by "
                f"{words.percent(usual)} of it"
            )
        return (
            f"torques vary by {words.percent(batch['spread_frac'])} of the band, "
            f"usually by {words.percent(usual)}"
        )
    return (
        f"{batch[f'{name}_found']} of {batch[f'{name}_of']} {FOUND[name]}, where "
        f"{words.about(usual * batch[f'{name}_of'])} would be usual"
    )


def silent_words(batch: Mapping[str, Any]) -> str:
    """Return which signs cannot speak: a blank column, or no peers to compare with."""
    silent = [name for name in SIGNS if batch[f"{name}_chance"] is None]
    lacking = list(dict.fromkeys(SHORT[name] for name in silent))
    return (
        f"not compared, blank or without peers: {'; '.join(lacking)}" if silent else ""
    )


def doubt_rows(batches: pl.DataFrame) -> pl.DataFrame:
    """Return batches as they are listed: BATCH, installations, probability, and words.

    signs: what was found beside what is usual; may_be: innocent explanations of these
    signs; silent: what was not compared.
    """
    rows = [
        {name: batch[name] for name in (*BATCH, "installations", "probability")}
        | {
            "signs": [sign_words(batch, name) for name in named_signs(batch)],
            "may_be": list(
                dict.fromkeys(
                    text for name in named_signs(batch) for text in INNOCENT[name]
                )
            ),
            "silent": silent_words(batch),
        }
        for batch in batches.iter_rows(named=True)
    ]
    kinds: dict[str, Any] = {
        **{name: batches.schema[name] for name in BATCH},
        "installations": pl.Int64,
        "probability": pl.Float64,
        "signs": pl.List(pl.String),
        "may_be": pl.List(pl.String),
        "silent": pl.String,
    }
    return pl.DataFrame(rows, schema=kinds)


def crew_rows(listed: pl.DataFrame) -> list[dict[str, Any]]:
    """Return a row a crew of the batches listed, the one with most batches first.

    crew_code, site_codes, batches, installations, first_on, last_on; signs: each that
    makes a batch worth a look, with its counts over these batches, the commonest first;
    may_be: innocent explanations of these signs.
    """
    rows = []
    for (code,), batches in listed.partition_by("crew_code", as_dict=True).items():
        named: dict[str, list[dict[str, Any]]] = {}
        for batch in batches.iter_rows(named=True):
            for name in named_signs(batch):
                named.setdefault(name, []).append(batch)
        by_count = sorted(named, key=lambda name: -len(named[name]))
        rows.append(
            {
                "crew_code": code,
                "site_codes": sorted(set(batches["site_code"])),
                "batches": batches.height,
                "installations": batches["installations"].sum(),
                "first_on": batches["installed_on"].min(),
                "last_on": batches["installed_on"].max(),
                "signs": [_summed_words(named[name], name) for name in by_count],
                "may_be": list(
                    dict.fromkeys(text for name in by_count for text in INNOCENT[name])
                ),
            }
        )
    return sorted(rows, key=lambda row: (-row["batches"], row["crew_code"]))


def _summed_words(batches: Sequence[Mapping[str, Any]], name: str) -> str:
    """Return what one sign shows over the batches that it is named for."""
    how_many = words.plural(len(batches), "batch", "batches")
    if name == "spread":
        return f"in {how_many} torques hardly vary"
    found, of = (
        sum(batch[f"{name}_{part}"] for batch in batches) for part in ("found", "of")
    )
    usual = sum(batch[f"{name}_expected"] * batch[f"{name}_of"] for batch in batches)
    return (
        f"in {how_many} {words.count(found)} of {words.count(of)} {FOUND[name]}, "
        f"where {words.about(usual)} would be usual"
    )


def doubts_words(batches: pl.DataFrame) -> str:
    """Return the sentence of a list; `batches` are those of the selection.

    Says how many are listed, how many of these chance alone would put there, and how
    many batches nothing could be said of.
    """
    if batches.is_empty():
        return "No installation matches these filters."
    speaking = batches.filter(pl.col("probability").is_not_null())
    mute = batches.height - speaking.height
    if speaking.is_empty():
        return (
            "Nothing can be compared: the columns are blank, or the other crews of the "
            f"site have fewer than {FEWEST_ROWS} rows of the like."
        )
    listed = speaking.filter(pl.col("probability") >= DOUBTED_AT)
    by_chance = float((1 - listed["probability"]).sum())
    said = (
        f"{words.count(listed.height)} of {words.count(speaking.height)} batches (what "
        "one crew logged at one site on one day) are unlike those of the other crews "
        f"there, each with a probability of {words.percent(DOUBTED_AT)} or more"
    )
    if listed.height:
        said += f"; of these {words.about(by_chance)} may be chance"
    said += "."
    if mute:
        said += (
            f" {words.plural(mute, 'batch', 'batches')} could not be compared: blank, "
            f"or fewer than {FEWEST_ROWS} rows of other crews at the site."
        )
    return f"{said} {CAUTION if listed.height else 'No sign is not clearance.'}"
