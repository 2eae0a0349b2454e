"""What a chart over time is made of, and what it is."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics.chart_rules import Rule

Counts = NDArray[np.int64]


@dataclass(frozen=True)
class Periods:
    """Counts of consecutive periods, idle ones with zeros."""

    labels: Sequence[str]
    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class Days:
    """Counts of days in order; `period` is the index of the period a day lies in."""

    period: Counts
    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class Baseline:
    """The periods that limits come from; `chosen` says who chose them."""

    first: str
    last: str
    periods: int
    judged: int
    nonconforming: int
    chosen: str


@dataclass(frozen=True)
class Point:
    """One period; rate and limits are fractions, None where there is none."""

    period: str
    judged: int
    nonconforming: int
    rate: float | None
    lower: float | None
    upper: float | None
    signals: tuple[str, ...]


@dataclass(frozen=True)
class Trend:
    """The answer; `centre` is None where the baseline judged nothing.

    `sigma_z` is 1 unless the p′ chart is used. `run_length`: periods until a false
    alarm of all rules together, also for how roughly the baseline knows the rate (but
    on a g chart).
    """

    centre: float | None
    baseline: Baseline | None
    method: str
    sigma_z: float
    rules: tuple[Rule, ...]
    run_length: float | None
    points: tuple[Point, ...]
    notes: tuple[str, ...]
