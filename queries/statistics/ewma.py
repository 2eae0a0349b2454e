"""The exponentially weighted moving average: slow drift that no single period shows."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# With these a chart of normal values has one false alarm in 500 (Lucas and Saccucci
# 1990, Technometrics 32:1-12; from memory, and recomputed by ewma_run_length).
WEIGHT = 0.2
WIDTH = 2.962


def ewma(values: Floats, start: float, weight: float = WEIGHT) -> Floats:
    """Return the moving average after each value: w x + (1 - w) of the one before.

    `start` stands before the first (NIST/SEMATECH e-Handbook 6.3.2.4). An idle period
    (NaN) leaves the average as it was.
    """
    average = start
    averages = []
    for value in values:
        if not np.isnan(value):
            average = weight * value + (1 - weight) * average
        averages.append(average)
    return np.array(averages)


def ewma_half_width(
    sigma: float = 1.0, weight: float = WEIGHT, width: float = WIDTH
) -> float:
    """Return the distance of the limits from the centre, in the unit of sigma.

    width sigma sqrt(w / (2 - w)): the limits of a chart that has run for long (NIST
    6.3.2.4), used from the first period on so that the stated run length holds.
    """
    return float(width * sigma * np.sqrt(weight / (2 - weight)))


def ewma_run_length(
    cdf: Callable[[Floats], Floats],
    weight: float = WEIGHT,
    width: float = WIDTH,
    slices: int = 201,
) -> float:
    """Return the mean number of periods until a false alarm.

    `cdf`: distribution of the standardised value (mean 0, variance 1) of one period.
    Markov chain over the slices (odd) of the range within the limits (Brook and Evans
    1972, Biometrika 59:539-549).
    """
    half = ewma_half_width(1.0, weight, width)
    edges = np.linspace(-half, half, slices + 1)
    middles = (edges[:-1] + edges[1:]) / 2
    # The value that carries the average from a middle to an edge.
    needed = (edges[None, :] - (1 - weight) * middles[:, None]) / weight
    chain = np.diff(cdf(needed), axis=1)
    lengths = np.linalg.solve(np.eye(slices) - chain, np.ones(slices))
    return float(lengths[slices // 2])
