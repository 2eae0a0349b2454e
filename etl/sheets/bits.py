"""Drill bits: their nominal size, and the time they were in use."""

from etl.sheets.declaration import Rule, Sheet, SheetColumn, in_order
from etl.sheets.kinds import CODE, DATE, DIAMETER_MM

SHEET = Sheet(
    name="bits",
    table="bit",
    content="bits",
    columns=(
        SheetColumn("bit_code", CODE, what="the bit, as the logs name it"),
        SheetColumn("nominal_diameter_mm", DIAMETER_MM, what="its nominal diameter"),
        SheetColumn("first_used_on", DATE, may_be_blank=True, what="its first day"),
        SheetColumn("retired_on", DATE, may_be_blank=True, what="its last day"),
    ),
    key=("bit_code",),
    rules=(
        Rule(("first_used_on", "retired_on"), in_order, "first_used_on ≤ retired_on"),
    ),
)
