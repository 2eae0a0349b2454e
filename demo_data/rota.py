"""Who worked where, when and on what: the rows before anything is drilled."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import polars as pl

from demo_data.sites import CLOSED_FROM, CLOSED_TO, Site
from demo_data.streams import Floats, Integers, Streams

ORIENTATIONS = ("floor", "wall", "soffit")
ORIENTATION_SHARES = (0.25, 0.60, 0.15)
CREW_PRESENT_SHARE = 0.85
SECOND_TASK_SHARE = 0.35
AREAS_PER_SITE = 8
INSTALLERS_PER_CREW = 3
SATURDAY = 6  # ISO weekday

# Two shifts of a site day, in minutes after midnight, and the first one's share.
MORNING = (7 * 60, 12 * 60)
AFTERNOON = (12 * 60 + 45, 16 * 60 + 30)
MORNING_SHARE = 0.58


def working_days(site: Site) -> pl.Series:
    """Return the dates on which a site may work: no weekends, no closed weeks."""
    days = pl.date_range(site.first_on, site.last_on, "1d", eager=True).alias("day")
    frame = days.to_frame().filter(
        pl.col("day").dt.weekday() < SATURDAY,
        ~pl.col("day").is_between(CLOSED_FROM, CLOSED_TO),
    )
    if site.idle:
        frame = frame.filter(~pl.col("day").is_between(*site.idle))
    return frame["day"]


def _crew_days(sites: Sequence[Site], rng: np.random.Generator) -> pl.DataFrame:
    """Return one row per crew and day present, with its share of all the work."""
    frames = []
    for site in sites:
        days = working_days(site).to_frame("installed_on")
        crews = pl.DataFrame({"crew_code": site.crew_codes})
        frame = crews.join(days, how="cross").with_columns(
            site_code=pl.lit(site.code), volume=pl.lit(site.volume)
        )
        activity = rng.gamma(4.0, 1.0, frame.height)
        is_present = rng.random(frame.height) < CREW_PRESENT_SHARE
        work = pl.Series("work", np.where(is_present, activity, 0.0))
        frames.append(
            frame.with_columns(work * pl.col("volume") / work.sum()).drop("volume")
        )
    return pl.concat(frames).filter(pl.col("work") > 0)


def _setting_shares(site: Site, setting_data: pl.DataFrame) -> Floats:
    """Return the share of each setting code at a site; they sum to 1.

    A size's weight is split between materials, and within a material between the
    shallow and the deep embedment where there are two.
    """
    weights = dict(site.size_weights)
    is_stainless = pl.col("material") == "stainless"
    shallow, deep = (
        embedment.over("anchor_size", "material")
        for embedment in (pl.col("embedment_mm").min(), pl.col("embedment_mm").max())
    )
    shares = setting_data.select(
        material=pl.when(pl.col("material").n_unique().over("anchor_size") == 1)
        .then(1.0)
        .when(is_stainless)
        .then(site.stainless_share)
        .otherwise(1.0 - site.stainless_share),
        depth=pl.when(shallow == deep)
        .then(1.0)
        .when(pl.col("embedment_mm") == deep)
        .then(site.deep_share)
        .otherwise(1.0 - site.deep_share),
        size=pl.col("anchor_size").replace_strict(weights, default=0.0),
    ).select(pl.col("material") * pl.col("depth") * pl.col("size"))
    values = shares.to_series().to_numpy()
    total: float = values.sum()
    return np.asarray(values / total, dtype=np.float64)


def _draw_codes(
    rng: np.random.Generator, codes: Sequence[str], shares: Floats | None, count: int
) -> pl.Series:
    return pl.Series(np.asarray(codes)[rng.choice(len(codes), count, p=shares)])


def _with_tasks(
    crew_days: pl.DataFrame,
    sites: Sequence[Site],
    setting_data: pl.DataFrame,
    rng: np.random.Generator,
) -> pl.DataFrame:
    """Give each crew and day its area, inspector, drill and two settings."""
    frames = []
    for site in sites:
        frame = crew_days.filter(pl.col("site_code") == site.code)
        count = frame.height
        shares = _setting_shares(site, setting_data)
        codes = setting_data["setting_code"].to_list()
        areas = [f"Bay {number}" for number in range(1, AREAS_PER_SITE + 1)]
        is_hollow = pl.Series(rng.random(count) < site.hollow_bit_share)
        frames.append(
            frame.with_columns(
                work_area=_draw_codes(rng, areas, None, count),
                inspector_code=_draw_codes(rng, site.inspector_codes, None, count),
                orientation=_draw_codes(
                    rng, ORIENTATIONS, np.asarray(ORIENTATION_SHARES), count
                ),
                first_setting=_draw_codes(rng, codes, shares, count),
                second_setting=_draw_codes(rng, codes, shares, count),
                is_hollow=is_hollow,
            )
        )
    return pl.concat(frames)


def _minutes(rng: np.random.Generator, count: int) -> Integers:
    """Draw minutes after midnight; work thins out at either end of a shift."""
    is_morning = rng.random(count) < MORNING_SHARE
    start = np.where(is_morning, MORNING[0], AFTERNOON[0])
    end = np.where(is_morning, MORNING[1], AFTERNOON[1])
    return (start + (end - start) * rng.beta(1.6, 1.6, count)).astype(np.int64)


def draw_rota(
    sites: Sequence[Site],
    setting_data: pl.DataFrame,
    installations: int,
    streams: Streams,
) -> pl.DataFrame:
    """Return one row per installation, in the order of site and local time.

    Columns: site_code, record_id, crew_code, installed_on, installed_local (the
    site's clock), work_area, inspector_code, installer_code, orientation,
    setting_code, is_hollow. There are exactly `installations` rows.
    """
    rng = streams.named("rota")
    crew_days = _with_tasks(_crew_days(sites, rng), sites, setting_data, rng)
    share = crew_days["work"].to_numpy()
    counts = rng.multinomial(installations, share / share.sum())
    which = np.repeat(np.arange(crew_days.height), counts)
    minutes = pl.Series(_minutes(rng, installations))
    is_second = pl.Series(rng.random(installations) < SECOND_TASK_SHARE)
    installer = pl.Series(rng.integers(1, INSTALLERS_PER_CREW + 1, installations))
    return (
        crew_days[which]
        .with_columns(
            installed_local=pl.col("installed_on").cast(pl.Datetime("us"))
            + pl.duration(minutes=pl.lit(minutes)),
            setting_code=pl.when(is_second)
            .then("second_setting")
            .otherwise("first_setting"),
            installer_code=pl.format("P{}{}", pl.col("crew_code"), installer),
        )
        .sort("site_code", "installed_local", "crew_code", maintain_order=True)
        .with_columns(record_id=_record_ids())
        .drop("work", "first_setting", "second_setting")
    )


def _record_ids() -> pl.Expr:
    number = pl.int_range(1, pl.len() + 1).over("site_code")
    return pl.format(
        "{}-{}", pl.col("site_code").str.head(2), number.cast(pl.String).str.zfill(6)
    )


def elapsed_frac(days: pl.Series, from_on: date, to_on: date) -> Floats:
    """Return how far each day lies from the first day (0) to the last (1)."""
    length = (to_on - from_on).days
    passed = (days - from_on).dt.total_days().to_numpy()
    return np.asarray(passed / length, dtype=np.float64)
