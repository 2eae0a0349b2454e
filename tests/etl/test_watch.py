"""Watching: which files are complete, and what is loaded when."""

import errno
import sys
from pathlib import Path

import pytest

from etl.being_written import is_being_written
from etl.intake import IntakeResult
from etl.watch import RETRY_S, Arrivals, FolderWatch, Stamp, list_files
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import load, write_log, write_setting_data
from tests.etl.company_logs import row, write_map, write_rows

LOG = Path("in/log.csv")
MAP = Path("in/site.toml")
SHEET = Path("in/setting_data.csv")
SETTLE_S = 5.0


@pytest.fixture
def arrivals() -> Arrivals:
    return Arrivals(SETTLE_S, is_written=lambda path: False)


def stamp(number: int) -> Stamp:
    return Stamp(number, number)


# When a file is complete: an injected clock, nothing sleeps.


def test_a_file_is_due_when_it_has_not_changed_for_the_settle_time(
    arrivals: Arrivals,
) -> None:
    assert arrivals.due({LOG: stamp(1)}, 100) == []
    assert arrivals.due({LOG: stamp(1)}, 104.9) == []
    assert arrivals.due({LOG: stamp(2)}, 105) == []  # It grew: from the start.
    assert arrivals.due({LOG: stamp(2)}, 109.9) == []
    assert arrivals.due({LOG: stamp(2)}, 110) == [LOG]


def test_the_same_size_written_anew_is_a_change(arrivals: Arrivals) -> None:
    arrivals.due({LOG: Stamp(7, 1)}, 0)
    assert arrivals.due({LOG: Stamp(7, 2)}, 5) == []


def test_a_file_dealt_with_is_due_again_only_when_it_changes(
    arrivals: Arrivals,
) -> None:
    arrivals.due({LOG: stamp(1)}, 0)
    arrivals.deal_with(arrivals.due({LOG: stamp(1)}, 5))
    assert arrivals.due({LOG: stamp(1)}, 1000) == []
    assert arrivals.due({LOG: stamp(2)}, 1001) == []
    assert arrivals.due({LOG: stamp(2)}, 1006) == [LOG]


@pytest.mark.parametrize("late", [MAP, SHEET])
def test_a_late_map_or_sheet_makes_files_due_again(
    arrivals: Arrivals, late: Path
) -> None:
    arrivals.due({LOG: stamp(1)}, 0)
    arrivals.deal_with(arrivals.due({LOG: stamp(1)}, 5))
    listing = {LOG: stamp(1), late: stamp(1)}
    assert arrivals.due(listing, 10) == []  # It may be half a map yet.
    assert LOG in arrivals.due(listing, 15)


def test_a_map_is_no_log_and_a_sheet_is_loaded(arrivals: Arrivals) -> None:
    listing = {MAP: stamp(1), SHEET: stamp(1), Path("in/README.md"): stamp(1)}
    arrivals.due(listing, 0)
    assert arrivals.due(listing, 5) == [SHEET]


def test_a_file_that_is_written_waits() -> None:
    written = {LOG}
    arrivals = Arrivals(SETTLE_S, is_written=written.__contains__)
    arrivals.due({LOG: stamp(1)}, 0)
    assert arrivals.due({LOG: stamp(1)}, 60) == []
    written.clear()
    assert arrivals.due({LOG: stamp(1)}, 61) == [LOG]


def test_a_file_that_was_away_is_new(arrivals: Arrivals) -> None:
    arrivals.due({LOG: stamp(1)}, 0)
    arrivals.deal_with(arrivals.due({LOG: stamp(1)}, 5))
    arrivals.due({}, 6)
    arrivals.deal_with([])
    arrivals.due({LOG: stamp(1)}, 7)
    assert arrivals.due({LOG: stamp(1)}, 12) == [LOG]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells")
