"""Site maps of a store: sent, checked, in force, former; and names of what is sent."""

import errno
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from dashboard.app import create_app
from dashboard.uploads import work
from dashboard.uploads.routes import Writing
from etl.site_map import read_site_map
from etl.store_maps import keep_map, map_of_sha256, maps_of
from etl.upload import (
    LONGEST_NAME_BYTES,
    clean_name,
    find_upload,
    stage_upload,
    sweep,
)
from queries.errors import FirmsetError
from queries.store import Store
from tests.dashboard.components import text

MAP = """
[site]
code = "QUAY"
name = "Invented quay"
time_zone = "Europe/Lisbon"

[files]
match = "quay_*.csv"

[columns]
record_id = "No"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Anchor"
"""
OWN = {"Origin": "http://localhost"}


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path)


def names(store: Store, *, in_force: bool) -> list[str]:
    return [one.name for one in maps_of(store) if one.in_force is in_force]


@pytest.mark.parametrize("room", [0, 1])
def test_a_full_disk_leaves_no_part_of_a_map(
    store: Store, monkeypatch: pytest.MonkeyPatch, room: int
) -> None:
    """Of two files, the former map and the new one, the disk has room for `room`."""
    keep_map(store, "quay.toml", MAP.encode())
    written = []

    def write_until_full(path: Path, text: str, *_: object, **__: object) -> int:
        if path.suffix != ".partial":  # As each map is read by a file of its own.
            return path.write_bytes(text.encode())
        written.append(path)
        path.write_bytes(text.encode()[:10])
        if len(written) > room:
            raise OSError(errno.ENOSPC, "No space left on device")
        return len(text)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "write_text", write_until_full)
        with pytest.raises(OSError, match="No space left"):
            keep_map(store, "quay.toml", MAP.replace('"Crew"', '"Gang"').encode())
    files = [path for path in (store.folder / "maps").rglob("*") if path.is_file()]
    assert [(path.name, path.read_text("utf-8")) for path in files] == [
        ("quay.toml", MAP)
    ]


def test_a_changed_map_is_in_force_and_the_former_is_kept(store: Store) -> None:
    first = keep_map(store, "quay.toml", MAP.encode())
    changed = MAP.replace('"Crew"', '"Gang"')
    second = keep_map(store, "quay.toml", changed.encode())
    assert [(one.name, one.text) for one in maps_of(store)] == [
        ("quay.toml", changed),
        (f"quay.{first.sha256[:12]}.toml", MAP),
    ]
    assert names(store, in_force=True) == ["quay.toml"]
    # What is in force already is not stored once more.
    assert keep_map(store, "other.toml", changed.encode()).name == "quay.toml"

    assert len(maps_of(store)) == 2
    said = text(work.work(store, Writing(""), "", second.sha256))
    assert "has no fault and is in force. Former, and kept: quay." in said


def test_a_map_is_one_however_its_lines_end(store: Store, tmp_path: Path) -> None:
    kept = keep_map(store, "quay.toml", MAP.replace("\n", "\r\n").encode())
    assert map_of_sha256(store, kept.sha256) is not None
    keep_map(store, "quay.toml", MAP.replace("\n", "\r\n").encode())
    assert keep_map(store, "quay.toml", MAP.encode()).sha256 == kept.sha256
    assert names(store, in_force=False) == []
    for name, ends in (("unix", "\n"), ("dos", "\r\n")):
        path = tmp_path / f"{name}.toml"
        path.write_text(MAP, "utf-8", newline=ends)
        assert read_site_map(path).sha256 == kept.sha256


def test_a_map_for_the_same_files_replaces_one_of_another_name(store: Store) -> None:
    keep_map(store, "quay.toml", MAP.encode())
    keep_map(store, "quay_new.toml", MAP.replace('"Crew"', '"Gang"').encode())
    assert names(store, in_force=True) == ["quay_new.toml"]


def test_a_map_from_another_day_on_stands_beside_the_first(store: Store) -> None:
    keep_map(store, "quay.toml", MAP.encode())
    later = MAP.replace('.csv"', '.csv"\nvalid_from = 2026-03-01')
    keep_map(store, "quay_2026.toml", later.encode())
    assert names(store, in_force=True) == ["quay.toml", "quay_2026.toml"]


