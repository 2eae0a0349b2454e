"""A site whose crews are alike, and two whose record was made afterwards."""

from datetime import date, timedelta

import numpy as np

from tests.builders import Row

HONEST = tuple(f"H{number}" for number in range(1, 7))
EDITED, COPIED = "EDITED", "COPIED"
DAYS = 12
A_DAY = 40
FIRST = date(2026, 5, 4)


def planted_rows(
    seed: int = 1, crews: tuple[str, ...] = (*HONEST, EDITED, COPIED)
) -> list[Row]:
    """Return DAYS days of A_DAY anchors a crew; the band is 49.5 to 60.5 Nm.

    Honest torques: normal about 55 Nm with 2.2 Nm, read in steps of 0.5. EDITED: spread
    so that 18 % lie outside the band, and these written down as 50 or 60 Nm. COPIED: as
    the honest ones, but each day's first row copied down.
    """
    rng = np.random.default_rng(seed)
    return [
        row
        for crew in crews
        for day in range(DAYS)
        for row in _batch(crew, FIRST + timedelta(days=day), rng)
    ]


def _batch(crew: str, day: date, rng: np.random.Generator) -> list[Row]:
    # 5.5 Nm either way is 1.34 standard deviations of 4.1 Nm: 18 % beyond.
    spread = 4.1 if crew == EDITED else 2.2
    torque = np.round(rng.normal(55, spread, A_DAY) * 2) / 2
    if crew == EDITED:
        torque = np.where(torque < 49.5, 50.0, np.where(torque > 60.5, 60.0, torque))
    depth = rng.integers(91, 99, A_DAY)
    drill = np.round(rng.uniform(8, 20, A_DAY), 1)
    if crew == COPIED:
        torque[:], depth[:], drill[:] = 55.0, depth[0], drill[0]
    return [
        {
            "record_id": f"{crew}-{day:%m%d}-{place}",
            "installed_on": day.isoformat(),
            "crew_code": crew,
            "setting_torque_nm": f"{torque[place]:.1f}",
            "hole_depth_mm": str(depth[place]),
            "drill_s": f"{drill[place]:.1f}",
        }
        for place in range(A_DAY)
    ]
