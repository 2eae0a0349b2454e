"""Sites: which site to ask, and on what."""

from collections.abc import Mapping
from dataclasses import replace

import duckdb
import polars as pl
from dash import html
from dash.development.base_component import Component

from dashboard import words
from dashboard.address import View, format_search, records_href
from dashboard.compared import add_flags, add_others, pooled
from dashboard.counter_headline import comparison_counter
from dashboard.figures.forest import forest
from dashboard.kept import read_kept_comparisons
from dashboard.later import later
from dashboard.pages.common import (
    ONLY_ABOVE,
    OUT_OF_LINE,
    check_links,
    rate_cell,
    rate_columns,
    site_names,
)
from dashboard.pages.compared_groups import compared_section
from dashboard.pages.found_out import found_out_lead
from dashboard.pages.near_zero import near_zero_part
from dashboard.pages.revised import mended_part
from dashboard.pages.sheets import sheet_column
from dashboard.pages.sites_lead import (
    show_what_stands_out,
    shown_check,
    sites_lead,
)
from dashboard.pages.unlogged import unlogged_part
from dashboard.parts import (
    Cell,
    Column,
    Row,
    at,
    behind,
    contents,
    counter,
    csv_link,
    graph,
    key,
    page,
    section,
    table,
)
from dashboard.unit_words import unit_lines
from queries.judgement import HEADLINE_NAMES, RATE_NAMES
from queries.readers.choices import Choices
from queries.readers.comparison import Compared

_CONTENTS = (
    ("stands-out", "What stands out"),
    ("comparison", "Site by site"),
    ("changed", "What changed since last month"),
    ("revised", "What revisions changed"),
    ("unlogged", "Planned holes without an anchor logged"),
    ("follow-up", "Anchors to look at first"),
    ("mix", "Each site for its own mix"),
    ("headline", "The four headline checks"),
)


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the page of one selection."""
    names = site_names(choices)
    scope = words.scope(view.selection, choices.first_on, choices.last_on, names)
    compared = read_kept_comparisons(
        con, "site", (*HEADLINE_NAMES, view.check_name), view.selection
    )
    view = show_what_stands_out(view, compared, names)
    rates = site_rates(view, choices, compared)
    if rates.is_empty():
        return page("Sites", words.NO_MATCH, scope)
    rates = add_flags(
        rates, "site", {name: each.flags for name, each in compared.items()}
    )
    shown = rates.filter(pl.col("check") == view.check_name)
    weighed = compared[view.check_name]
    is_chosen = bool(view.selection.check_names)
    too_good = later(con, "too good", view)
    lead: list[str | Component] = [
        *unit_lines(con, view.selection, names),
        *sites_lead(con, view, choices, rates, compared),
        *found_out_lead(con, view.selection, names),
    ]
    return page(
        "Sites",
        lead if is_chosen else [*lead, too_good],
        scope,
        contents(_CONTENTS),
        at("stands-out", later(con, "standing out", view)),
        at(
            "comparison",
            _comparison(
                shown,
                view,
                shown_check(view, compared),
                comparison_counter(
                    shown.to_dicts(), weighed.flags.to_dicts(), "site", names
                ),
            ),
        ),
        too_good if is_chosen else None,
        at("changed", later(con, "site changes", view)),
        at("revised", later(con, "site revisions", view)),
        at("unlogged", later(con, "site plans", view)),
        at("follow-up", later(con, "lowest ratios", view)),
        at("mix", later(con, "site mix", view)),
        later(con, "site calibration", view),
        at("headline", _headline(rates, view)),
    )


def site_mix_part(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return each site beside what the others would have made of its mix."""
    [weighed] = read_kept_comparisons(
        con, "site", [view.check_name], view.selection
    ).values()
    return compared_section(weighed, view, "site", site_names(choices))


