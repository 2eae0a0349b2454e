"""`firmset training` without --on: the register, placebos, the next waves."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv

MONDAY = date(2026, 1, 19)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Crew A falls from 8 to 1 of 40 a week on its training; three others stay."""
    folder: Path = tmp_path_factory.mktemp("training")
    rows: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(weeks=week, days=number % 5),
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for week in range(-6, 6)
        for crew, bad in (
            ("A", 8 if week < 0 else 1),
            *((other, 4) for other in ("B", "C", "D")),
        )
        for number in range(40)
    ]
    store = build_store(folder, rows)
    taught = [{"crew_code": "A", "topic": "setting_torque", "trained_on": MONDAY}]
    assert not load(store, write_csv(folder / "trainings.csv", taught)).failures
    return store


def run(store: Store, *options: str) -> int:
    return main(["training", *options, "--store", str(store.folder)])


def test_the_register(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(store, "--weeks", "6", "--format", "json") == 0
    [row] = json.loads(capsys.readouterr().out)
    assert (row["crew_code"], row["on"]) == ("A", "2026-01-19")
    assert (row["before_nonconforming"], row["after_nonconforming"]) == (48, 6)
    assert (row["trend"], row["problem"]) == (pytest.approx(1.0), "")
    assert run(store, "--weeks", "6") == 0
    said = capsys.readouterr().out
    assert "The rate fell by more than chance explains." in said
    assert "1 registered training: after 1 the rate fell" in said
    assert run(store, "--crew", "B", "--format", "csv") == 0
    assert len(capsys.readouterr().out.splitlines()) == 1


def test_placebo(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    # The one check that was taught, on the two days with four weeks on both sides: A is
    # in neither window, as it was trained within four weeks of both.
    assert run(store, "--placebo", "--weeks", "4", "--format", "json") == 0
    [row] = json.loads(capsys.readouterr().out)
    assert (row["check_name"], row["tried"]) == ("setting_torque", 6)
    assert row["share"] == 0
    run(store, "--placebo", "--weeks", "4")
    assert "are promised" in capsys.readouterr().out.replace("\xa0", " ")
    assert run(store, "--placebo") == 2
    assert "less than 24 weeks" in capsys.readouterr().err
    assert run(store, "--placebo", "--from", "2026-02-01") == 2
    assert "no training on a check is registered" in capsys.readouterr().err


def test_next(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    before = ("--to", "2026-01-18", "--check", "setting_torque")
    assert run(store, "--next", "1", *before, "--format", "json") == 0
    [row] = json.loads(capsys.readouterr().out)
    assert (row["crew"], row["wave"], row["from_on"]) == ("A", 1, "2026-01-19")
    run(store, "--next", "1", *before)
    assert "One crew needs no second wave." in capsys.readouterr().out
    with pytest.raises(SystemExit):
        run(store, "--next", "1", "--placebo")
