"""How many of a comparison's flags chance alone would raise, on these very days."""

from functools import partial

import duckdb
from dash import html
from dash.development.base_component import Component

from dashboard.address import View
from dashboard.calibration_words import calibration_words
from dashboard.comparison_words import compares
from dashboard.kept import kept, read_kept_comparisons
from dashboard.later import Render
from queries.errors import FirmsetError
from queries.readers.choices import Choices
from queries.readers.comparison import read_calibration


def calibration_of(by: str) -> Render:
    """Return the render function of the sentence on sites or crews (`by`)."""
    return partial(_calibration, by)


def _calibration(
    by: str, con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> Component:
    """Return the sentence; a filter on sites (crews) does not change what it says."""
    whole = view.one_check.choosing(by, ())
    try:
        found = kept(
            con,
            (by, "calibration", whole),
            lambda: read_calibration(con, by, view.check_name, whole),
        )
    except FirmsetError:
        # Nothing is judged: the page says so.
        return html.P(className="says")
    [weighed] = read_kept_comparisons(con, by, [view.check_name], whole).values()
    if not compares(weighed):
        return html.P(className="says")
    flagged = int(weighed.flags["flagged"].sum())
    said = calibration_words(found, flagged, weighed.flags.height, by)
    return html.P(said, className="says")
