"""Holes that are planned: how many, of which setting data, from when to when."""

from etl.sheets.declaration import Rule, Sheet, SheetColumn, in_order
from etl.sheets.kinds import CODE, COUNT, DATE, choice
from queries.columns import COLUMN_BY_NAME

SHEET = Sheet(
    name="planned_holes",
    table="planned_hole",
    content="planned holes",
    columns=(
        SheetColumn("site_code", CODE, what="the site"),
        SheetColumn(
            "crew_code",
            CODE,
            may_be_blank=True,
            what="the crew; blank: not yet given to one",
        ),
        SheetColumn(
            "setting_code", CODE, what="the row of the setting data that is to be set"
        ),
        SheetColumn("planned_from_on", DATE, what="the first day of the work"),
        SheetColumn("planned_to_on", DATE, what="its last day"),
        SheetColumn("hole_count", COUNT, what="how many holes"),
        SheetColumn(
            "drill_method",
            choice(COLUMN_BY_NAME["drill_method"].choices),
            may_be_blank=True,
            what="how they will be drilled, where known",
        ),
        SheetColumn(
            "orientation",
            choice(COLUMN_BY_NAME["orientation"].choices),
            may_be_blank=True,
            what="where they will be drilled, where known",
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