def too_good_part(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Div:
    """Return what rates may look too good for.

    Records worth a look, revisions, and planned holes that no log shows.
    """
    parts = (near_zero_part, mended_part, unlogged_part)
    return html.Div([part(con, view, choices) for part in parts])


def site_rates(
    view: View, choices: Choices, compared: Mapping[str, Compared]
) -> pl.DataFrame:
    """Return the selected sites' rates, each beside all other sites.

    Of the check shown and of the headline four, which are `compared`.
    A filter on sites chooses what is shown; the others are always all others.
    Columns of read_rates, others_*, position, name and href. By site name.
    """
    on_page = (*HEADLINE_NAMES, view.check_name)
    checks = [name for name in RATE_NAMES if name in on_page]
    rates = add_others(pl.concat(compared[name].rates for name in checks), "site")
    chosen = view.selection.site_codes
    if chosen:
        rates = rates.filter(pl.col("site").is_in(list(chosen)))
    names = site_names(choices)
    hrefs = [
        records_href(replace(view.selection, site_codes=(site,), check_names=(check,)))
        for site, check in rates.select("site", "check").iter_rows()
    ]
    return rates.with_columns(
        pl.col("site").replace(names).alias("name"),
        pl.Series("href", hrefs, dtype=pl.String),
    ).sort(pl.col("name").str.to_lowercase(), maintain_order=True)


def _comparison(
    shown: pl.DataFrame, view: View, why: str, against: str | None
) -> html.Section:
    """Return the chart of one check; `why` it is shown, `against` the naive reading."""
    check = words.title(view.check_name)
    says = (
        f"{check}: each site's non-conformance rate with its 95 % interval, beside "
        "the rate of all other sites together, and the range the rate could have if "
        "the missing answers were known."
    )
    what = f"{check.lower()} by site"
    return section(
        f"{check}, site by site",
        f"{why} In order of name. Choose a point, or a count in the "
        "table, for the anchors behind it.".strip(),
        check_links(
            view.check_name,
            lambda name: (
                "/sites" + format_search(replace(view.selection, check_names=(name,)))
            ),
        ),
        counter(against),
        key(
            ("interval", "rate and 95 % interval; 12/286 is nonconforming/judged"),
            ("above", "out of line for its own mix"),
            ("higher", "only its interval wholly above the others"),
            ("below", "wholly below"),
            ("others-tick", "rate of all other sites together"),
            ("truth", "range of truth: from all missing answers conforming to none"),
        ),
        graph(
            forest(shown, label="name", link="href"), name="site-comparison", says=says
        ),
        behind(
            table(
                shown.to_dicts(),
                [
                    Column("Site", lambda row: row["name"]),
                    *rate_columns(),
                    Column("The others", _others, is_number=True),
                ],
                caption=f"{check} by site",
            ),
            "/csv/sites" + format_search(view.one_check),
            what=what,
        ),
    )


def _others(row: Row) -> str:
    return words.percent(row["others_rate"])


def _headline(rates: pl.DataFrame, view: View) -> html.Section:
    by_site: dict[str, Row] = {"": {"name": "All shown", "site": ""}}
    for row in pooled(rates).iter_rows(named=True):
        href = records_href(replace(view.selection, check_names=(row["check"],)))
        by_site[""][row["check"]] = row | {"position": None, "href": href}
    for row in rates.iter_rows(named=True):
        named = {"name": row["name"], "site": row["site"]}
        by_site.setdefault(row["site"], named)[row["check"]] = row

    def column(check: str) -> Column:
        return Column(
            words.title(check), lambda row: rate_cell(row.get(check)), is_number=True
        )

    sheet = sheet_column("site", view.selection)

    def on_paper(row: Row) -> Cell | str:
        return sheet.cell(row) if row["site"] else ""

    return section(
        "The four headline checks",
        "Non-conformance rate with nonconforming/judged under it. "
        f"{OUT_OF_LINE} out of line for its own mix of work; {ONLY_ABOVE} only the "
        "interval lies above the rate of the other sites.",
        table(
            list(by_site.values()),
            [
                Column("Site", lambda row: row["name"]),
                *map(column, HEADLINE_NAMES),
                Column(sheet.head, on_paper),
            ],
            caption="Headline checks by site",
            look="turned",
        ),
        csv_link(
            "/csv/sites" + format_search(replace(view.selection, check_names=())),
            "all checks by site",
        ),
    )
