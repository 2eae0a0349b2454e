"""Setting torque, the wrench, and torques checked later."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from demo_data import grid, plan
from demo_data.flaws import Flaws, is_over, touched
from demo_data.stories import Planted
from demo_data.streams import Flags, Floats, Streams

# Small torques are set with a finer wrench.
FINE_BELOW_NM = 20.0
FINE_STEP_NM = 0.1
COARSE_STEP_NM = 0.5
UNDER_FACTOR = (0.78, 0.97)
OVER_FACTOR = (1.03, 1.30)
RECHECKED_FRAC = 0.04
# Preload relaxes: a torque checked later is lower, and not judged by the band.
RECHECK_FACTOR = (0.45, 0.85)
RECHECK_DAYS = (1, 11)
WRENCHES_PER_CREW = 2


def wrench_codes(crew_code: str) -> list[str]:
    """Return the codes of a crew's wrenches."""
    return [f"W{crew_code}{number}" for number in range(1, WRENCHES_PER_CREW + 1)]


def add_torque(
    rows: pl.DataFrame, flaws: Flaws, stories: Sequence[Planted], streams: Streams
) -> pl.DataFrame:
    """Add setting_torque_nm, wrench_code, recheck_torque_nm and recheck_local."""
    rng = streams.named("torque")
    torque = _torque_nm(rows, flaws, stories, rng)
    wrench = pl.Series(rng.integers(1, WRENCHES_PER_CREW + 1, rows.height))
    return (
        rows.with_columns(
            setting_torque_nm=pl.Series(torque),
            wrench_code=pl.format("W{}{}", pl.col("crew_code"), wrench),
        )
        .pipe(_copy_down, stories)
        .pipe(_mix_up_units, flaws, stories, rng)
        .pipe(_add_recheck, torque, rng)
    )


def _torque_nm(
    rows: pl.DataFrame,
    flaws: Flaws,
    stories: Sequence[Planted],
    rng: np.random.Generator,
) -> Floats:
    """Draw torques inside the band, bell-shaped; nonconforming ones outside it."""
    low, high = rows["torque_low_nm"].to_numpy(), rows["torque_high_nm"].to_numpy()
    own = np.where(low < FINE_BELOW_NM, FINE_STEP_NM, COARSE_STEP_NM)
    given = rows["torque_step_nm"].to_numpy()
    step = np.where(np.isnan(given), own, given)
    lowest, highest = grid.up(low, step), grid.down(high, step)
    inside = low + (high - low) * rng.beta(4.0, 4.0, rows.height)
    torque = np.clip(grid.near(inside, step), lowest, highest)
    over = is_over(rows, stories, rng)
    is_hidden = flaws.hidden["setting_torque"]
    torque[is_hidden] = np.where(over, highest, lowest)[is_hidden]
    under_nm = grid.down(low * rng.uniform(*UNDER_FACTOR, rows.height), step)
    over_nm = grid.up(high * rng.uniform(*OVER_FACTOR, rows.height), step)
    is_outside = flaws.logged["setting_torque"]
    torque[is_outside] = np.where(over, over_nm, under_nm)[is_outside]
    return torque


def _copy_down(rows: pl.DataFrame, stories: Sequence[Planted]) -> pl.DataFrame:
    """Repeat a day's first torque of a setting code where it was copied down."""
    is_copied = np.zeros(rows.height, dtype=np.bool_)
    for fact in stories:
        if fact.kind == "copied_down":
            is_copied |= touched(rows, fact)
    # Abandoned attempts were never torqued: the first torque is that of a set anchor.
    first = (
        pl.col("setting_torque_nm")
        .filter(pl.col("outcome") != "abandoned")
        .first()
        .over("crew_code", "installed_on", "setting_code")
    )
    return rows.with_columns(
        setting_torque_nm=pl.when(pl.Series(is_copied))
        .then(first)
        .otherwise("setting_torque_nm")
    )


def mixed_up(
    rows: pl.DataFrame, stories: Sequence[Planted], rng: np.random.Generator
) -> Flags:
    """Return the installations whose torque is written in the wrong unit."""
    mixed = np.zeros(rows.height, dtype=np.bool_)
    for fact in stories:
        if fact.kind == "unit_mix_up" and fact.value is not None:
            mixed |= touched(rows, fact) & (rng.random(rows.height) < fact.value)
    return mixed


def _mix_up_units(
    rows: pl.DataFrame,
    flaws: Flaws,
    stories: Sequence[Planted],
    rng: np.random.Generator,
) -> pl.DataFrame:
    mixed = mixed_up(rows, stories, rng) & ~flaws.logged["setting_torque"]
    in_ft_lbf = (pl.col("setting_torque_nm") * plan.FT_LBF_PER_NM).round(1)
    return rows.with_columns(
        setting_torque_nm=pl.when(pl.Series(mixed))
        .then(in_ft_lbf)
        .otherwise("setting_torque_nm")
    )


def _add_recheck(
    rows: pl.DataFrame, torque: Floats, rng: np.random.Generator
) -> pl.DataFrame:
    count = rows.height
    is_rechecked = pl.Series(rng.random(count) < RECHECKED_FRAC)
    relaxed = torque * rng.uniform(*RECHECK_FACTOR, count)
    days = pl.lit(pl.Series(rng.integers(*RECHECK_DAYS, count)))
    later = pl.col("installed_on").cast(pl.Datetime("us")) + pl.duration(
        days=days, hours=10
    )
    return rows.with_columns(
        recheck_torque_nm=pl.when(is_rechecked).then(pl.Series(np.round(relaxed, 1))),
        recheck_local=pl.when(is_rechecked).then(later),
    )
