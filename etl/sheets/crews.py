"""Crews: a code, and a name for it that is a team's, never a person's."""

from etl.sheets.declaration import Sheet, SheetColumn
from etl.sheets.kinds import CODE, TEXT

SHEET = Sheet(
    name="crews",
    table="crew",
    content="crews",
    columns=(
        SheetColumn("crew_code", CODE),
        SheetColumn("crew_name", TEXT),
        # Blank: works on several sites.
        SheetColumn("site_code", CODE, may_be_blank=True),
        SheetColumn("employer", TEXT, may_be_blank=True),
    ),
    key=("crew_code",),
)