def test_an_open_writer_is_seen(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    with path.open("w") as file:
        file.write("half")
        file.flush()
        assert is_being_written(path)
    assert not is_being_written(path)
    with path.open():  # A reader does not matter.
        assert not is_being_written(path)


def test_unfinished_names_and_deeper_folders_are_left_alone(tmp_path: Path) -> None:
    for name in ("a.csv", "b.csv.part", "c.tmp", "~$d.xlsx", ".e.csv", "f.PARTIAL"):
        (tmp_path / name).write_text("x")
    (tmp_path / "deeper").mkdir()
    (tmp_path / "deeper" / "g.csv").write_text("x")
    assert [path.name for path in list_files([tmp_path])] == ["a.csv"]


# With a store: what is loaded, what is known from before.


class Watched:
    """A watched folder with its own clock; each look lets everything settle."""

    def __init__(self, folder: Path, store: Store) -> None:
        self.folder = folder
        self.store = store
        self.loaded: list[str] = []
        self.failures: list[str] = []
        self.complaints: list[str] = []
        self.now_s = 0.0
        self.error: str | None = None
        self.fault: str | None = None
        self.watch = FolderWatch(
            store,
            Arrivals(SETTLE_S, is_written=lambda path: False),
            self.load,
            self.complaints.append,
        )

    def load(self, paths: list[Path]) -> IntakeResult:
        self.loaded += [path.name for path in paths]
        if self.error:
            raise FirmsetError(self.error)
        if self.fault:
            return IntakeResult((), (), None, self.fault)
        result = load(self.store, *paths)
        self.failures += result.failures
        return result

    def look(self) -> list[str]:
        """Look twice, a settle time between; return the names that were loaded."""
        self.loaded.clear()
        for _ in range(2):
            self.watch.look(lambda: list_files([self.folder]), self.now_s)
            self.now_s += SETTLE_S
        return list(self.loaded)


@pytest.fixture
def watched(tmp_path: Path) -> Watched:
    folder = tmp_path / "in"
    folder.mkdir()
    return Watched(folder, Store(tmp_path / "store"))


def count(store: Store) -> int:
    with store.reader() as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])


def test_what_arrives_is_loaded_once_and_known_after_a_restart(
    watched: Watched,
) -> None:
    write_setting_data(watched.folder)
    write_log(watched.folder, [{}])
    assert watched.look() == ["SITE-1_log.csv", "setting_data.csv"]
    assert count(watched.store) == 1
    assert watched.look() == []
    write_log(watched.folder, [{}, {}], site="SITE-2")
    # A new map makes all due again; what the store has is not loaded again.
    assert watched.look() == ["SITE-2_log.csv"]
    assert count(watched.store) == 3
    before = sorted(path.name for path in watched.folder.iterdir())

    again = Watched(watched.folder, Store(watched.store.folder))
    assert again.look() == []
    assert sorted(path.name for path in watched.folder.iterdir()) == before
    # Another map of the same bytes is another reading.
    map_path = watched.folder / "SITE-2_log.toml"
    map_path.write_text(map_path.read_text("utf-8").replace("site SITE", "place"))
    assert again.look() == ["SITE-2_log.csv"]


def test_a_failed_file_is_tried_again_when_its_map_comes(watched: Watched) -> None:
    write_setting_data(watched.folder)
    write_log(watched.folder, [{}])
    map_path = watched.folder / "SITE-1_log.toml"
    kept = map_path.read_text("utf-8")
    map_path.unlink()
    assert "SITE-1_log.csv" in watched.look()
    assert watched.look() == []
    map_path.write_text(kept, "utf-8")
    assert watched.look() == ["SITE-1_log.csv"]
    assert count(watched.store) == 1


# Rows rejected for an unknown setting code: their receipt is not the last word.
@pytest.mark.parametrize("is_restarted", [False, True])
def test_rejected_rows_are_tried_again_when_setting_data_come(
    watched: Watched, is_restarted: bool
) -> None:
    write_setting_data(watched.folder)
    write_log(watched.folder, [{}, {"setting_code": "M12-90"}])
    watched.look()
    assert count(watched.store) == 1
    assert watched.look() == []
    write_setting_data(watched.folder, [{}, {"setting_code": "M12-90"}])
    if is_restarted:
        load(watched.store, watched.folder / "setting_data.csv")
        watched = Watched(watched.folder, Store(watched.store.folder))
        assert watched.look() == ["SITE-1_log.csv"]
    else:
        assert watched.look() == ["setting_data.csv"]
        assert watched.look() == ["SITE-1_log.csv"]
    assert count(watched.store) == 2
    assert watched.look() == []


# So of a file with parts, where the rows of any of them were rejected.
def test_rejected_rows_of_a_part_are_tried_again(watched: Watched) -> None:
    write_setting_data(watched.folder)
    write_map(watched.folder)
    rows = [row(1, "Harbour hall", Code="M12-90"), row(1, "Quay 3")]
    write_rows(watched.folder / "export.csv", rows)
    watched.look()
    assert count(watched.store) == 1
    load(
        watched.store,
        write_setting_data(watched.folder, [{}, {"setting_code": "M12-90"}]),
    )
    watched = Watched(watched.folder, Store(watched.store.folder))
    assert watched.look() == ["export.csv"]
    assert count(watched.store) == 2
    watched = Watched(watched.folder, Store(watched.store.folder))
    assert watched.look() == []


