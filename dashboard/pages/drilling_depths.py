"""Drilling, seconds and lost holes against depth: a panel a size, and its table."""

from collections.abc import Mapping

import polars as pl
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.figures.drilling import (
    depth_ranges,
    drilling_panel,
    shared_log_s,
    shared_lost_top,
)
from dashboard.pages.common import count_column
from dashboard.parts import Column, Row, behind, counter, graph, key, section, table
from dashboard.units import unit_shown
from queries.readers.drilling_support import FEWEST, NOT_RECORDED, Bands
from queries.statistics.drilling_effects import Band

MARKS = {"hammer": "hammer", "hollow_bit": "hollow", "core": "core"}


def depths_section(
    depths: pl.DataFrame,
    bands: Bands,
    view: View,
    *,
    has_model: bool,
    against: str | None,
) -> html.Section:
    """Return a panel a size of `depths` (`life_table.add_lost`), with the model.

    `against`: what the naive reading of it would hide, if anything.
    """
    depth_mm, log_s = depth_ranges(depths), shared_log_s(depths)
    lost_top = shared_lost_top(depths)
    panels, empty = [], []
    for size in depths["anchor_size"].unique(maintain_order=True):
        here = depths.filter(pl.col("anchor_size") == size)
        if not words.total(here, "timed_holes") and not words.total(here, "abandoned"):
            empty.append(size)
            continue
        timed = words.plural(words.total(here, "timed_holes"), "timed attempt")
        holes = f"{timed} with a depth"
        found = {method: one for (sized, method), one in bands.items() if sized == size}
        panels.append(
            html.Div(
                [
                    html.H3([f"{size} ", html.Small(holes)]),
                    graph(
                        drilling_panel(
                            here,
                            depth_mm=depth_mm[size],
                            log_s=log_s,
                            lost_top=lost_top,
                            bands=found,
                        ),
                        name=f"drilling-{size}",
                        says=f"{size}: drilling seconds, and the share of holes "
                        f"lost, by depth drilled; {holes}.",
                    ),
                    _without_line(here, found, has_model=has_model),
                ],
                className="panel",
            )
        )
    what = "drilling by size, method and depth"
    return section(
        "Seconds against depth, and holes lost on the way",
        f"Steps of {words.quantity(10, 'mm')} of the depth drilled. Above: the median, "
        "and the band that holds the middle 80 of 100 attempts. Open marks are steps "
        "of fewer than 10 timed attempts, or of which over a quarter were abandoned: "
        "partly the time to give up, not to finish. Below: the share of holes lost to "
        "abandonment by that depth, among the attempts that got so deep. The thin "
        "lines are the model's: the median, and P10 and P90, of a completed hole on a "
        "new site. One scale, each panel at its own depths; what was given up before "
        "is in the table. Counted here: timed attempts with a depth; the table above "
        "counts every attempt.",
        key(
            *(
                (mark, words.method(name))
                for name, mark in MARKS.items()
                if name in depths["drill_method"]
            ),
            ("few", "few, or often abandoned"),
            ("model", "model, new site: median, P10 and P90"),
        )
        if panels
        else None,
        counter(against),
        html.Div(panels, className="multiples wide"),
        _without_panel(empty, any_shown=bool(panels)),
        behind(
            table(depths.to_dicts(), _depth_columns(), caption=what.capitalize()),
            "/csv/drilling-depths" + format_search(view.selection),
            what=what,
        ),
    )


def _without_panel(empty: list[str], *, any_shown: bool) -> html.P | None:
    """Say of which sizes nothing can be drawn."""
    if empty:
        sizes = words.and_list(empty)
        said = f"{sizes}: no attempt with a depth was timed, and none was given up."
        return html.P(said, className="says")
    return None if any_shown else html.P("No hole with a depth matches.")


def _without_line(
    here: pl.DataFrame, found: Mapping[str, Band], *, has_model: bool
) -> html.P | None:
    """Say for which methods of a size the model draws no line, and why."""
    without = [
        "an unrecorded method" if name == NOT_RECORDED else words.method(name)
        for name in here.filter(pl.col("timed_holes") > 0)["drill_method"].unique(
            maintain_order=True
        )
        if name not in found
    ]
    if not without:
        return None
    why = (
        f"thin: fewer than 2 steps of {words.quantity(5, 'mm')} hold {FEWEST} timed "
        "holes"
        if has_model
        else "no model, see below"
    )
    return html.P(
        f"No model line for {words.and_list(without)} ({why}).", className="says note"
    )


def _depth_columns() -> list[Column]:
    def seconds(head: str, name: str) -> Column:
        return Column(head, lambda row: words.number(row[name]), is_number=True)

    def step(row: Row) -> str:
        ends = [
            words.number(row[name], 0, unit="mm")
            for name in ("depth_from_mm", "depth_to_mm")
        ]
        return words.DASH.join(ends)

    return [
        Column("Size", lambda row: row["anchor_size"]),
        Column("Method", lambda row: words.method(row["drill_method"])),
        Column(f"Depth drilled, {unit_shown('mm')}", step, is_number=True),
        seconds("P10, s", "p10_s"),
        seconds("P50, s", "p50_s"),
        seconds("P90, s", "p90_s"),
        count_column("Timed", "timed_holes"),
        count_column("Attempts", "attempts"),
        count_column("Abandoned", "abandoned"),
        count_column("Got so deep", "reached"),
        Column(
            "Lost by then", lambda row: words.percent(row["lost_share"]), is_number=True
        ),
    ]
