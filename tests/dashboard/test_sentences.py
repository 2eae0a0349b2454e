"""The sentence on top says what the figures say, and no more."""

import polars as pl

from dashboard import sentences
from dashboard.compared import add_others


def _rates(
    *rows: tuple[str, int, int, int, float | None, float | None],
) -> pl.DataFrame:
    frame = pl.DataFrame(
        rows,
        schema=["name", "judged", "nonconforming", "unrecorded", "low", "high"],
        orient="row",
    )
    due = pl.col("judged") + pl.col("unrecorded")
    return add_others(
        frame.with_columns(
            pl.lit("setting_torque").alias("check"),
            pl.col("judged").alias("installations"),
            pl.lit(0).alias("unreadable"),
            (pl.col("nonconforming") / due).alias("rate_if_unrecorded_conform"),
            ((pl.col("nonconforming") + pl.col("unrecorded")) / due).alias(
                "rate_if_unrecorded_not"
            ),
        ),
        "name",
    )


def _said(rates: pl.DataFrame) -> str:
    lines = sentences.compare_groups(
        rates, label="name", group="site", weighed="What was weighed."
    )
    return " ".join(lines).replace("\xa0", " ").replace("\u202f", " ")


def test_compare_groups_gives_counts_and_what_was_weighed() -> None:
    said = _said(
        _rates(("Alder", 100, 20, 0, 0.13, 0.29), ("Brine", 100, 2, 0, 0.006, 0.07))
    )
    assert "11.0 % of the anchors judged at 2 sites are nonconforming (22/200)" in said
    assert "What was weighed." in said


def test_compare_groups_missing_answers_and_silence() -> None:
    # 220 of 400 answered, 11 nonconforming: 2.75 % to 47.75 % if nothing is assumed.
    said = _said(
        _rates(("Alder", 220, 11, 180, 0.028, 0.087), ("Brine", 0, 0, 9, None, None))
    )
    assert "5.0 %" in said
    assert "At Alder 45.0 % of the answers are missing" in said
    assert "from 2.8 % to 47.8 %" in said
    assert "Nothing to judge at Brine." in said


def test_compare_groups_nothing_judged() -> None:
    assert "Nothing to judge" in _said(_rates(("Brine", 0, 0, 9, None, None)))
    assert "0.0 %" not in _said(_rates(("Brine", 0, 0, 9, None, None)))
