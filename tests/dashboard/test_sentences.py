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


def _drilled(*rows: tuple[str, int, float]) -> pl.DataFrame:
    """Return a summary of sizes, each with so many timed holes of so many seconds."""
    frame = pl.DataFrame(
        rows, schema=["anchor_size", "completed_timed", "s_per_good_hole"], orient="row"
    )
    return frame.with_columns(
        pl.lit("hammer").alias("drill_method"),
        pl.col("completed_timed").alias("attempts"),
        pl.lit(0).alias("abandoned"),
        pl.lit(0).alias("untimed_attempts"),
    )


def test_one_hole_that_took_long_is_no_size_s_time() -> None:
    said = sentences.drilling(
        _drilled(("M8", 900, 9.0), ("M10", 400, 11.0), ("M24", 1, 300.0))
    )
    assert "9 s for M8" in said.replace("\xa0", " ")
    assert "M24" not in said and "M10" in said
    few = sentences.drilling(_drilled(("M8", 12, 9.0), ("M24", 1, 300.0)))
    assert "M24" in few and "No size and method has 30 timed holes." in few
