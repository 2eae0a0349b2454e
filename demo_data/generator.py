"""The generator: many installations of invented sites, with known truth."""

from dataclasses import dataclass

import polars as pl

from demo_data.clerical import FaultCounts, add_clerical_faults, expected_receipts
from demo_data.model import simulate
from demo_data.setting import read_setting_data
from demo_data.sites import SITES
from demo_data.stories import STORIES
from demo_data.streams import Streams
from demo_data.truth import truth_table

DEFAULT_INSTALLATIONS = 250_000
DEFAULT_SEED = 20_251_125
LEAST_INSTALLATIONS = 1_000


@dataclass(frozen=True)
class Demo:
    """Generated logs and what is true of them.

    `installations`: the current revision of each installation, as a faultless intake
    must keep it (columns: model.INSTALLATION_SCHEMA; canonical names and units).
    `log_rows`: every row of the sites' files in file order, with the same columns and
    its fate (loaded, revised, duplicate, rejected), the fault it was rejected for,
    and the raw cell that stands in place of one value (raw_column, raw_value).
    `truth`: the planted facts (truth.TRUTH_SCHEMA). `sites`: site_code, site_name,
    time_zone. `crews`: crew_code, site_code. `receipts`: per site, what a load must
    report. `setting_data`: the committed setting data.
    """

    seed: int
    installations: pl.DataFrame
    log_rows: pl.DataFrame
    truth: pl.DataFrame
    sites: pl.DataFrame
    crews: pl.DataFrame
    receipts: pl.DataFrame
    setting_data: pl.DataFrame


def generate(
    installations: int = DEFAULT_INSTALLATIONS, seed: int = DEFAULT_SEED
) -> Demo:
    """Generate the logs of the twelve sites; the same arguments give the same demo.

    `installations` counts different anchors set or attempted. The files hold a few
    rows more: revisions, repeated and unacceptable ones. ValueError under 1,000,
    where some of the planted facts could not happen at all.
    """
    if installations < LEAST_INSTALLATIONS:
        raise ValueError(
            f"{installations} installations: expected {LEAST_INSTALLATIONS} or more"
        )
    setting_data = read_setting_data()
    rows = simulate(SITES, setting_data, STORIES, installations, seed)
    logged = add_clerical_faults(
        rows, _fault_counts(installations), Streams(seed).named("clerical faults")
    )
    return Demo(
        seed=seed,
        installations=logged.installations,
        log_rows=logged.log_rows,
        truth=truth_table(),
        sites=_sites(),
        crews=_crews(),
        receipts=expected_receipts(logged.log_rows),
        setting_data=setting_data,
    )


def _fault_counts(installations: int) -> FaultCounts:
    """Return a few of each fault a thousand, and never none."""

    def share(per_mille: float) -> int:
        return max(2, round(installations * per_mille / 1000))

    return FaultCounts(
        revised=share(1.0),
        duplicate=share(0.5),
        unreadable=share(0.4),
        conflict=share(0.02),
        unknown_setting=share(0.1),
        impossible_date=share(0.1),
        no_crew=share(0.1),
    )


def _sites() -> pl.DataFrame:
    return pl.DataFrame(
        {
            "site_code": [site.code for site in SITES],
            "site_name": [site.name for site in SITES],
            "time_zone": [site.time_zone for site in SITES],
        }
    )


def _crews() -> pl.DataFrame:
    pairs = [(crew, site.code) for site in SITES for crew in site.crew_codes]
    return pl.DataFrame(pairs, schema=["crew_code", "site_code"], orient="row")
