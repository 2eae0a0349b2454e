"""Rejected rows given back and sent again, as the tests of corrections do it."""

import csv
import io
from pathlib import Path

import pytest

from dashboard.command import main
from etl.intake import IntakeResult
from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import build_store, load

Rows = list[dict[str, str]]


def given_back(store: Store, capsys: pytest.CaptureFixture[str]) -> Rows:
    """Return what `firmset rejects --format csv` prints, as rows."""
    capsys.readouterr()
    assert main(["rejects", "--format", "csv", "--store", str(store.folder)]) == 0
    return list(csv.DictReader(io.StringIO(capsys.readouterr().out)))


def sent_again(store: Store, path: Path, rows: Rows) -> IntakeResult:
    with path.open("w", encoding="utf-8", newline="") as lines:
        writer = csv.DictWriter(lines, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return load(store, path)


def open_rejects(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return read_rejects(con).select("file_name", "source_row").rows()


def build_rejects(folder: Path) -> Store:
    """Return a store that rejected rows 3 and 4 of a log: no crew, no such date."""
    return build_store(
        folder,
        [{}, {"crew_code": "", "note": "=1+1"}, {"installed_on": "31.02.2026"}],
    )
