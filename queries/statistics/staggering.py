"""In which order to train, so that those who wait show what the training did."""

from collections.abc import Mapping
from dataclasses import dataclass

from queries.statistics.training import is_fall_seen

# A crew that is known to need training cannot wait longer (project default).
LONGEST_WAIT_WEEKS = 26
SHORTEST_WAIT_WEEKS = 2
# The share of the way to the reachable rate that a training is counted on for: few
# crews become the better quarter at once (project default).
HOPED_SHARE = 0.5


@dataclass(frozen=True)
class Hoped:
    """What a training is hoped to do: from `rate` to `after`, fractions.

    `uncertain`: the variance of `rate`; `judged_a_week` checks of the crew, divided by
    the inflation of its bad days.
    """

    rate: float
    after: float
    uncertain: float
    judged_a_week: float


def weeks_to_see(hoped: Hoped) -> int | None:
    """Return after how many weeks the hoped fall is seen 8 times of 10.

    None: not within LONGEST_WAIT_WEEKS. Formula: statistics/training.py.
    """
    if hoped.judged_a_week <= 0:
        return None
    for weeks in range(1, LONGEST_WAIT_WEEKS + 1):
        judged = weeks * hoped.judged_a_week
        if is_fall_seen(hoped.rate, hoped.after, hoped.uncertain, judged):
            return weeks
    return None


def hoped_rate(rate: float, reachable: float) -> float:
    """Return the rate that a training is counted on for."""
    return rate - HOPED_SHARE * (rate - reachable)


def two_waves(spared: Mapping[str, float]) -> dict[str, int]:
    """Return the wave, 1 or 2, of each crew; `spared`: what its training could spare.

    In order of what could be spared 1, 2, 2, 1, 1, 2, 2, ...: the waves are as alike as
    can be, and the crew with most to gain does not wait. One crew is wave 1.
    """
    ordered = sorted(spared, key=lambda crew: (-spared[crew], crew))
    return {crew: (1, 2, 2, 1)[place % 4] for place, crew in enumerate(ordered)}


def weeks_between(needed: list[int | None]) -> int:
    """Return how long the second wave waits: until the first wave's falls are seen.

    `needed`: weeks_to_see of the first wave; one that would never be seen asks for no
    longer wait than the others, and all of them for the longest.
    """
    seen = [weeks for weeks in needed if weeks is not None]
    if not seen:
        return LONGEST_WAIT_WEEKS
    return max(SHORTEST_WAIT_WEEKS, *seen)