def test_a_name_that_another_site_has_is_refused(store: Store) -> None:
    keep_map(store, "map.toml", MAP.encode())
    other = MAP.replace("QUAY", "PIER").replace("quay_", "pier_")
    with pytest.raises(FirmsetError, match="is in force for the site QUAY"):
        keep_map(store, "map.toml", other.encode())
    assert names(store, in_force=True) == ["map.toml"]


def test_every_fault_is_listed_and_nothing_is_stored(store: Store) -> None:
    client = create_app(store, Writing("")).server.test_client()
    bad = MAP.replace("Europe/Lisbon", "Lisbon").replace("quay_*.csv", "quay/*.csv")
    answer = client.post("/intake/maps?name=quay.toml", data=bad, headers=OWN)
    assert answer.status_code == 422
    head, zone, match = answer.get_json()["problems"]
    assert head == "quay.toml: 2 faults:"
    # Counted in MAP: the first line is blank.
    assert zone.startswith("line 5: [site] time_zone = 'Lisbon': expected")
    assert match.startswith("line 8: [files] match = 'quay/*.csv': matches no log")
    assert maps_of(store) == []


def test_a_map_is_sent_and_given_out_again(store: Store) -> None:
    client = create_app(store, Writing("")).server.test_client()
    answer = client.post("/intake/maps?name=..%2Fquay", data=MAP, headers=OWN)
    (kept,) = maps_of(store)
    assert answer.get_json() == {"address": f"/intake?map={kept.sha256}"}
    given = client.get(f"/intake/maps/{kept.sha256}.toml")
    assert given.get_data(as_text=True) == MAP
    assert given.headers["Content-Disposition"].endswith("''quay.toml")
    assert client.get("/intake/maps/nothing.toml").status_code == 404
    too_long = client.post("/intake/maps", data=b"#" * (1024**2 + 1), headers=OWN)
    assert too_long.status_code == 413


@pytest.mark.parametrize(
    ("name", "cleaned"),
    [
        ("log.csv", "log.csv"),
        ("../../ledger.duckdb", "ledger.duckdb"),
        ("C:\\logs\\Öl 3.csv", "Öl 3.csv"),
        ("/etc/passwd", "passwd"),
        ("..", "_"),
        ("", "_"),
        (".hidden.csv", "hidden.csv"),
        ("a\0b\nc\u202e.csv", "a_b_c_.csv"),
        ("con.csv", "_con.csv"),
        ('a<b>"c".csv', "a_b__c_.csv"),
        ("--store=x.csv", "--store=x.csv"),
    ],
)
def test_hostile_names_are_cleaned(store: Store, name: str, cleaned: str) -> None:
    assert clean_name(name) == cleaned
    upload = stage_upload(store, [b"x"], name)
    assert upload.path.read_bytes() == b"x"
    assert upload.path.parent.parent.parent == store.folder / "uploads"


def test_a_long_name_keeps_its_ending() -> None:
    cleaned = clean_name("ü" * 500 + ".csv.gz")
    assert cleaned.endswith("ü.csv.gz")
    assert len(cleaned.encode()) <= LONGEST_NAME_BYTES


def test_an_upload_goes_after_an_hour(store: Store) -> None:
    upload = stage_upload(store, [b"x"], "a.csv")
    sweep(store, datetime.now(UTC) + timedelta(minutes=59))
    assert find_upload(store, upload.token) == upload
    sweep(store, datetime.now(UTC) + timedelta(minutes=61))
    assert find_upload(store, upload.token) is None
    assert list((store.folder / "uploads").iterdir()) == []


def test_so_many_wait_at_most(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("etl.upload.MOST_STAGED", 1)
    stage_upload(store, [b"x"], "a.csv")
    with pytest.raises(FirmsetError, match="wait to be loaded already"):
        stage_upload(store, [b"x"], "b.csv")


def test_an_empty_file_is_refused(store: Store) -> None:
    with pytest.raises(FirmsetError, match=r"a\.csv: the file is empty"):
        stage_upload(store, [], "a.csv")


def test_an_upload_of_another_version_is_none(store: Store) -> None:
    upload = stage_upload(store, [b"x"], "log.csv")
    state = upload.folder / "state.json"
    state.write_text(state.read_text("utf-8").replace("{", '{"other": 1, ', 1), "utf-8")
    assert find_upload(store, upload.token) is None
