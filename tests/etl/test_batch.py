"""What a load takes for its files and site maps, and what it refuses by name."""

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from etl.intake import load_paths
from queries.errors import FirmsetError
from tests.builders import NOW, build_store, load, write_log


def test_the_toml_of_another_program_is_no_site_map(tmp_path: Path) -> None:
    store = build_store(tmp_path / "store")
    log = write_log(tmp_path / "logs", [{}])
    for name, text in (("pyproject", '[project]\nname = "x"\n'), ("ruff", "")):
        (log.parent / f"{name}.toml").write_text(text, "utf-8")
    result = load(store, log)
    assert not result.failures and result.receipts[0].loaded == 1


@pytest.mark.parametrize("name", ["read.md", "log.toml"])
def test_a_file_that_is_no_log_is_refused_by_name(tmp_path: Path, name: str) -> None:
    store = build_store(tmp_path / "store")
    path = tmp_path / name
    path.write_text("", "utf-8")
    with pytest.raises(FirmsetError, match=f"{name}: is no log; expected a site log"):
        load(store, path)
    # Among logs, as a shell names all of a folder, it is passed over.
    assert load(store, path, write_log(tmp_path / "logs", [{}])).receipts


@pytest.mark.parametrize("name", ["nowhere", "a.txt"])
def test_a_folder_of_maps_that_is_none_is_refused(tmp_path: Path, name: str) -> None:
    store = build_store(tmp_path / "store")
    (tmp_path / "a.txt").write_text("", "utf-8")
    log = write_log(tmp_path / "logs", [{}])
    with pytest.raises(FirmsetError, match=f"{name}: no such folder"):
        load_paths(store, [log], map_folder=tmp_path / name, now=NOW)


# Links into a closed folder, under the names of a log and of a sheet: the system does
# not say of them what they are.
def test_a_file_that_may_not_be_looked_at_keeps_no_other_out(tmp_path: Path) -> None:
    store = build_store(tmp_path / "store")
    log = write_log(tmp_path / "logs", [{}])
    for name in ("a.csv", "crews_2026.csv"):
        (log.parent / name).symlink_to("x" * 300)
    result = load(store, log.parent)
    assert [receipt.loaded for receipt in result.receipts] == [1]
    assert [failure.rpartition("/")[2] for failure in result.failures] == [
        "a.csv: cannot be read: File name too long",
        "crews_2026.csv: cannot be read: File name too long",
    ]


# Else every log would be said to have no site map.
def test_a_folder_of_maps_that_may_not_be_read_is_said_to_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = build_store(tmp_path / "store")
    log = write_log(tmp_path / "logs", [{}])
    closed = tmp_path / "closed"
    closed.mkdir()
    scandir = os.scandir

    def refused(path: Any) -> Any:
        if Path(path) == closed:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return scandir(path)

    for name in ("scandir", "listdir"):
        monkeypatch.setattr(f"os.{name}", refused)
    with pytest.raises(PermissionError):
        load_paths(store, [log], map_folder=closed, now=NOW)
