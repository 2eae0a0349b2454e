"""The twin's torque tool: calibration on the day, range, uses counted one by one."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from fractions import Fraction

from tests.queries.checks.twin_values import Judged, Row, known


def a_year_after(day: date) -> date:
    """Twelve months on; 29 February ends on the 28th."""
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return day.replace(year=day.year + 1, day=28)


def torque_tool(
    rows: Iterable[Row], needs: Mapping[str, Row], calibrations: Iterable[Row]
) -> dict[str, Judged]:
    """Judge the wrench of every row; uses are the torques logged since calibration."""
    by_wrench = defaultdict(list)
    for record in calibrations:
        by_wrench[record["wrench_code"]].append(record)
    uses: dict[tuple[str, date], int] = defaultdict(int)
    verdicts: dict[str, Judged] = {}
    for row in sorted(rows, key=lambda row: (row["installed_on"], row["record_id"])):
        verdicts[row["record_id"]] = _tool(
            row, needs[row["setting_code"]], by_wrench[row["wrench_code"]], uses
        )
    return verdicts


def _tool(
    row: Row,
    need: Row,
    calibrations: list[Row],
    uses: dict[tuple[str, date], int],
) -> Judged:
    day = row["installed_on"]
    held = [record for record in calibrations if record["calibrated_on"] <= day]
    if row["wrench_code"] is None or not held:
        return "unrecorded", None, None
    record = max(held, key=lambda record: record["calibrated_on"])
    key = (row["wrench_code"], record["calibrated_on"])
    uses[key] += known(row["setting_torque_nm"]) is not None
    until = record["valid_to_on"] or a_year_after(record["calibrated_on"])
    left = Fraction((until - day).days)
    low, high = record["range_low_nm"], record["range_high_nm"]
    target = need["setting_torque_nm"]
    if left < 0:
        return "nonconforming", left, "expired"
    if not low <= target <= high:
        return "nonconforming", None, "out of range"
    if uses[key] > (record["valid_cycles"] or 5000):
        return "nonconforming", None, "too many uses"
    return "conforming", left, None
