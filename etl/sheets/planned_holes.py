"""Holes that are planned: how many, of which setting data, from when to when."""

from etl.sheets.declaration import Rule, Sheet, SheetColumn, in_order
from etl.sheets.kinds import CODE, COUNT, DATE, choice
from queries.columns import COLUMN_BY_NAME

SHEET = Sheet(
    name="planned_holes",
    table="planned_hole",
    content="planned holes",
    columns=(
        SheetColumn("site_code", CODE),
        # Blank: not yet given to a crew. So are method and orientation.
        SheetColumn("crew_code", CODE, may_be_blank=True),
        SheetColumn("setting_code", CODE),
        SheetColumn("planned_from_on", DATE),
        SheetColumn("planned_to_on", DATE),
        SheetColumn("hole_count", COUNT),
        SheetColumn(
            "drill_method",
            choice(COLUMN_BY_NAME["drill_method"].choices),
            may_be_blank=True,
        ),
        SheetColumn(
            "orientation",
            choice(COLUMN_BY_NAME["orientation"].choices),
            may_be_blank=True,
        ),
    ),
    key=(
        "site_code",
        "crew_code",
        "setting_code",
        "planned_from_on",
        "planned_to_on",
        "drill_method",
        "orientation",
    ),
    rules=(
        Rule(
            ("planned_from_on", "planned_to_on"),
            in_order,
            "planned_from_on ≤ planned_to_on",
        ),
    ),
    known_in={"setting_code": "setting_data"},
)
