"""Where nothing is planted, nothing is found: rates agree with the background."""

from typing import Any

import polars as pl
import pytest

from demo_data.generator import Demo
from tests.demo_data.twin import CHECK_NAMES, total, touched_by, within_chance


def _untouched(truth: pl.DataFrame, check_name: str) -> pl.Expr:
    """Return where no story speaks of the check; inspectors speak of all checks."""
    stories = truth.filter(
        (pl.col("kind") != "background")
        & (
            (pl.col("check_name") == check_name)
            | pl.col("inspector_code").is_not_null()
        )
    )
    return ~pl.any_horizontal(touched_by(fact) for fact in stories.to_dicts())


@pytest.mark.parametrize("check_name", CHECK_NAMES)
def test_background_by_size(
    demo: Demo, verdicts: pl.DataFrame, check_name: str
) -> None:
    background = demo.truth.filter(
        pl.col("kind") == "background", pl.col("check_name") == check_name
    )
    rows = verdicts.filter(_untouched(demo.truth, check_name))
    for fact in background.to_dicts():
        values = rows.filter(touched_by(fact))[check_name].drop_nulls()
        is_metric = fact["anchor_size"].startswith("M")
        assert (len(values) > 1_000) == is_metric  # the twelve sites set no inch sizes
        assert within_chance(total(values), len(values), fact["value"])


@pytest.mark.parametrize("check_name", CHECK_NAMES)
def test_background_by_crew(
    demo: Demo, verdicts: pl.DataFrame, check_name: str
) -> None:
    """No crew is out of line by itself: expected from its own mix of sizes."""
    rates = demo.truth.filter(
        pl.col("kind") == "background", pl.col("check_name") == check_name
    ).select("anchor_size", probability="value")
    crews = (
        verdicts.filter(_untouched(demo.truth, check_name))
        .drop_nulls(check_name)
        .join(rates, on="anchor_size")
        .group_by("crew_code")
        .agg(
            pl.len(),
            hits=pl.col(check_name).sum(),
            expected=pl.col("probability").sum(),
            variance=(pl.col("probability") * (1 - pl.col("probability"))).sum(),
        )
    )
    assert crews.height >= 45  # 60 but for skips_cleaning, inspectors, never_recorded
    off = (crews["hits"] - crews["expected"]).abs() / crews["variance"].sqrt()
    assert (off < 4.5).all()


def test_background_lies_between_one_and_four_per_cent(demo: Demo) -> None:
    values = demo.truth.filter(pl.col("kind") == "background")["value"]
    assert values.is_between(0.01, 0.04).all()


def test_entries_go_missing_as_planted(demo: Demo, verdicts: pl.DataFrame) -> None:
    """Hole depth and torque of anchors set; unreadable ones are not missing.

    A word in place of a number leaves the value null too: one row in 2,500.
    """
    is_read = (
        demo.log_rows.filter(pl.col("fate") == "loaded", pl.col("raw_column").is_null())
        .select("site_code", "record_id")
        .unique()
    )
    rows = verdicts.filter(pl.col("outcome") != "abandoned").join(
        is_read, on=["site_code", "record_id"], how="semi"
    )
    facts = demo.truth.filter(pl.col("kind") == "missing_entries").to_dicts()
    assert len(facts) == 12
    for fact in facts:
        site = rows.filter(touched_by(fact))
        for name in ("hole_depth_mm", "setting_torque_nm", "drill_s"):
            assert within_chance(site[name].null_count(), site.height, fact["value"])


def test_stories_do_not_overlap(demo: Demo) -> None:
    """No two speak of the same check of the same crew on the same day."""
    stories = demo.truth.filter(
        pl.col("site_code").is_not_null(), pl.col("kind") != "missing_entries"
    ).to_dicts()
    for number, one in enumerate(stories):
        for two in stories[number + 1 :]:
            assert not _clash(one, two), f"{one['kind']} and {two['kind']}"


def _clash(one: dict[str, Any], two: dict[str, Any]) -> bool:
    def meet(name: str) -> bool:
        return one[name] is None or two[name] is None or one[name] == two[name]

    names = ("site_code", "crew_code", "inspector_code", "anchor_size")
    is_apart = one["to_on"] < two["from_on"] or two["to_on"] < one["from_on"]
    subject = ("check_name", "column_name")
    same = all(one[name] == two[name] for name in subject)
    return same and not is_apart and all(meet(name) for name in names)
