"""The pages, in the order of the navigation. Each has render(con, view, choices).

LATER: the parts that a page shows once they are weighed.
"""

from collections.abc import Callable, Mapping

import duckdb
from dash import html

from dashboard import later
from dashboard.address import View
from dashboard.pages import crews, drilling, intake, method, records, sites
from dashboard.pages.calibrated import calibration_of
from dashboard.pages.changed import changes_of
from dashboard.pages.crew_grid import crew_grid
from dashboard.pages.crossed import crossed_section
from dashboard.pages.doubted import doubted_section
from dashboard.pages.drilling import depths_part, per_hole_section
from dashboard.pages.follow_up import follow_up_section
from dashboard.pages.near_zero import near_zero_part
from dashboard.pages.retraining import (
    retraining_lead,
    retraining_section,
    trainings_section,
)
from dashboard.pages.revised import revised_of
from dashboard.pages.standing_out import standing_out_section
from dashboard.pages.unlogged import unlogged_section
from queries.readers.choices import Choices

Render = Callable[[duckdb.DuckDBPyConnection, View, Choices], html.Div]

PAGES: Mapping[str, tuple[str, Render]] = {
    "/sites": ("Sites", sites.render),
    "/crews": ("Crews", crews.render),
    "/drilling": ("Drilling", drilling.render),
    "/records": ("Records", records.render),
    "/intake": ("Intake", intake.render),
    "/method": ("Method", method.render),
}

LATER: Mapping[str, later.Render] = {
    "standing out": standing_out_section,
    "site mix": sites.site_mix_part,
    "crew mix": crews.crew_mix_part,
    "site changes": changes_of("site"),
    "crew changes": changes_of("crew"),
    "site revisions": revised_of("site"),
    "crew revisions": revised_of("crew"),
    "site calibration": calibration_of("site"),
    "crew calibration": calibration_of("crew"),
    "site plans": unlogged_section,
    "too good": sites.too_good_part,
    "near zero": near_zero_part,
    "lowest ratios": follow_up_section,
    "time per hole": per_hole_section,
    "drilling depths": depths_part,
    "crew grid": crew_grid,
    "crew trends": crews.crew_trends_part,
    "size trends": crews.size_trends_part,
    "retrain first": retraining_lead,
    "retraining": retraining_section,
    "trainings": trainings_section,
    "crossed crews": crossed_section,
    "records by ratio": records.ratio_section,
    "doubts": lambda con, view, _: doubted_section(con, view),
}
