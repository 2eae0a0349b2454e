"""Calibrations of torque wrenches: when, until when, over which torques, as found."""

from datetime import date

from etl.sheets.declaration import Row, Rule, Sheet, SheetColumn, in_order
from etl.sheets.kinds import (
    CODE,
    COUNT,
    DATE,
    TEXT,
    TORQUE_FROM_NM,
    TORQUE_NM,
    Value,
    choice,
)

# Practice by ISO 6789 where nothing else is set, from memory.
CYCLES = 5_000


def _a_year_later(row: Row) -> Value:
    """Return the day 12 months on; a 29 February ends with the next one's 28th."""
    day = row["calibrated_on"]
    if not isinstance(day, date):
        return None
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return day.replace(year=day.year + 1, day=28)


SHEET = Sheet(
    name="wrench_calibrations",
    table="wrench_calibration",
    content="wrench calibrations",
    columns=(
        SheetColumn("wrench_code", CODE, what="the wrench, as the logs name it"),
        SheetColumn("calibrated_on", DATE, what="the day of the calibration"),
        SheetColumn(
            "valid_to_on",
            DATE,
            may_be_blank=True,
            if_blank=_a_year_later,
            what="the last day on which it holds; blank: 12 months",
        ),
        SheetColumn(
            "valid_cycles",
            COUNT,
            may_be_blank=True,
            if_blank=lambda row: CYCLES,
            what="how many torques it holds for; blank: 5,000",
        ),
        SheetColumn(
            "range_low_nm", TORQUE_FROM_NM, what="the least torque that was calibrated"
        ),
        SheetColumn(
            "range_high_nm", TORQUE_NM, what="the largest torque that was calibrated"
        ),
        SheetColumn("certificate", TEXT, may_be_blank=True, what="its number"),
        SheetColumn(
            "as_found",
            choice(("in", "out")),
            may_be_blank=True,
            what="in or out of tolerance as the wrench came, before it was adjusted; "
            "blank: the certificate does not tell",
        ),
    ),
    key=("wrench_code", "calibrated_on"),
    judging_column="wrench_code",
    rules=(
        Rule(("calibrated_on", "valid_to_on"), in_order, "calibrated_on ≤ valid_to_on"),
        Rule(("range_low_nm", "range_high_nm"), in_order, "low ≤ high"),
    ),
)
