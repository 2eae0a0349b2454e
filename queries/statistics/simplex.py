"""The lowest point of a function of few variables, without its slopes."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# The first simplex: each coordinate longer by a twentieth, or this where it is 0.
LONGER, FROM_NOTHING = 1.05, 0.00025


def lowest_point(
    height: Callable[[Floats], float],
    start: Floats,
    width: float,
    depth: float,
    most_steps: int = 2000,
) -> Floats:
    """Return the point that a simplex creeps to from `start` (Nelder and Mead 1965).

    Computer Journal 7:308-313: reflect 1, expand 2, contract and shrink 1/2. Ends where
    the simplex is no wider than `width` and no deeper than `depth`, or after so many
    steps. Own code, since importing a library of optimisers takes longer than fitting.
    """
    corners = np.tile(start.astype(np.float64), (len(start) + 1, 1))
    for place, value in enumerate(start):
        corners[place + 1, place] = LONGER * value if value else FROM_NOTHING
    heights = np.array([height(corner) for corner in corners])
    for _ in range(most_steps):
        order = np.argsort(heights, kind="stable")
        corners, heights = corners[order], heights[order]
        is_narrow = np.abs(corners[1:] - corners[0]).max() <= width
        if is_narrow and np.abs(heights[1:] - heights[0]).max() <= depth:
            break
        if not _move_worst(height, corners, heights):
            corners[1:] = (corners[1:] + corners[0]) / 2
            heights[1:] = [height(corner) for corner in corners[1:]]
    return np.asarray(corners[int(np.argmin(heights))])


def _move_worst(
    height: Callable[[Floats], float], corners: Floats, heights: Floats
) -> bool:
    """Put the last, worst corner elsewhere in place; False where nothing is lower."""
    middle = corners[:-1].mean(axis=0)
    away = middle - corners[-1]

    def put(times: float) -> tuple[Floats, float]:
        point = middle + times * away
        return point, height(point)

    point, found = put(1)
    if found < heights[0]:
        further, lower = put(2)
        if lower < found:
            point, found = further, lower
    elif found >= heights[-2]:
        bound = min(found, heights[-1])
        point, found = put(0.5 if found < heights[-1] else -0.5)
        if found >= bound:
            return False
    corners[-1], heights[-1] = point, found
    return True
