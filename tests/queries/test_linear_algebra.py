"""Linear algebra runs in one thread: two wait for each other beside other work."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

# Looks for queries are seen before it is loaded.
SEEN = """
import sys
from importlib.abc import MetaPathFinder

class Seen(MetaPathFinder):
    def find_spec(self, name, path, target=None):
        if name == "queries":
            print("numpy" in sys.modules)

sys.meta_path.insert(0, Seen())
import {module}, os, numpy
print(os.environ["OPENBLAS_NUM_THREADS"])
"""


@pytest.mark.parametrize(
    ("module", "set_to", "expected"),
    [("dashboard.app", None, "1"), ("dashboard.command", "2", "2")],
)
def test_threads_are_set_before_numpy_is_loaded(
    module: str, set_to: str | None, expected: str
) -> None:
    """And whoever sets another number has it."""
    surroundings = {
        name: value
        for name, value in os.environ.items()
        if name != "OPENBLAS_NUM_THREADS"
    }
    if set_to is not None:
        surroundings["OPENBLAS_NUM_THREADS"] = set_to
    done = subprocess.run(
        [sys.executable, "-c", SEEN.format(module=module)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env=surroundings,
    )
    assert done.stdout.split() == ["False", expected]
