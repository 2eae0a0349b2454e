"""The sentence on top of Sites: of the check chosen, else of all that matter."""

from collections.abc import Mapping
from dataclasses import replace

import duckdb
import polars as pl

from dashboard import sentences, words
from dashboard.address import View
from dashboard.comparison_words import CAUTION, found_words
from dashboard.headline_words import headline_lead, quiet_words, standing_out
from dashboard.kept import read_kept_quiet
from dashboard.pages.common import site_names
from dashboard.sheets.figures import counted_words, read_figures
from dashboard.sheets.site import site_lead
from queries.judgement import HEADLINE_NAMES
from queries.readers.choices import Choices
from queries.readers.comparison import Compared
from queries.selection import Selection


def sites_lead(
    con: duckdb.DuckDBPyConnection,
    view: View,
    choices: Choices,
    rates: pl.DataFrame,
    compared: Mapping[str, Compared],
) -> list[str]:
    """Return what Sites answers, a line each, the one to act on first.

    `rates`: site_rates; `compared`: read_kept_comparisons of the headline checks
    and the one shown. With a check chosen it answers on that check; without one on the
    headline checks, or for one site, or the only one, on every check, as its sheet.
    """
    names = site_names(choices)
    if view.selection.check_names:
        return sentences.compare_groups(
            rates.filter(pl.col("check") == view.check_name),
            label="name",
            group="site",
            weighed=found_words(compared[view.check_name], "site", names),
        )
    shown = view.selection.site_codes or tuple(code for code, _ in choices.sites)
    if len(shown) == 1:
        return _one_site(con, replace(view.selection, site_codes=shown), names)
    return headline_lead(
        rates.filter(pl.col("check").is_in(HEADLINE_NAMES)),
        {name: compared[name] for name in HEADLINE_NAMES},
        names,
        read_kept_quiet(con, view.selection),
    )


def _one_site(
    con: duckdb.DuckDBPyConnection, selection: Selection, names: dict[str, str]
) -> list[str]:
    (code,) = selection.site_codes
    figures, any_check = read_figures(con, "site", code, selection)
    said = [
        site_lead(names.get(code, code), figures),
        CAUTION if any(each.is_flagged for each in figures) else "",
        counted_words(any_check),
        quiet_words(read_kept_quiet(con, selection), names),
    ]
    return [part for part in said if part]


def show_what_stands_out(
    view: View, compared: Mapping[str, Compared], names: Mapping[str, str]
) -> View:
    """Return the view with the check that stands out, where none is chosen."""
    found = standing_out(compared, names)
    return replace(view, default_check=found[0]["check"]) if found else view


def shown_check(view: View, compared: Mapping[str, Compared]) -> str:
    """Say which check a chart shows where none was chosen; empty where one was."""
    if view.selection.check_names:
        return ""
    flagged = compared[view.check_name].flags["flagged"].any()
    why = ", on which a site is furthest out of line" if flagged else ""
    return f"No check is chosen: shown is {words.title(view.check_name).lower()}{why}."
