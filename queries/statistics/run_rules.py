"""Two run rules, and how long they stay silent where nothing has changed."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

RUN_LENGTH = 8


def beyond_limits(rate: Floats, lower: Floats, upper: Floats) -> list[str | None]:
    """Return "beyond_upper", "beyond_lower" or None for each period.

    A rate on the limit is within; NaN (idle, or no limit) is no signal.
    """
    return [
        "beyond_upper" if r > high else "beyond_lower" if r < low else None
        for r, low, high in zip(rate, lower, upper, strict=True)
    ]


def run_lengths(rate: Floats, centre: float) -> list[int]:
    """Return for each period the run on one side of the centre that it ends.

    Positive above, negative below, 0 on the centre, which breaks a run. An idle
    period (NaN) neither breaks nor lengthens a run, and has 0 itself.
    """
    runs: list[int] = []
    run = 0
    for value in rate:
        if np.isnan(value):
            runs.append(0)
            continue
        side = int(np.sign(value - centre))
        run = run + side if side * run > 0 else side
        runs.append(run)
    return runs


def one_side(rate: Floats, centre: float, length: int = RUN_LENGTH) -> list[str | None]:
    """Return "run_above" or "run_below" where `length` or more lie on one side."""
    return [
        "run_above" if run >= length else "run_below" if run <= -length else None
        for run in run_lengths(rate, centre)
    ]


def in_control_run_length(
    beyond: float, above: float, below: float, length: int = RUN_LENGTH
) -> float:
    """Return the mean number of periods until a false alarm of either rule.

    `beyond`: chance of a point outside the limits; `above`, `below`: of one inside
    them on that side of the centre. What is left is a point on the centre. Markov
    chain over the current run (Champ and Woodall 1987, Technometrics 29:393-399).
    Infinity where neither rule can ever signal.
    """
    if beyond <= 0 and above <= 0 and below <= 0:
        return float("inf")
    # State 0: no run; 1 .. length-1: a run above; length .. 2 length-2: a run below.
    size = 2 * length - 1
    chain = np.zeros((size, size))
    chain[:, 0] = 1 - beyond - above - below
    for state in range(size):
        run_above = state if 0 < state < length else 0
        run_below = state - length + 1 if state >= length else 0
        if run_above + 1 < length:
            chain[state, run_above + 1] += above
        if run_below + 1 < length:
            chain[state, length + run_below] += below
    return float(np.linalg.solve(np.eye(size) - chain, np.ones(size))[0])
