"""The search for a lowest point: the valleys it was published with, and scipy's."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import optimize

from queries.statistics.simplex import lowest_point

Floats = NDArray[np.float64]


def _parabolic_valley(x: Floats) -> float:
    """Rosenbrock's, as in Nelder and Mead 1965 (Comput. J. 7:308), 0 at (1, 1)."""
    return float(100 * (x[1] - x[0] ** 2) ** 2 + (1 - x[0]) ** 2)


def _quartic(x: Floats) -> float:
    """Powell's, the same paper's second, 0 at the origin."""
    first = (x[0] + 10 * x[1]) ** 2 + 5 * (x[2] - x[3]) ** 2
    return float(first + (x[1] - 2 * x[2]) ** 4 + 10 * (x[0] - x[3]) ** 4)


def test_lowest_point_of_the_published_valleys() -> None:
    found = lowest_point(_parabolic_valley, np.array([-1.2, 1.0]), 1e-9, 1e-9)
    assert found == pytest.approx([1, 1], abs=1e-6)
    found = lowest_point(_quartic, np.array([3.0, -1.0, 0.0, 1.0]), 1e-9, 1e-9)
    # A quartic is flat at its bottom: 1e-9 deep is 1e-2 wide.
    assert _quartic(found) < 1e-9
    assert found == pytest.approx([0, 0, 0, 0], abs=1e-2)


@pytest.mark.parametrize("seed", range(8))
def test_lowest_point_is_that_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    bend = rng.normal(size=(2, 2))
    curve, place = bend @ bend.T + np.eye(2), rng.normal(size=2)

    def bowl(x: Floats) -> float:
        away = x - place
        return float(np.log1p(away @ curve @ away))

    start = np.array([0.0, 0.5])
    theirs = optimize.minimize(bowl, start, method="BFGS", options={"gtol": 1e-10})
    assert lowest_point(bowl, start, 1e-9, 1e-12) == pytest.approx(theirs.x, abs=1e-5)


def test_lowest_point_at_an_edge_and_out_of_steps() -> None:
    # As for a variance of 0: the lowest point is a kink.
    found = lowest_point(lambda x: abs(x[0]) + x[1] ** 2, np.array([0.3, 0.3]), 1e-9, 1)
    assert found == pytest.approx([0, 0], abs=1e-6)
    start = np.array([-1.2, 1.0])
    few = lowest_point(_parabolic_valley, start, 1e-9, 1e-9, most_steps=3)
    assert 1e-3 < _parabolic_valley(few) < _parabolic_valley(start)