def test_a_load_that_cannot_begin_is_told_once_and_tried_again(
    watched: Watched,
) -> None:
    write_setting_data(watched.folder)
    watched.error = "another load is writing"
    assert watched.look() == ["setting_data.csv"]
    assert watched.look() == []
    watched.now_s += RETRY_S
    assert watched.look() == ["setting_data.csv"]
    assert watched.complaints == ["another load is writing"]
    watched.error = None
    watched.now_s += RETRY_S
    assert watched.look() == ["setting_data.csv"]
    assert watched.look() == []


def test_after_a_full_disk_the_rest_is_tried_again(watched: Watched) -> None:
    write_setting_data(watched.folder)
    watched.fault = "the disk is full"
    watched.look()
    watched.fault = None
    assert watched.look() == []
    watched.now_s += RETRY_S
    assert watched.look() == ["setting_data.csv"]
    assert watched.complaints == ["the disk is full"]


def test_a_faulty_map_is_told_and_does_not_end_the_watch(watched: Watched) -> None:
    write_setting_data(watched.folder)
    write_log(watched.folder, [{}])
    map_path = watched.folder / "SITE-1_log.toml"
    kept = map_path.read_text("utf-8")
    map_path.write_text("[site\n", "utf-8")
    assert watched.look() == []
    assert len(watched.complaints) == 1
    assert "SITE-1_log.toml" in watched.complaints[0]
    assert "no file that is watched is loaded" in watched.complaints[0]
    map_path.write_text(kept, "utf-8")
    assert watched.look() == ["SITE-1_log.csv", "setting_data.csv"]
    assert count(watched.store) == 1


# The TOML of another program, as a load takes none for a map.
def test_another_programs_toml_stops_no_file(watched: Watched) -> None:
    write_setting_data(watched.folder)
    write_log(watched.folder, [{}])
    (watched.folder / "pyproject.toml").write_text('[project]\nname = "x"\n', "utf-8")
    assert watched.look() == ["SITE-1_log.csv", "setting_data.csv"]
    assert watched.complaints == []


# A link into a closed folder: the system does not say what it is.
def test_a_file_that_may_not_be_looked_at_fails_once_and_alone(
    watched: Watched,
) -> None:
    write_setting_data(watched.folder)
    write_log(watched.folder, [{}])
    closed = watched.folder / "closed.csv"
    closed.symlink_to("x" * 300)
    assert watched.look() == ["SITE-1_log.csv", "closed.csv", "setting_data.csv"]
    [failure] = watched.failures
    assert failure.endswith("closed.csv: cannot be read: File name too long")
    assert watched.look() == []
    assert count(watched.store) == 1
    # It is a log by now.
    closed.unlink()
    write_log(watched.folder, [{"record_id": "B"}], name="x").rename(closed)
    map_path = watched.folder / "SITE-1_x.toml"
    text = map_path.read_text("utf-8").replace("SITE-1_x.csv", "closed.csv")
    map_path.write_text(text, "utf-8")
    watched.look()
    assert count(watched.store) == 2


# As a network drive is.
def test_a_folder_that_is_gone_for_a_while_is_waited_for(watched: Watched) -> None:
    write_setting_data(watched.folder)
    write_log(watched.folder, [{}])
    away = watched.folder.with_name("away")
    watched.folder.rename(away)
    for _ in range(2):
        assert watched.look() == []
        assert len(watched.complaints) == 1
    assert "in: No such file or directory" in watched.complaints[0]
    away.rename(watched.folder)
    assert watched.look() == ["SITE-1_log.csv", "setting_data.csv"]
    watched.folder.rename(away)
    watched.look()
    assert len(watched.complaints) == 2


def test_what_the_system_refuses_a_load_is_told_and_tried_again(
    watched: Watched, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_setting_data(watched.folder)
    with monkeypatch.context() as patched:

        def refused(*_: object) -> None:
            raise PermissionError(errno.EACCES, "Permission denied", "in")

        patched.setattr("etl.intake.gather", refused)
        watched.look()
    assert watched.complaints == ["in: Permission denied"]
    watched.now_s += RETRY_S
    assert watched.look() == ["setting_data.csv"]
