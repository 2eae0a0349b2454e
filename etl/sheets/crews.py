"""Crews: a code, and a name for it that is a team's, never a person's."""

from etl.sheets.declaration import Sheet, SheetColumn
from etl.sheets.kinds import CODE, TEXT

SHEET = Sheet(
    name="crews",
    table="crew",
    content="crews",
    columns=(
        SheetColumn(
            "crew_code", CODE, what="the crew, as the logs name it; a pseudonym"
        ),
        SheetColumn("crew_name", TEXT, what="a team's name, not a person's"),
        SheetColumn(
            "site_code",
            CODE,
            may_be_blank=True,
            what="the one site it works on; blank: several",
        ),
        SheetColumn("employer", TEXT, may_be_blank=True, what="whose crew it is"),
    ),
    key=("crew_code",),
)
