"""The demo store, built by the command a newcomer runs."""

from pathlib import Path

import polars as pl
import pytest

from dashboard.command import main
from queries.store import Store


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A demo store of the default size."""
    folder = tmp_path_factory.mktemp("whole_line") / "demo"
    assert main(["demo", "--no-serve", "--store", str(folder)]) == 0
    return Store(folder)


@pytest.fixture(scope="session")
def truth(demo_store: Store) -> pl.DataFrame:
    """What the generator planted, as it wrote it beside the logs."""
    return pl.read_csv(_truth_folder(demo_store) / "truth.csv", try_parse_dates=True)


@pytest.fixture(scope="session")
def expected_receipts(demo_store: Store) -> pl.DataFrame:
    """What became of each row, as whoever planted the faults counted it."""
    from demo_data.make_small_logs import SMALL_LOGS_FOLDER

    folders = (_truth_folder(demo_store), SMALL_LOGS_FOLDER / "truth")
    return pl.concat(
        pl.read_csv(folder / "expected_receipts.csv") for folder in folders
    )


def _truth_folder(store: Store) -> Path:
    return store.folder / "logs" / "truth"
