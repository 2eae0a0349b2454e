"""What is said of trainings of the worst crew that were useless, or halved its rate."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from queries.readers.before_after import count_before_after
from queries.statistics.training import training_effect

ON, DAYS, RATE, ALIKE = date(2026, 6, 1), 20, 0.05, 60
HEAD = (
    *("crews", "due before and after", "likeness", "missing", "trainings"),
    *("useless: said to work, %", "difference held, %", "halved: said to work, %"),
)


@dataclass(frozen=True)
class Season:
    """`crews` whose true rates spread about 5 % (beta, strength 60), `due` checks each
    in the 20 days before and after, correlation of a day's anchors, missing answers.
    """

    crews: int
    due: int
    likeness: float = 0.0
    missing: float = 0.0

    def draw(
        self, rng: np.random.Generator, effect: float
    ) -> tuple[pl.DataFrame, int, float]:
        """Return days as they are read, the worst crew before, and its true change."""
        true = rng.beta(ALIKE * RATE, ALIKE * (1 - RATE), self.crews)
        shape = (self.crews, 2 * DAYS)
        share = np.full(DAYS, 1 / DAYS)
        due = rng.multinomial(self.due, share, (self.crews, 2)).reshape(shape)
        judged = rng.binomial(due, 1 - self.missing)
        rate = np.tile(true[:, None], 2 * DAYS)
        found = self._found(judged, rate, rng)
        before = np.s_[:, :DAYS]
        sums = [each[before].sum(axis=1) for each in (found, judged)]
        crew = int(np.argmax(sums[0] / np.maximum(sums[1], 1)))
        rate[crew, DAYS:] *= effect
        found[:, DAYS:] = self._found(judged, rate, rng)[:, DAYS:]
        names = [_name(crew) for crew in range(self.crews)]
        calendar = [ON + timedelta(day - DAYS) for day in range(2 * DAYS)]
        days = pl.DataFrame(
            {
                "group_name": np.repeat(names, 2 * DAYS),
                "installed_on": calendar * self.crews,
                "judged": judged.ravel(),
                "nonconforming": found.ravel(),
            }
        ).filter(pl.col("judged") > 0)
        return days, crew, float(true[crew] * (effect - 1))

    def _found(
        self, judged: np.ndarray, rate: np.ndarray, rng: np.random.Generator
    ) -> np.ndarray:
        if self.likeness:
            strength = 1 / self.likeness - 1
            rate = rng.beta(rate * strength, (1 - rate) * strength)
        return rng.binomial(judged, rate)


@dataclass(frozen=True)
class Taught:
    """Shares of `trainings` that could be weighed; None where none could."""

    season: Season
    trainings: int
    claimed: float | None
    held: float | None
    power: float | None


def seasons() -> Iterator[Season]:
    """Yield what the report simulates."""
    for crews in (2, 3, 8, 20, 60):
        for due in (5, 30, 200, 1000):
            for likeness, missing in ((0.0, 0.0), (0.1, 0.0), (0.1, 0.3)):
                yield Season(crews, due, likeness, missing)


def teach(season: Season, runs: int, rng: np.random.Generator) -> Taught:
    """Return what is said of `runs` useless and as many useful trainings."""
    useless = [_weighed(season, rng, 1.0) for _ in range(runs)]
    known = [each for each in useless if each]
    useful = [_weighed(season, rng, 0.5) for _ in range(runs)]
    halved = [each for each in useful if each]
    if not known or not halved:
        return Taught(season, 0, None, None, None)
    return Taught(
        season,
        len(known),
        float(np.mean([high < 0 for _, high, _ in known])),
        float(np.mean([low <= true <= high for low, high, true in known + halved])),
        float(np.mean([high < 0 for _, high, _ in halved])),
    )


def _weighed(
    season: Season, rng: np.random.Generator, effect: float
) -> tuple[float, float, float] | None:
    """Return the interval and the true difference; None where nothing can be said."""
    days, crew, true = season.draw(rng, effect)
    if days.is_empty():
        return None
    counted = count_before_after(days, ON)
    if _name(crew) not in counted.crews:
        return None
    try:
        found = training_effect(counted.counts, counted.crews.index(_name(crew)))
    except ValueError:
        return None
    return found.low, found.high, true


def _name(crew: int) -> str:
    return f"C{crew:03}"


def taught_lines(taught: Sequence[Taught]) -> list[str]:
    """Return the report's section on trainings."""
    lines = [
        "## Did training help",
        "",
        f"The worst crew of the {DAYS} days before is trained. True rates spread about",
        f"{RATE:.0%} (beta, strength {ALIKE}). Promised: 2.5 % said to work of useless",
        "ones, and 95 % of true differences held, useless and halving together.",
        "",
        f"| {' | '.join(HEAD)} |",
        "|---" * len(HEAD) + "|",
    ]
    for each in taught:
        season = each.season
        known = (season.crews, season.due, season.likeness, f"{season.missing:.0%}")
        shares = (each.claimed, each.held, each.power)
        found = ("none" if one is None else f"{100 * one:.1f}" for one in shares)
        cells = (*map(str, known), str(each.trainings), *found)
        lines.append(f"| {' | '.join(cells)} |")
    return lines
