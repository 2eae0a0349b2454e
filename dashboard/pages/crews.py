"""Crews: which crew drifts on which step, and since when."""

from dataclasses import replace

import duckdb
import polars as pl
from dash import html
from dash.development.base_component import Component

from dashboard import sentences, words
from dashboard.address import View, records_href
from dashboard.compared import add_others
from dashboard.comparison_words import found_words
from dashboard.counter_headline import comparison_counter
from dashboard.in_common import in_common_words
from dashboard.kept import read_kept_comparisons
from dashboard.later import later
from dashboard.pages.common import site_names
from dashboard.pages.compared_groups import compared_section
from dashboard.pages.found_out import found_out_lead
from dashboard.pages.trends import crew_trends, size_trends
from dashboard.parts import at, contents, page
from dashboard.unit_words import unit_lines
from queries.judgement import RATE_NAMES
from queries.readers.choices import Choices
from queries.readers.comparison import Compared
from queries.readers.rates import read_rates
from queries.readers.trainings import read_trainings

_CONTENTS = (
    ("retraining", "Whom to retrain on what, first"),
    ("trainings", "Whether training helped"),
    ("grid", "Every crew on every check"),
    ("crew-trends", "Crews week by week"),
    ("size-trends", "Sizes week by week"),
    ("changed", "What changed since last month"),
    ("revised", "What revisions changed"),
    ("mix", "Each crew for its own mix"),
    ("inspectors", "A crew, or its inspector?"),
    ("doubts", "Records worth a look"),
)


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the page of one selection."""
    names = site_names(choices)
    weighed = _compared_crews(con, view)
    shown = crew_rates(view, weighed.rates)
    said: list[str | Component] = [
        *sentences.compare_groups(
            shown,
            label="crew",
            group="crew",
            weighed=found_words(weighed, "crew"),
        )
    ]
    common = ""
    if view.selection.site_codes and shown["judged"].sum():
        places = words.and_list([names[code] for code in view.selection.site_codes])
        said.append(f"Compared are the crews at {places}, by what they did there only.")
        common = in_common_words(con, view.selection, names)
    said += _trained(con, view, weighed, choices)
    said.append(later(con, "near zero", view))
    # Who has chosen a check asks about that one; the list is over all of them.
    if not view.selection.check_names and shown["judged"].sum():
        said = [later(con, "retrain first", view), *said]
    else:
        said = [
            *unit_lines(con, view.selection, names),
            *said,
            *found_out_lead(con, view.selection, names),
        ]
    return page(
        "Crews",
        [common, *said] if common else said,
        words.scope(view.selection, choices.first_on, choices.last_on, names),
        contents(_CONTENTS),
        at("retraining", later(con, "retraining", view)),
        at("trainings", later(con, "trainings", view)),
        at("grid", later(con, "crew grid", view)),
        # Drawing two dozen panels takes longer than all that is counted above.
        at("crew-trends", later(con, "crew trends", view)),
        at("size-trends", later(con, "size trends", view)),
        at("changed", later(con, "crew changes", view)),
        at("revised", later(con, "crew revisions", view)),
        at("mix", later(con, "crew mix", view)),
        later(con, "crew calibration", view),
        at("inspectors", later(con, "crossed crews", view)),
        at("doubts", later(con, "doubts", view)),
    )


def _trained(
    con: duckdb.DuckDBPyConnection, view: View, weighed: Compared, choices: Choices
) -> list[str]:
    """Say which crews out of line were trained on the check meanwhile.

    With days of theirs before it and from it on: after the first, up to the last.
    """
    flags = weighed.flags
    flagged = flags.filter(flags["flagged"])["group"].to_list()
    if not flagged:
        return []
    asked = replace(
        view.selection, crew_codes=tuple(flagged), check_names=(view.check_name,)
    )
    first_on = view.selection.from_on or choices.first_on
    last_on = view.selection.to_on or choices.last_on
    trainings = [
        each
        for each in read_trainings(con, asked)
        if first_on and last_on and first_on < each.trained_on <= last_on
    ]
    if not trainings:
        return []
    told = [
        f"crew {each.crew_code} on {words.day(each.trained_on)}" for each in trainings
    ]
    said = (
        f"Trained on {words.title(view.check_name).lower()} meanwhile: "
        f"{words.and_list(told)}. These days hold what was before and after; see "
        "“Whether training helped”."
    )
    return [said]


def crew_trends_part(
    con: duckdb.DuckDBPyConnection, view: View, _: Choices
) -> html.Section:
    """Return a panel a crew over time."""
    return crew_trends(con, view, crew_rates(view, _compared_crews(con, view).rates))


def size_trends_part(
    con: duckdb.DuckDBPyConnection, view: View, _: Choices
) -> html.Section:
    """Return a panel an anchor size over time."""
    return size_trends(con, view)


def crew_mix_part(
    con: duckdb.DuckDBPyConnection, view: View, _: Choices
) -> html.Section:
    """Return each crew beside what the others would have made of its mix."""
    weighed = _compared_crews(con, view)
    shown = crew_rates(view, weighed.rates)
    against = comparison_counter(shown.to_dicts(), weighed.groups.to_dicts(), "crew")
    return compared_section(weighed, view, "crew", against=against)


def _compared_crews(con: duckdb.DuckDBPyConnection, view: View) -> Compared:
    """Return the comparison on the check shown."""
    [weighed] = read_kept_comparisons(
        con, "crew", [view.check_name], view.selection
    ).values()
    return weighed


def read_crew_rates(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    """Return crew_rates of all checks."""
    all_crews = replace(view.selection, crew_codes=(), check_names=RATE_NAMES)
    return crew_rates(view, read_rates(con, ["crew"], all_crews))


def crew_rates(view: View, rates: pl.DataFrame) -> pl.DataFrame:
    """Return the selected crews' rates, each beside all other crews.

    `rates`: read_rates of all crews, on some checks. Columns of it, others_*, position
    and href.
    """
    rates = add_others(rates, "crew")
    chosen = view.selection.crew_codes
    if chosen:
        rates = rates.filter(pl.col("crew").is_in(list(chosen)))
    hrefs = [
        records_href(replace(view.selection, crew_codes=(crew,), check_names=(check,)))
        for crew, check in rates.select("crew", "check").iter_rows()
    ]
    return rates.with_columns(pl.Series("href", hrefs, dtype=pl.String))
