"""Invented groups whose truth is known: rates, bad days, missing answers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics.flagging import Cells, GroupDays


@dataclass(frozen=True)
class World:
    """`groups` groups of `judged` due checks each, dealt over about 30 days.

    `correlation` of two anchors of one day; `missing`: the share of answers that are
    not there, whatever they would have been. `rate` of all groups but the first, whose
    is `first_rate`.
    """

    groups: int
    judged: int
    correlation: float
    missing: float
    rate: float = 0.05
    first_rate: float = 0.05

    def draw(self, rng: np.random.Generator) -> tuple[Cells, GroupDays]:
        """Return one drawing of it; groups may have nothing judged."""
        days = max(1, min(30, self.judged))
        group = np.repeat(np.arange(self.groups), days)
        due = rng.multinomial(self.judged, np.full(days, 1 / days), self.groups).ravel()
        n = rng.binomial(due, 1 - self.missing)
        rates = np.full(self.groups, self.rate)
        rates[0] = self.first_rate
        p = rates[group]
        if self.correlation:
            strength = 1 / self.correlation - 1
            p = rng.beta(p * strength, (1 - p) * strength)
        x = rng.binomial(n, p)
        known = n > 0
        return (
            Cells(self._sums(group, n), self._sums(group, x)),
            GroupDays(group[known], n[known], x[known]),
        )

    def _sums(
        self, group: NDArray[np.int64], values: NDArray[np.int64]
    ) -> NDArray[np.int64]:
        return np.bincount(group, values, self.groups).astype(np.int64)[:, None]
