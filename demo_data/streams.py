"""Seeded random streams, one a step of the model."""

from zlib import crc32

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Integers = npt.NDArray[np.int64]


class Streams:
    """Hands out a generator per name, so that one step's draws never shift another's.

    The same seed and name give the same stream, whatever else has been drawn.
    """

    def __init__(self, seed: int) -> None:
        self.seed = seed

    def named(self, name: str) -> np.random.Generator:
        """Return a fresh generator for this name."""
        return np.random.default_rng([self.seed, crc32(name.encode())])
