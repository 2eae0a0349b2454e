"""Every planted truth is found through the line, and not where it was not planted.

Expected probabilities come from the generator's truth table. A count is compatible with
a probability where it lies within the exact binomial limits at a two-sided false-alarm
rate of ALPHA: with the few hundred comparisons below, a sound build fails by chance
about once in 2,000 seeds; the demo's seed is fixed.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import polars as pl
import pytest
from scipy.stats import binom

from queries.judgement import CHECK_NAMES
from queries.readers.found_out import read_found_out
from queries.readers.intake import read_receipts
from queries.readers.rates import read_rates
from queries.readers.unlogged import much_unlogged, read_unlogged, unlogged_by_site
from queries.selection import Selection
from queries.store import Store

ALPHA = 1e-6
FATES = ("rows_read", "loaded", "revised", "duplicate", "rejected", "field_faults")


def rates(store: Store, by: list[str], selection: Selection) -> list[dict[str, Any]]:
    with store.reader() as con:
        return read_rates(con, by, selection).to_dicts()


def rate(store: Store, selection: Selection) -> dict[str, Any]:
    [found] = rates(store, [], selection)
    return found


def is_compatible(found: dict[str, Any], probability: float) -> bool:
    low, high = binom.interval(1 - ALPHA, found["judged"], probability)
    return bool(low <= found["nonconforming"] <= high)


def planted(truth: pl.DataFrame, kind: str) -> dict[str, Any]:
    """Return the first planted fact of a kind."""
    return truth.filter(kind=kind).row(0, named=True)


def of(fact: dict[str, Any], **changes: Any) -> Selection:
    """Return the selection a planted fact speaks of."""

    def only(name: str) -> tuple[str, ...]:
        return (fact[name],) if fact[name] else ()

    selection = Selection(
        from_on=fact["from_on"],
        to_on=fact["to_on"],
        site_codes=only("site_code"),
        crew_codes=only("crew_code"),
        anchor_sizes=only("anchor_size"),
        check_names=only("check_name"),
    )
    return replace(selection, **changes)


def background(truth: pl.DataFrame, check: str, size: str) -> float:
    found = truth.filter(kind="background", check_name=check, anchor_size=size)
    return float(found["value"].item())


def test_the_receipts_are_what_was_planted(
    demo_store: Store, expected_receipts: pl.DataFrame
) -> None:
    with demo_store.reader() as con:
        receipts = read_receipts(con).filter(content="installations")
    columns = ["file_name", *FATES]
    assert receipts.height == 17
    assert sorted(receipts.select(columns).rows()) == sorted(
        expected_receipts.select(columns).rows()
    )


def test_a_crew_under_torques_m12_from_a_week_on(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    fact = planted(truth, "under_torque")
    usual = background(truth, "setting_torque", "M12")
    before = of(fact, from_on=None, to_on=fact["from_on"] - timedelta(days=1))
    assert is_compatible(rate(demo_store, of(fact)), fact["value"])
    assert is_compatible(rate(demo_store, before), usual)
    # Not in its other sizes, and not in the other crews' M12.
    for row in rates(demo_store, ["anchor_size"], of(fact, anchor_sizes=())):
        size = row["anchor_size"]
        if size != "M12":
            expected = background(truth, "setting_torque", size)
            assert is_compatible(row, expected), size
    for row in rates(demo_store, ["crew"], of(fact, crew_codes=())):
        if row["crew"] != fact["crew_code"]:
            assert is_compatible(row, usual), row["crew"]


def test_the_under_torque_is_under(demo_store: Store, truth: pl.DataFrame) -> None:
    fact = planted(truth, "under_torque")
    with demo_store.reader() as con:
        found = con.execute(
            """
            select
                count_if(
                    installation.setting_torque_nm < required.setting_torque_nm
                ),
                count(*)
            from installation
            inner join setting_data as required
                on installation.setting_code = required.setting_code
            where
                installation.crew_code = $crew
                and installation.installed_on >= $from_on
                and required.anchor_size = 'M12'
                and (installation.nonconforming_mask >> $position::uinteger) & 1 = 1
            """,
            {
                "crew": fact["crew_code"],
                "from_on": fact["from_on"],
                "position": CHECK_NAMES.index("setting_torque"),
            },
        ).fetchall()
    under, all_of_them = found[0]
    assert under == all_of_them > 100


def test_a_site_skips_cleaning(demo_store: Store, truth: pl.DataFrame) -> None:
    fact = planted(truth, "skips_cleaning")
    assert is_compatible(rate(demo_store, of(fact)), fact["value"])


def test_a_site_never_records_cleaning(demo_store: Store, truth: pl.DataFrame) -> None:
    found = rate(demo_store, of(planted(truth, "never_recorded")))
    assert (found["judged"], found["rate"]) == (0, None)
    assert found["unrecorded"] > 0


def test_worn_bits_drift_slowly(demo_store: Store, truth: pl.DataFrame) -> None:
    fact = planted(truth, "bit_wear_depth")
    months = rates(demo_store, ["month"], of(fact))
    third = len(months) // 3

    def share(rows: list[dict[str, Any]]) -> float:
        judged = sum(row["judged"] for row in rows)
        return float(sum(row["nonconforming"] for row in rows) / judged)

    first, middle, last = (
        share(months[:third]),
        share(months[third:-third]),
        share(months[-third:]),
    )
    assert first < middle < last
    # A straight line from about 2 % to 20 %: its last third averages about 17 %.
    assert last == pytest.approx(0.02 + (fact["value"] - 0.02) * 5 / 6, abs=0.03)


@pytest.mark.parametrize("kind", ["training_worked", "training_failed"])
def test_before_and_after_a_retraining(
    demo_store: Store, truth: pl.DataFrame, kind: str
) -> None:
    before, after = truth.filter(kind=kind).to_dicts()
    assert is_compatible(rate(demo_store, of(before)), before["value"])
    assert is_compatible(rate(demo_store, of(after)), after["value"])
    assert (before["value"] == after["value"]) == (kind == "training_failed")


def test_a_site_steps_up(demo_store: Store, truth: pl.DataFrame) -> None:
    fact = planted(truth, "site_step")
    before = of(fact, from_on=None, to_on=fact["from_on"] - timedelta(days=1))
    usual = background(truth, "edge_distance", "M12")  # the same for every size
    assert is_compatible(rate(demo_store, of(fact)), fact["value"])
    assert is_compatible(rate(demo_store, before), usual)


def test_strict_and_lax_inspectors_see_different_sites(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    shares = {
        fact["inspector_code"]: fact
        for kind in ("strict_inspector", "lax_inspector")
        for fact in [planted(truth, kind)]
    }
    assert len(shares) == 2
    for inspector, fact in shares.items():
        usual = background(truth, "edge_distance", "M12")
        selection = of(fact, check_names=("edge_distance", "embedment"))
        found = [
            row
            for row in rates(demo_store, ["inspector"], selection)
            if row["inspector"] == inspector
        ]
        assert len(found) == 2
        for row in found:
            assert is_compatible(row, usual * fact["value"]), (inspector, row["check"])


def test_a_copied_column_shows_no_fault(demo_store: Store, truth: pl.DataFrame) -> None:
    fact = planted(truth, "copied_down")
    found = rate(demo_store, of(fact))
    assert found["judged"] > 1_000
    assert found["nonconforming"] == 0


def test_packing_that_was_not_counted_is_found(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    fact = planted(truth, "packing_not_counted")
    with demo_store.reader() as con:
        found = con.execute(
            """
            select
                count_if(packing_mm > 0),
                count_if(packing_mm > 0 and verdict = 'nonconforming')
            from installation
            inner join installation_verdict using (site_code, record_id)
            where
                crew_code = $crew and check_name = 'embedment'
                and verdict in ('conforming', 'nonconforming')
            """,
            {"crew": fact["crew_code"]},
        ).fetchall()
    with_packing, too_shallow = found[0]
    assert with_packing == too_shallow > 50


def test_torques_in_another_unit_show_as_under(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    fact = planted(truth, "unit_mix_up")
    found = rate(demo_store, of(fact))
    usual = max(background(truth, "setting_torque", size) for size in ("M12", "M24"))
    assert found["low"] > usual


def test_a_harder_mix_is_higher_overall_and_in_no_size(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    fact = planted(truth, "harder_size_mix")
    for check in ("hole_depth", "setting_torque"):
        selection = of(fact, check_names=(check,))
        overall = rate(demo_store, selection)
        everywhere = rate(demo_store, replace(selection, site_codes=("FALLOW",)))
        assert overall["low"] > everywhere["high"]
        for row in rates(demo_store, ["anchor_size"], selection):
            expected = background(truth, check, row["anchor_size"])
            assert is_compatible(row, expected), (check, row["anchor_size"])


def test_holes_that_were_not_logged_are_missed_at_their_site(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    fact = planted(truth, "holes_not_logged")
    with demo_store.reader() as con:
        by_site = unlogged_by_site(read_unlogged(con, Selection()))
    [found] = much_unlogged(by_site).to_dicts()
    assert found["site_code"] == fact["site_code"]
    counts = {"nonconforming": found["unlogged"], "judged": found["planned"]}
    assert is_compatible(counts, fact["value"])


def test_nothing_is_found_where_nothing_was_planted(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    stories = truth.filter(
        ~pl.col("kind").is_in(
            [
                "background",
                "missing_entries",
                "drilling_time",
                "bit_wear",
                "handling_time",
                "holes_not_logged",
                "wrench_found_out",
            ]
        )
        & (pl.col("site_code") != "")
    )
    touched = {
        (fact["site_code"], check)
        for fact in stories.to_dicts()
        for check in ([fact["check_name"]] if fact["check_name"] else CHECK_NAMES)
    }
    compared = 0
    # The truth says nothing of the checks that the generator plants nothing in.
    planted_checks = tuple(truth.filter(kind="background")["check_name"].unique())
    selection = Selection(check_names=planted_checks)
    for row in rates(demo_store, ["site", "anchor_size"], selection):
        if (row["site"], row["check"]) in touched or not row["judged"]:
            continue
        expected = background(truth, row["check"], row["anchor_size"])
        assert is_compatible(row, expected), (row["site"], row["anchor_size"])
        compared += 1
    assert compared > 300


def test_the_demo_ends_before_the_load(demo_store: Store) -> None:
    with demo_store.reader() as con:
        [(first_on, last_on)] = con.execute(
            "select min(installed_on), max(installed_on) from installation"
        ).fetchall()
    assert date(2025, 5, 1) <= first_on < last_on <= date(2026, 10, 31)


def test_the_wrench_found_out_is_the_planted_one(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    fact = planted(truth, "wrench_found_out")
    found_on = fact["to_on"] + timedelta(days=1)
    with demo_store.reader() as con:
        found = read_found_out(con)
        [(logged,)] = con.execute(
            "select count(wrench_code) from installation where crew_code = $crew and "
            "installed_on < $day and outcome is distinct from 'abandoned'",
            {"crew": fact["crew_code"], "day": found_on},
        ).fetchall()
    [(wrench, site, crew, day)] = (
        found.select("wrench_code", "site_code", "crew_code", "found_on")
        .unique()
        .iter_rows()
    )
    assert wrench in fact["words"]
    assert (site, crew, day) == (fact["site_code"], fact["crew_code"], found_on)
    anchors = found["anchors"].sum()
    # A crew takes either of its two wrenches (demo_data/torque.py).
    assert is_compatible({"judged": logged, "nonconforming": anchors}, 0.5)
