"""Batches whose record is unlike their peers': worth a look, and nothing more."""

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.frames import read_frame
from queries.selection import Selection
from queries.statistics.peer_counts import against_peers
from queries.statistics.peer_spread import too_alike
from queries.statistics.two_groups import harmonic_mean_p, two_groups

BATCH = ("site_code", "crew_code", "installed_on")
COUNTED_SIGNS = ("edge", "round", "torque", "record", "pace", "stamp")
SIGNS = (*COUNTED_SIGNS, "spread")
# From this probability on a batch is listed, and counts as unknown where asked for.
DOUBTED_AT = 0.9
# A sign is named for a listed batch from this chance on.
NAMED_AT = 0.01

# A column of counts, as they are sent to Python.
Places = NDArray[np.int64]


@dataclass(frozen=True)
class Doubts:
    """Every batch of the store, the most doubtful first.

    `batches`: BATCH, installations, probability (null where no sign can speak),
    p_value; per counted sign its _found of _of rows, the share _expected of peers and
    the _chance of so many; spread_frac (standard deviation in parts of the torque
    band), spread_expected and spread_chance. Null where a sign is silent. `speaking`:
    batches with a sign that can speak; `share` of them that the mixture takes to be
    unlike their peers.
    """

    batches: pl.DataFrame
    speaking: int
    share: float

    @property
    def listed(self) -> pl.DataFrame:
        """The batches worth a look."""
        return self.batches.filter(pl.col("probability") >= DOUBTED_AT)


def read_doubts(con: duckdb.DuckDBPyConnection) -> Doubts:
    """Weigh every batch of the store against its peers.

    Always the whole store: a filter chooses what is shown, not who the peers are.
    Signs: queries/views/batch_sign.sql; the probability:
    queries/statistics/two_groups.py.
    """
    batches = read_frame(
        con,
        """
        select site_code, crew_code, installed_on, sum(installations) as installations
        from tally
        group by site_code, crew_code, installed_on
        """,
    ).cast({"installations": pl.Int64})
    counted = read_frame(con, "from batch_sign")
    for name in COUNTED_SIGNS:
        batches = batches.join(
            _weigh_sign(counted.filter(pl.col("sign") == name), name),
            on=BATCH,
            how="left",
        )
    batches = batches.join(
        _weigh_spread(counted.filter(pl.col("sign") == "spread")), on=BATCH, how="left"
    )
    chances = batches.select(
        pl.col(f"{name}_chance").fill_null(np.nan) for name in SIGNS
    )
    p_value = harmonic_mean_p(chances.to_numpy())
    found = two_groups(p_value, *_places(batches, "site_code", "crew_code"))
    weighed = batches.with_columns(
        pl.Series("probability", found.probability).fill_nan(None),
        pl.Series("p_value", p_value).fill_nan(None),
    ).sort(
        "probability",
        "p_value",
        *BATCH,
        descending=[True] + 4 * [False],
        nulls_last=True,
    )
    return Doubts(weighed, int((~np.isnan(p_value)).sum()), found.share)


def select_batches(batches: pl.DataFrame, selection: Selection) -> pl.DataFrame:
    """Return the batches of the selection's sites, crews and days, of all sizes."""
    chosen = pl.lit(value=True)
    if selection.site_codes:
        chosen &= pl.col("site_code").is_in(list(selection.site_codes))
    if selection.crew_codes:
        chosen &= pl.col("crew_code").is_in(list(selection.crew_codes))
    if selection.from_on:
        chosen &= pl.col("installed_on") >= selection.from_on
    if selection.to_on:
        chosen &= pl.col("installed_on") <= selection.to_on
    return batches.filter(chosen)


def _weigh_sign(counted: pl.DataFrame, name: str) -> pl.DataFrame:
    crew, crews = _places(counted, "site_code", "crew_code")
    site = np.zeros(crews, np.int64)
    site[crew] = _places(counted, "site_code")[0]
    chance = against_peers(
        counted["found"].to_numpy(),
        counted["row_count"].to_numpy(),
        counted["peer_share"].to_numpy(),
        counted["peer_doubt"].to_numpy(),
        crew,
        site,
    )
    return counted.select(
        *BATCH,
        pl.col("found").alias(f"{name}_found"),
        pl.col("row_count").alias(f"{name}_of"),
        pl.col("peer_share").alias(f"{name}_expected"),
        pl.Series(f"{name}_chance", chance).fill_nan(None),
    )


def _weigh_spread(spread: pl.DataFrame) -> pl.DataFrame:
    chance, usual = too_alike(
        spread["spread_frac2"].to_numpy(),
        spread["freedom"].to_numpy(),
        spread["step_frac2"].to_numpy(),
        _places(spread, "site_code")[0],
        _places(spread, "crew_code")[0],
    )
    return spread.select(
        *BATCH,
        pl.col("spread_frac2").sqrt().alias("spread_frac"),
        pl.Series("spread_expected", usual).fill_nan(None).sqrt(),
        pl.Series("spread_chance", chance).fill_nan(None),
    )


def _places(frame: pl.DataFrame, *names: str) -> tuple[Places, int]:
    """Return for each row the number of its group, from 0, and how many there are."""
    number = frame.select(pl.struct(names).rank("dense") - 1).to_series()
    groups = int(number.max()) + 1 if frame.height else 0  # type: ignore[arg-type]
    return number.cast(pl.Int64).to_numpy(), groups


def read_batch(
    con: duckdb.DuckDBPyConnection, site_code: str, crew_code: str, day: date
) -> pl.DataFrame:
    """Return the rows of one batch in file order, each with the signs it shows itself.

    Columns: BATCH, record_id, setting_code, installed_at, what the signs look at, signs
    (names of SIGNS; "spread" is the batch's alone), file_name and source_row. Empty
    where there is no such batch.
    """
    return read_frame(
        con,
        """
        select * from batch_record($site_code, $crew_code, $day)
        order by file_name, source_row
        """,
        {"site_code": site_code, "crew_code": crew_code, "day": day},
    )
