"""Crews: which crew drifts on which step, and since when."""

from dataclasses import replace

import duckdb
import polars as pl
from dash import html

from dashboard import sentences, words
from dashboard.address import View, format_search, records_href
from dashboard.compared import add_others, pooled
from dashboard.figures.trend import shared_top, week_panel
from dashboard.pages.common import check_links, rate_cell, rate_columns, site_names
from dashboard.parts import (
    Cell,
    Column,
    Row,
    behind,
    csv_link,
    graph,
    key,
    page,
    pager,
    section,
    table,
)
from queries.judgement import CHECK_NAMES
from queries.readers.choices import Choices
from queries.readers.rates import read_rates
from queries.selection import Selection

PANELS = 12
LONGEST_GRID = 100


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the page of one selection."""
    rates = read_crew_rates(con, view)
    shown = rates.filter(pl.col("check") == view.check_name)
    return page(
        "Crews",
        sentences.compare_groups(shown, label="crew", group="crew"),
        words.scope(
            view.selection, choices.first_on, choices.last_on, site_names(choices)
        ),
        _grid(rates, view),
        _crew_trends(con, view, shown),
        _size_trends(con, view, shown),
    )


def read_crew_rates(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    """Return the selected crews' rates of all checks, each beside all other crews."""
    all_crews = replace(view.selection, crew_codes=(), check_names=())
    rates = add_others(read_rates(con, ["crew"], all_crews), "crew")
    chosen = view.selection.crew_codes
    if chosen:
        rates = rates.filter(pl.col("crew").is_in(list(chosen)))
    hrefs = [
        records_href(replace(view.selection, crew_codes=(crew,), check_names=(check,)))
        for crew, check in rates.select("crew", "check").iter_rows()
    ]
    return rates.with_columns(pl.Series("href", hrefs, dtype=pl.String))


def _grid(rates: pl.DataFrame, view: View) -> html.Section:
    by_crew: dict[str, Row] = {}
    for row in rates.iter_rows(named=True):
        by_crew.setdefault(row["crew"], {"crew": row["crew"]})[row["check"]] = row

    def column(check: str) -> Column:
        def cell(row: Row) -> Cell:
            return rate_cell(row.get(check), look=_tint(row.get(check)))

        return Column(words.title(check), cell, is_number=True)

    crews = list(by_crew.values())
    left_out = len(crews) - LONGEST_GRID
    return section(
        "Every crew on every check",
        "Non-conformance rate with nonconforming/judged beside it, by crew code. "
        "\N{BLACK UP-POINTING TRIANGLE} marks an interval wholly above the rate of "
        "the other crews. Choose a cell for its anchors."
        + (
            f" The first {LONGEST_GRID} crews are shown; the filters reach the "
            f"other {left_out}."
            if left_out > 0
            else ""
        ),
        table(
            crews[:LONGEST_GRID],
            [Column("Crew", lambda row: row["crew"]), *map(column, CHECK_NAMES)],
            caption="Crews by check",
            look="tall compact",
        ),
        csv_link(
            "/csv/crews" + format_search(replace(view.selection, check_names=())),
            "all checks by crew",
        ),
    )


def _tint(row: Row | None) -> str:
    """The depth of a cell's colour says again what its number says."""
    if row is None or not row["judged"]:
        return "tint-none"
    steps = (0.03, 0.06, 0.12)
    return f"tint-{sum(row['rate'] >= step for step in steps)}"


