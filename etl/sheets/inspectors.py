"""Inspectors: pseudonyms of those who look at anchors, and whose they are."""

from etl.sheets.declaration import Sheet, SheetColumn
from etl.sheets.kinds import CODE, TEXT

SHEET = Sheet(
    name="inspectors",
    table="inspector",
    content="inspectors",
    columns=(
        SheetColumn("inspector_code", CODE),
        # Blank: works on several sites.
        SheetColumn("site_code", CODE, may_be_blank=True),
        SheetColumn("employer", TEXT, may_be_blank=True),
    ),
    key=("inspector_code",),
)
