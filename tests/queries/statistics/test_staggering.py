"""Two waves: alike, and apart for as long as it takes to see the first's fall."""

import numpy as np
import pytest
from scipy.stats import norm

from queries.statistics.staggering import (
    Hoped,
    hoped_rate,
    two_waves,
    weeks_between,
    weeks_to_see,
)


def test_half_way_to_the_reachable_rate() -> None:
    assert hoped_rate(0.20, 0.04) == pytest.approx(0.12)


# The power of a two-sided normal test at the weeks found, computed apart.
@pytest.mark.parametrize("uncertain", [0.0, 0.0002])
def test_weeks_give_the_power_they_promise(uncertain: float) -> None:
    weeks = weeks_to_see(Hoped(0.20, 0.12, uncertain, 25.0))
    assert weeks is not None

    def power(weeks: int) -> float:
        null = np.sqrt(uncertain + 0.2 * 0.8 / (25 * weeks))
        true = np.sqrt(uncertain + 0.12 * 0.88 / (25 * weeks))
        return float(norm.cdf((0.08 - norm.ppf(0.975) * null) / true))

    assert power(weeks) >= 0.8 > power(weeks - 1)


def test_a_fall_that_cannot_be_seen() -> None:
    assert weeks_to_see(Hoped(0.05, 0.04, 0.0, 20.0)) is None
    assert weeks_to_see(Hoped(0.2, 0.0, 0.0, 0.0)) is None


def test_waves_are_alike() -> None:
    spared = {f"C{number}": float(number) for number in range(1, 9)}
    waves = two_waves(spared)
    # 8 + 5 + 4 + 1 and 7 + 6 + 3 + 2.
    assert {crew for crew, wave in waves.items() if wave == 1} == {
        "C8",
        "C5",
        "C4",
        "C1",
    }
    assert two_waves({"A": 3.0}) == {"A": 1}


def test_the_second_wave_waits_for_the_slowest_that_can_be_seen() -> None:
    assert weeks_between([3, 9, None]) == 9
    assert weeks_between([1]) == 2
    assert weeks_between([None, None]) == 26
