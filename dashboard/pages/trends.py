"""Weekly rates as small multiples: a panel a crew, a panel an anchor size."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from types import MappingProxyType

import duckdb
import polars as pl
from dash import html

from dashboard import words
from dashboard.address import View, format_search, records_href
from dashboard.compared import pooled
from dashboard.counter_headline import trend_counter
from dashboard.figures.trend import shared_top, week_panel
from dashboard.kept import read_kept_trends
from dashboard.pages.common import check_links, rate_columns
from dashboard.parts import (
    Column,
    behind,
    counter,
    graph,
    key,
    pager,
    section,
    table,
)
from queries.judgement import CHECK_NAMES
from queries.readers.rates import read_rates
from queries.readers.trainings import read_trainings
from queries.readers.trend import limits_of
from queries.selection import Selection

PANELS = 12


def crew_trends(
    con: duckdb.DuckDBPyConnection, view: View, shown: pl.DataFrame
) -> html.Section:
    """Return a panel a crew, `view.page` of them; `shown`: the crews of the grid."""
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
        counter(trend_counter(weeks, "crew", "Crew ")),
        _week_key("of the crew on this check"),
        _panels(
            weeks,
            crews,
            "crew",
            shown,
            view,
            prefix="Crew ",
            trained=_trained(con, view, tuple(crews["crew"])),
        ),
        pager(number, last_page, lambda page_number: _self(view, None, page_number)),
        _week_table(weeks, "crew", view),
    )


def _trained(
    con: duckdb.DuckDBPyConnection, view: View, crew_codes: tuple[str, ...]
) -> dict[str, list[date]]:
    """Return the days on which each crew was trained on the check shown."""
    found: dict[str, list[date]] = {}
    if view.check_name in CHECK_NAMES:
        one = Selection(crew_codes=crew_codes, check_names=(view.check_name,))
        for entry in read_trainings(con, one):
            found.setdefault(entry.crew_code, []).append(entry.trained_on)
    return found


def _trained_by_size(
    con: duckdb.DuckDBPyConnection, view: View
) -> dict[str, list[date]]:
    """Return the days on which a crew that sets a size was trained, by size."""
    trained = _trained(con, view, view.selection.crew_codes)
    if not trained:
        return {}
    by_both = read_rates(con, ["anchor_size", "crew"], view.one_check)
    found: dict[str, list[date]] = {}
    for size, crew in by_both.select("anchor_size", "crew").iter_rows():
        found.setdefault(size, []).extend(trained.get(crew, ()))
    return {size: sorted(set(days)) for size, days in found.items()}


def size_trends(con: duckdb.DuckDBPyConnection, view: View) -> html.Section:
    """Return a panel an anchor size, by diameter."""
    weeks = _weeks(con, "anchor_size", view.one_check)
    sizes = read_rates(con, ["anchor_size"], view.one_check)
    return section(
        f"{words.title(view.check_name)} by anchor size and ISO week",
        "Sizes by diameter, on one scale; the dashed line is the rate of all of them.",
        counter(trend_counter(weeks, "anchor_size")),
        _week_key("on this check, of a crew that sets this size"),
        _panels(
            weeks,
            sizes,
            "anchor_size",
            sizes,
            view,
            trained=_trained_by_size(con, view),
        ),
        _week_table(weeks, "anchor_size", view),
    )


def _self(view: View, check: str | None, page_number: int = 1) -> str:
    selection = (
        replace(view.selection, check_names=(check,)) if check else view.selection
    )
    return "/crews" + format_search(selection, page=page_number, budget=view.budget)


def _weeks(
    con: duckdb.DuckDBPyConnection, group: str, selection: Selection
) -> pl.DataFrame:
    """Return weekly rates and limits, with the address of each week's anchors."""
    weeks = read_rates(con, [group, "week"], selection)
    hrefs = [
        records_href(_only(selection, group, name, week))
        for name, week in weeks.select(group, "week").iter_rows()
    ]
    names = weeks[group].unique(maintain_order=True).to_list()
    (check_name,) = selection.check_names
    found = read_kept_trends(con, check_name, selection, group, names)
    return weeks.with_columns(pl.Series("href", hrefs, dtype=pl.String)).join(
        limits_of(group, found),
        on=[group, "week"],
        how="left",
        maintain_order="left",
    )


def _only(selection: Selection, group: str, name: str, week: str) -> Selection:
    """Return the selection of one group in one week."""
    monday, sunday = words.week_days(week)
    within = replace(selection, from_on=monday, to_on=sunday)
    if group == "crew":
        return replace(within, crew_codes=(name,))
    return replace(within, anchor_sizes=(name,))


def _week_key(whose: str) -> html.Ul:
    return key(
        ("dot", "a week's rate"),
        ("needle", "its 95 % interval"),
        ("few", "fewer than 10 judged"),
        (
            "above",
            "stands out, worse: its words are in the table and under the pointer",
        ),
        ("better", "stands out, better"),
        ("limit", "limits"),
        ("baseline", "weeks the limits come from"),
        ("trained", f"a registered training {whose}"),
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
    trained: Mapping[str, Sequence[date]] = MappingProxyType({}),
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
                            trained=trained.get(name, ()),
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
                Column(
                    "Limits",
                    lambda row: words.interval(row["lower"], row["upper"]),
                    is_number=True,
                ),
                Column(
                    "Stands out",
                    lambda row: words.signals(row["signals"] or []),
                    is_prose=True,
                ),
            ],
            caption=f"{what.capitalize()}, the newest {len(rows)} rows",
        ),
        f"/csv/{noun}-weeks" + format_search(view.one_check),
        what=what,
    )
