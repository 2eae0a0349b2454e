"""Which installations come out nonconforming in which check, and which are seen so."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from demo_data import plan
from demo_data.rota import elapsed_frac
from demo_data.stories import RATE, Planted
from demo_data.streams import Flags, Floats, Streams

INSPECTOR_KINDS = ("strict_inspector", "lax_inspector")


@dataclass(frozen=True)
class Flaws:
    """Per check and installation: logged as nonconforming, or hidden by a lax eye.

    A hidden one is nonconforming on the wall, but reads just inside the limit.
    """

    logged: Mapping[str, Flags]
    hidden: Mapping[str, Flags]


def touched(rows: pl.DataFrame, fact: Planted) -> Flags:
    """Return which installations a planted fact speaks of."""
    narrowed = [
        pl.col(name) == code
        for name in ("site_code", "crew_code", "inspector_code", "anchor_size")
        if (code := getattr(fact, name)) is not None
    ]
    is_touched = pl.all_horizontal(
        pl.col("installed_on").is_between(fact.from_on, fact.to_on), *narrowed
    )
    return np.asarray(rows.select(is_touched).to_series().to_numpy(), dtype=np.bool_)


def nonconforming_probability(
    rows: pl.DataFrame, stories: Sequence[Planted], check_name: str
) -> Floats:
    """Return each installation's probability of being nonconforming in a check."""
    background = rows["anchor_size"].replace_strict(
        plan.BACKGROUND[check_name], return_dtype=pl.Float64
    )
    probability = np.array(background.to_numpy(), dtype=np.float64)
    for fact in stories:
        if fact.check_name != check_name or fact.value is None:
            continue
        is_touched = touched(rows, fact)
        if fact.unit == RATE:
            probability[is_touched] = fact.value
        elif fact.kind == "bit_wear_depth":
            passed = elapsed_frac(rows["installed_on"], fact.from_on, fact.to_on)
            drifted = probability + (fact.value - probability) * passed
            probability[is_touched] = drifted[is_touched]
    return probability


def _logged_share(rows: pl.DataFrame, stories: Sequence[Planted]) -> Floats:
    share = np.ones(rows.height)
    for fact in stories:
        if fact.kind in INSPECTOR_KINDS and fact.value is not None:
            share[touched(rows, fact)] = fact.value
    return share


def draw_flaws(
    rows: pl.DataFrame, stories: Sequence[Planted], streams: Streams
) -> Flaws:
    """Draw the nonconforming installations; rows are independent of each other."""
    share = _logged_share(rows, stories)
    logged, hidden = {}, {}
    for check_name in plan.CHECK_NAMES:
        rng = streams.named(f"flaws {check_name}")
        probability = nonconforming_probability(rows, stories, check_name)
        is_flawed = rng.random(rows.height) < probability
        is_seen = rng.random(rows.height) < share
        logged[check_name] = is_flawed & is_seen
        hidden[check_name] = is_flawed & ~is_seen
    return Flaws(logged, hidden)


def is_over(
    rows: pl.DataFrame, stories: Sequence[Planted], rng: np.random.Generator
) -> Flags:
    """Return on which side of the torque band a nonconforming value falls."""
    over = rng.random(rows.height) < 0.5
    for fact in stories:
        if fact.check_name == "setting_torque" and fact.direction is not None:
            over[touched(rows, fact)] = fact.direction == "over"
    return over