def _crew_trends(
    con: duckdb.DuckDBPyConnection, view: View, shown: pl.DataFrame
) -> html.Section:
    ranked = shown.filter(pl.col("judged") > 0).sort(
        "low", "nonconforming", "crew", descending=[True, True, False]
    )
    last_page = max(1, -(-ranked.height // PANELS))
    number = min(view.page, last_page)
    crews = ranked.slice((number - 1) * PANELS, PANELS)
    weeks = _weeks(
        con, "crew", replace(view.one_check, crew_codes=tuple(crews["crew"]))
    )
    return section(
        f"{words.title(view.check_name)} by crew and ISO week",
        "The crews whose interval over the whole period starts highest come first, "
        "so that luck with few anchors puts no crew in front. One scale for all "
        "panels; the dashed line is the rate of all crews shown in the grid.",
        check_links(view.check_name, lambda name: _self(view, name)),
        _week_key(),
        _panels(weeks, crews, "crew", shown, view, prefix="Crew "),
        pager(number, last_page, lambda page_number: _self(view, None, page_number)),
        _week_table(weeks, "crew", view),
    )


def _size_trends(
    con: duckdb.DuckDBPyConnection, view: View, shown: pl.DataFrame
) -> html.Section:
    weeks = _weeks(con, "anchor_size", view.one_check)
    sizes = read_rates(con, ["anchor_size"], view.one_check)
    return section(
        f"{words.title(view.check_name)} by anchor size and ISO week",
        "Sizes by diameter, on one scale; the dashed line is the rate of all of them.",
        _panels(weeks, sizes, "anchor_size", sizes, view),
        _week_table(weeks, "anchor_size", view),
    )


def _self(view: View, check: str | None, page_number: int = 1) -> str:
    selection = (
        replace(view.selection, check_names=(check,)) if check else view.selection
    )
    return "/crews" + format_search(selection, page=page_number)


def _weeks(
    con: duckdb.DuckDBPyConnection, group: str, selection: Selection
) -> pl.DataFrame:
    """Return weekly rates of a group, with the address of each week's anchors."""
    weeks = read_rates(con, [group, "week"], selection)
    hrefs = [
        records_href(_only(selection, group, name, week))
        for name, week in weeks.select(group, "week").iter_rows()
    ]
    return weeks.with_columns(pl.Series("href", hrefs, dtype=pl.String))


def _only(selection: Selection, group: str, name: str, week: str) -> Selection:
    """Return the selection of one group in one week."""
    monday, sunday = words.week_days(week)
    within = replace(selection, from_on=monday, to_on=sunday)
    if group == "crew":
        return replace(within, crew_codes=(name,))
    return replace(within, anchor_sizes=(name,))


def _week_key() -> html.Ul:
    return key(
        ("dot", "a week's rate"),
        ("needle", "its 95 % interval"),
        ("few", "fewer than 10 judged"),
        ("beyond", "beyond the scale"),
        ("others", "all together"),
    )


def _panels(
    weeks: pl.DataFrame,
    groups: pl.DataFrame,
    group: str,
    everyone: pl.DataFrame,
    view: View,
    prefix: str = "",
) -> html.Div:
    top = shared_top(weeks)
    total = pooled(everyone)
    overall = total["rate"][0] if len(total) else None
    panels = []
    for row in groups.iter_rows(named=True):
        name = row[group]
        fact = (
            f"{words.percent(row['rate'])} "
            f"({words.share(row['nonconforming'], row['judged'])})"
        )
        panels.append(
            html.Div(
                [
                    html.H3([f"{prefix}{name} ", html.Small(fact)]),
                    graph(
                        week_panel(
                            weeks.filter(pl.col(group) == name),
                            top=top,
                            overall=overall,
                            link="href",
                        ),
                        name=f"{group}-{name}",
                        says=f"{words.title(view.check_name)}, {prefix}{name}, by ISO "
                        f"week: {fact} over the whole period.",
                    ),
                ],
                className="panel",
            )
        )
    return html.Div(panels or "Nothing to judge.", className="multiples")


def _week_table(weeks: pl.DataFrame, group: str, view: View) -> html.Div:
    active = weeks.filter(pl.col("installations") > 0)
    # The page shows the newest weeks; the file has them all.
    newest = active.sort("week", descending=True, maintain_order=True).head(200)
    noun = "crew" if group == "crew" else "size"
    what = f"{words.title(view.check_name).lower()} by {noun} and week"
    rows = newest.to_dicts()
    return behind(
        table(
            rows,
            [
                Column(noun.capitalize(), lambda row: row[group]),
                Column("Week", lambda row: row["week"]),
                *rate_columns(),
            ],
            caption=f"{what.capitalize()}, the newest {len(rows)} rows",
        ),
        f"/csv/{noun}-weeks" + format_search(view.one_check),
        what=what,
    )
