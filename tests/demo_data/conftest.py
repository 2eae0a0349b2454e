"""The default demo, generated once, and its verdicts by the twin."""

import polars as pl
import pytest

from demo_data.generator import Demo, generate
from tests.demo_data.twin import judged


@pytest.fixture(scope="session")
def demo() -> Demo:
    """Return the demo of the default size and seed."""
    return generate()


@pytest.fixture(scope="session")
def verdicts(demo: Demo) -> pl.DataFrame:
    """Return the installations with a verdict a check (twin.judged)."""
    return judged(demo.installations, demo.setting_data)
