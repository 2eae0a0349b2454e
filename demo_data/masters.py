"""Master data of the demo: crews, trainings, wrenches, plans and inspectors.

Invented like everything here. Trainings are those of the planted stories; wrench,
crew and inspector codes are the generator's.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from demo_data.planned import planned_holes
from demo_data.sites import FIRST_ON, LAST_ON, SITES
from demo_data.stories import (
    CALIBRATED_EVERY,
    CALIBRATED_ON,
    EXPIRED_WRENCH,
    FOUND_OUT_ON,
    FOUND_OUT_WRENCH,
    SMALL_WRENCH,
    SMALL_WRENCH_NM,
    STORIES,
)
from demo_data.torque import wrench_codes

EMPLOYERS = ("Invented Fixings", "Sample Interiors", "Pattern Mechanical")
WRENCH_RANGE_NM = (5.0, 400.0)


def write_masters(installations: pl.DataFrame, folder: Path) -> None:
    """Write the demo's sheets of master data into a folder.

    `installations` are the generator's. Files: crews.csv, trainings.csv,
    wrench_calibrations.csv, planned_holes.csv, inspectors.csv.
    """
    crews().write_csv(folder / "crews.csv")
    trainings().write_csv(folder / "trainings.csv")
    wrench_calibrations().write_csv(folder / "wrench_calibrations.csv")
    planned_holes(installations).write_csv(folder / "planned_holes.csv")
    inspectors().write_csv(folder / "inspectors.csv")


def crews() -> pl.DataFrame:
    """Return a row a crew; each works on one site."""
    return pl.DataFrame(
        [
            {
                "crew_code": code,
                "crew_name": f"Team {code.removeprefix('C')}",
                "site_code": site.code,
                "employer": EMPLOYERS[number % len(EMPLOYERS)],
            }
            for site in SITES
            for number, code in enumerate(site.crew_codes)
        ]
    )


def trainings() -> pl.DataFrame:
    """Return the trainings that were planted: a story of one begins on its day.

    Registered at noon of the day after, as a trainer would.
    """
    return pl.DataFrame(
        [
            {
                "crew_code": fact.crew_code,
                "topic": fact.check_name,
                "trained_on": fact.from_on,
                "registered_at": f"{fact.from_on + timedelta(days=1)}T12:00Z",
                "trainer_code": "T01",
                "note": "invented",
            }
            for fact in STORIES
            if fact.kind.startswith("training_") and fact.from_on > FIRST_ON
        ]
    )


def wrench_calibrations() -> pl.DataFrame:
    """Return the calibrations of every wrench, valid on each day of the demo.

    But for the two wrenches of the planted stories: one is not calibrated again, one
    does not reach the torques it is used for. A third is found out of tolerance.
    """
    low, high = WRENCH_RANGE_NM
    return pl.DataFrame(
        [
            {
                "wrench_code": code,
                "calibrated_on": day,
                "range_low_nm": low,
                "range_high_nm": SMALL_WRENCH_NM if code == SMALL_WRENCH else high,
                "certificate": f"invented {code} {day:%Y}",
                "as_found": _as_found(code, day),
            }
            for site in SITES
            for crew in site.crew_codes
            for code in wrench_codes(crew)
            for day in _calibrated_on(code)
        ]
    )


def _calibrated_on(code: str) -> Iterator[date]:
    day = CALIBRATED_ON
    while day <= LAST_ON:
        yield day
        if code == EXPIRED_WRENCH:
            return
        day += CALIBRATED_EVERY


def _as_found(code: str, day: date) -> str | None:
    """Return what a calibration found; the first, of a new wrench, tells nothing."""
    if day == CALIBRATED_ON:
        return None
    return "out" if (code, day) == (FOUND_OUT_WRENCH, FOUND_OUT_ON) else "in"


def inspectors() -> pl.DataFrame:
    """Return a row an inspector; without a site where there are several."""
    sites: dict[str, list[str]] = {}
    for site in SITES:
        for code in site.inspector_codes:
            sites.setdefault(code, []).append(site.code)
    return pl.DataFrame(
        [
            {
                "inspector_code": code,
                "site_code": found[0] if len(found) == 1 else None,
                "employer": "Invented Inspection",
            }
            for code, found in sorted(sites.items())
        ]
    )
