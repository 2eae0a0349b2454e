"""How many attempts a good hole takes: abandonment by depth, and from site to site."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


@dataclass(frozen=True)
class Abandonment:
    """A hazard per millimetre, constant within steps, times a factor a site.

    `step_mm` the width of a step, the first from 0; `hazard` (steps) per mm over all
    sites together; `hazard_var` its variance. `spread` is the variance of the sites'
    factors about 1 (gamma), `found` and `expected` (sites) abandoned attempts.
    """

    step_mm: float
    hazard: Floats
    hazard_var: Floats
    spread: float
    found: Floats
    expected: Floats

    def lost_by(self, depth_mm: float) -> float:
        """Return the share of attempts lost by a depth, at the average of sites."""
        return float(-np.expm1(-self._until(depth_mm) @ self.hazard))

    def cumulative(self, depth_mm: float) -> tuple[float, float]:
        """Return the cumulated hazard to a depth and its variance."""
        until = self._until(depth_mm)
        return float(until @ self.hazard), float(until**2 @ self.hazard_var)

    def given_up_at(self, depth_mm: float) -> tuple[Floats, Floats]:
        """Return the steps' middles (mm) to a depth, and the share of the lost in each.

        Shares add up to 1; even shares where nothing is lost.
        """
        until = self._until(depth_mm)
        reached = until > 0
        middles = (np.arange(len(until)) * self.step_mm + until / 2)[reached]
        risk = np.cumsum(until * self.hazard)
        lost = np.diff(-np.expm1(-risk), prepend=0.0)[reached]
        total = float(lost.sum())
        if total <= 0:
            return middles, np.full(len(middles), 1 / max(len(middles), 1))
        return middles, lost / total

    def draw_factors(
        self, rng: np.random.Generator, count: int, site: int | None
    ) -> Floats:
        """Return draws of a site's factor: a known one's, or a new one's (None)."""
        if self.spread <= 0:
            return np.ones(count)
        shape = 1 / self.spread
        if site is None:
            return rng.gamma(shape, 1 / shape, count)
        scale = 1 / (shape + self.expected[site])
        return rng.gamma(shape + self.found[site], scale, count)

    def _until(self, depth_mm: float) -> Floats:
        """Return how many mm of each step a hole of a depth goes through."""
        starts = np.arange(len(self.hazard)) * self.step_mm
        return np.clip(depth_mm - starts, 0.0, self.step_mm)


def fit_abandonment(
    step: Counts, attempts: Floats, abandoned: Floats, drilled_mm: Floats, site: Counts
) -> Abandonment:
    """Return the hazard of abandonment from rows of attempts by depth.

    Each row (arrays of one length): `attempts` that ended in step `step` (5 mm wide,
    the first is 0), how many of them were `abandoned`, the sum of their depths, and the
    `site` from 0. Events by millimetres drilled in each step is the likeliest hazard
    that is constant within steps; an attempt that was finished says nothing of the
    depths below. The sites' factors: gamma about 1, variance by moments (Efron and
    Morris 1973, J. Am. Stat. Assoc. 68:117-130, for counts).
    """
    width = 5.0
    sites, steps = int(site.max()) + 1, int(step.max()) + 1
    ended, events, within = (np.zeros((sites, steps)) for _ in range(3))
    np.add.at(ended, (site, step), attempts)
    np.add.at(events, (site, step), abandoned)
    np.add.at(within, (site, step), drilled_mm - attempts * step * width)
    beyond = ended[:, ::-1].cumsum(axis=1)[:, ::-1] - ended
    drilled = within + width * beyond
    total = np.maximum(drilled.sum(axis=0), 1e-12)
    hazard = events.sum(axis=0) / total
    found, expected = events.sum(axis=1), drilled @ hazard
    excess = float(((found - expected) ** 2 - expected).sum())
    spread = max(excess / float(np.maximum((expected**2).sum(), 1e-12)), 0.0)
    return Abandonment(width, hazard, hazard / total, spread, found, expected)
