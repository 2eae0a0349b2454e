"""Inspectors: pseudonyms of those who look at anchors, and whose they are."""

from etl.sheets.declaration import Sheet, SheetColumn
from etl.sheets.kinds import CODE, TEXT

SHEET = Sheet(
    name="inspectors",
    table="inspector",
    content="inspectors",
    columns=(
        SheetColumn(
            "inspector_code",
            CODE,
            what="the inspector, as the logs name them; a pseudonym",
        ),
        SheetColumn(
            "site_code",
            CODE,
            may_be_blank=True,
            what="the one site they inspect; blank: several",
        ),
        SheetColumn("employer", TEXT, may_be_blank=True, what="for whom they inspect"),
    ),
    key=("inspector_code",),
)
