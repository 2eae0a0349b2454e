"""The generated logs as such: sizes, identities, times, clerical faults."""

from datetime import date
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from demo_data.generator import Demo, generate
from demo_data.sites import SITES
from queries.columns import LOGGED_COLUMNS, Column
from tests.demo_data.twin import share, total

# The eighteen months of the brief; nothing lies in the future of 25 November 2026.
FIRST_ON, LAST_ON = date(2025, 5, 1), date(2026, 10, 31)


def test_same_seed_same_demo() -> None:
    one, same, other = (generate(2_000, seed) for seed in (7, 7, 8))
    assert_frame_equal(one.log_rows, same.log_rows)
    assert_frame_equal(one.installations, same.installations)
    assert not one.installations.equals(other.installations)


def test_sizes(demo: Demo) -> None:
    assert demo.installations.height == 250_000
    assert demo.sites.height == 12
    assert demo.crews.height == 60
    assert demo.crews["crew_code"].is_unique().all()
    assert demo.installations["inspector_code"].n_unique() == 8


def test_too_few_installations_are_refused() -> None:
    with pytest.raises(ValueError, match="999 installations: expected 1000 or more"):
        generate(999)


def test_each_installation_stands_once(demo: Demo) -> None:
    assert not demo.installations.select("site_code", "record_id").is_duplicated().any()


def test_crews_keep_to_their_site(demo: Demo) -> None:
    seen = demo.installations.select("crew_code", "site_code").unique()
    assert_frame_equal(seen, demo.crews, check_row_order=False)


def test_only_working_days_and_hours(demo: Demo) -> None:
    rows = demo.installations
    assert rows["installed_on"].is_between(FIRST_ON, LAST_ON).all()
    assert (rows["installed_on"].dt.weekday() <= 5).all()
    assert rows["installed_local"].dt.hour().is_between(7, 16).all()
    assert rows["installed_on"].dt.month().n_unique() == 12


def test_idle_weeks_are_there(demo: Demo) -> None:
    """BRINE stood still in February 2026, everybody between the years."""
    closed = pl.col("installed_on").is_between(date(2025, 12, 22), date(2026, 1, 2))
    february = pl.col("installed_on").is_between(date(2026, 2, 2), date(2026, 2, 27))
    brine = pl.col("site_code") == "BRINE"
    assert demo.installations.filter(closed | (brine & february)).is_empty()


def test_instants_are_the_site_clock_in_utc(demo: Demo) -> None:
    """One row a site and month, converted by the standard library."""
    zones = dict(zip(demo.sites["site_code"], demo.sites["time_zone"], strict=True))
    month = pl.col("installed_on").dt.truncate("1mo")
    by_month = demo.installations.group_by("site_code", month, maintain_order=True)
    for row in by_month.first().iter_rows(named=True):
        local = row["installed_local"].replace(tzinfo=ZoneInfo(zones[row["site_code"]]))
        assert row["installed_at"] == local
        assert local.date().replace(day=1) == row["installed_on"]


def test_a_site_lives_on_another_utc_day(demo: Demo) -> None:
    far = demo.installations.filter(pl.col("site_code") == "LOWLAND")
    assert share(far["installed_at"].dt.date() < far["installed_on"]) > 0.5


CHOICES = [column for column in LOGGED_COLUMNS if column.choices]


@pytest.mark.parametrize("column", CHOICES, ids=lambda column: column.name)
def test_choices_are_canonical(demo: Demo, column: Column) -> None:
    name, choices = column.name, column.choices
    assert set(demo.installations[name].drop_nulls().unique()) <= set(choices)


def test_receipts_account_for_every_row(demo: Demo) -> None:
    receipts, fates = demo.receipts, ["loaded", "revised", "duplicate", "rejected"]
    assert total(receipts["rows_read"]) == demo.log_rows.height
    assert (receipts["rows_read"] == receipts.select(fates).sum_horizontal()).all()
    assert total(receipts["loaded"]) == demo.installations.height
    for name in (*fates, "field_faults"):
        assert (receipts[name] >= 0).all()
        assert total(receipts[name]) > 0


def test_revisions_carry_the_value_that_counts(demo: Demo) -> None:
    """The superseded row is 10 mm shallower; everything else is the same."""
    identity = ["site_code", "record_id"]
    revised = demo.log_rows.filter(pl.col("fate") == "revised")
    first = demo.log_rows.filter(pl.col("fate") == "loaded").join(
        revised.select(identity), on=identity, maintain_order="left"
    )
    assert revised.height == 250  # one in a thousand
    both = first.join(revised, on=identity, suffix="_new")
    assert (both["revision_new"] - both["revision"] == 1).all()
    assert (both["hole_depth_mm_new"] - both["hole_depth_mm"] == 10).all()


def test_rejected_rows_have_their_fault(demo: Demo) -> None:
    rejected = demo.log_rows.filter(pl.col("fate") == "rejected")
    known = pl.col("setting_code").is_in(demo.setting_data["setting_code"].implode())
    faults = {
        "unknown_setting": ~known,
        "impossible_date": pl.col("raw_value") == "2026-02-30",
        "no_crew": pl.col("crew_code").is_null(),
        "conflict": pl.col("note") == "entered twice",
    }
    for fault, sign in faults.items():
        rows = rejected.filter(pl.col("fault") == fault)
        assert rows.height > 0
        assert rows.select(sign.fill_null(value=False)).to_series().all()
    assert set(rejected["fault"]) == set(faults)


def test_sites_are_invented_and_apart() -> None:
    assert len({site.code for site in SITES}) == 12
    assert len({site.time_zone for site in SITES}) >= 6
    outside = [s for s in SITES if not s.time_zone.startswith("Europe/")]
    assert len(outside) == 1
