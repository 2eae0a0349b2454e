"""What the comparison does in worlds whose truth is known."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from queries.statistics.comparison import probable_rates
from queries.statistics.exact import garwood_limits
from queries.statistics.flagging import weigh
from queries.statistics.mix import comparable_work, expected_from_others
from tests.operating_characteristics.worlds import World

GROUPS = (2, 3, 5, 8, 20, 60)
JUDGED = (0, 5, 30, 200, 1000, 5000)
CORRELATIONS = (0.0, 0.02, 0.1)
MISSING = (0.0, 0.3)
BAD_RATE = 0.16


@dataclass(frozen=True)
class Measured:
    """Shares of `runs`: with identical groups, and with the first one bad.

    `false_alarm`: any of identical groups flagged; `power`: the bad one flagged;
    `bystander`: any other flagged beside it; `covered`: the 95 % interval of observed /
    expected of an identical group holds 1 (None: never an interval).
    """

    world: World
    runs: int
    false_alarm: float
    power: float
    bystander: float
    covered: float | None


def worlds() -> Iterator[World]:
    """Yield every combination."""
    for groups in GROUPS:
        for judged in JUDGED:
            for correlation in CORRELATIONS:
                for missing in MISSING:
                    yield World(groups, judged, correlation, missing)


def measure(world: World, runs: int, rng: np.random.Generator) -> Measured:
    """Return what the comparison does in `runs` drawings of a world."""
    bad = replace(world, first_rate=BAD_RATE)
    false = power = bystander = 0
    covered: list[bool] = []
    for _ in range(runs):
        cells, days = world.draw(rng)
        weighed = weigh(cells, days)
        false += int(weighed.flagged.any())
        expected = expected_from_others(cells.judged, cells.nonconforming)
        low, high = garwood_limits(expected.observed[:1] / weighed.inflation[:1])
        mean = expected.count[0] / weighed.inflation[0]
        if mean > 0:
            covered.append(bool(low[0] <= mean <= high[0]))
        flagged = weigh(*bad.draw(rng)).flagged
        power += int(flagged[0])
        bystander += int(flagged[1:].any())
    return Measured(
        world,
        runs,
        false / runs,
        power / runs,
        bystander / runs,
        float(np.mean(covered)) if covered else None,
    )


def rate_coverage(world: World, runs: int, rng: np.random.Generator) -> float | None:
    """Return how often the probable rate's interval holds the true rate.

    True rates are drawn from a beta distribution about the world's rate, strength 60.
    """
    held: list[bool] = []
    for _ in range(runs):
        true = rng.beta(60 * world.rate, 60 * (1 - world.rate), world.groups)
        cells, _ = world.draw(rng)
        found = rng.binomial(cells.judged[:, 0], true)
        if not 0 < found.sum() < cells.judged.sum():
            continue
        probable = probable_rates(
            comparable_work(cells.judged, found[:, None]), np.ones(world.groups)
        )
        here = probable.n > 0
        held += list(((probable.low <= true) & (true <= probable.high))[here])
    return float(np.mean(held)) if held else None
