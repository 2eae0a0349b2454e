"""The command line: names, exit codes, formats, and errors of one line."""

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import build_store, write_log

# The JSON of `rates` that other people's scripts rely on.
RATE_NAMES = [
    "check",
    "installations",
    "judged",
    "nonconforming",
    "unrecorded",
    "unreadable",
    "inapplicable",
    "rate",
    "low",
    "high",
    "rate_if_unrecorded_conform",
    "rate_if_unrecorded_not",
]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return build_store(
        tmp_path,
        [
            {},
            {"setting_torque_nm": "30", "edge_1_mm": "clear"},
            {"crew_code": "", "note": "=2+3"},
        ],
    )


def run(store: Store, *arguments: str) -> int:
    return main([*arguments, "--store", str(store.folder)])


def test_rates_json(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--check", "setting_torque", "--format", "json"]
    assert run(store, "rates", "--by", "site,week", *options) == 0
    [row] = json.loads(capsys.readouterr().out)
    assert list(row) == ["site", "week", *RATE_NAMES]
    # 2026-05-04 is the Monday of ISO week 19; one of two anchors is under-torqued.
    assert (row["site"], row["week"]) == ("SITE-1", "2026-W19")
    assert (row["judged"], row["nonconforming"], row["rate"]) == (2, 1, 0.5)


# Given again, an option adds; said once more, nothing is counted twice.
def test_a_filter_may_be_given_again(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    names = [
        *("--check", "setting_torque", "--check", "tilt,edge_distance"),
        *("--site", "SITE-1", "--site", "site-1"),
    ]
    assert run(store, "rates", "--by", "site", *names, "--format", "json") == 0
    rows = json.loads(capsys.readouterr().out)
    assert {row["check"] for row in rows} == {"setting_torque", "tilt", "edge_distance"}
    assert all(row["installations"] == 2 for row in rows)


def test_rates_undefined_is_null(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [{"setting_torque_nm": ""}])
    run(store, "rates", "--check", "setting_torque", "--format", "json")
    [row] = json.loads(capsys.readouterr().out)
    assert (row["rate"], row["low"], row["high"]) == (None, None, None)


def test_rates_csv_and_table_show_the_same(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--by", "crew", "--check", "setting_torque"]
    run(store, "rates", *options, "--format", "csv")
    [row] = csv.DictReader(io.StringIO(capsys.readouterr().out))
    assert (row["crew"], row["judged"], row["rate"]) == ("CREW-1", "2", "0.5")
    run(store, "rates", *options)
    head, line = capsys.readouterr().out.splitlines()
    assert head.split()[:3] == ["crew", "check", "installations"]
    assert "50.00 %" in line


def test_receipts_and_rejects(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    run(store, "receipts", "--format", "json")
    log, sheet = json.loads(capsys.readouterr().out)
    assert (sheet["content"], sheet["loaded"]) == ("setting data", 1)
    fates = [log[name] for name in ("loaded", "revised", "duplicate", "rejected")]
    assert (log["rows_read"], fates) == (3, [2, 0, 0, 1])
    run(store, "rejects", "--format", "json")
    [reject] = json.loads(capsys.readouterr().out)
    assert (reject["source_row"], reject["reason_code"]) == (4, "no_crew_code")
    assert json.loads(reject["raw_text"])["note"] == "=2+3"


def test_record(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    run(store, "record", "site-1", "R2", "--format", "json")
    found = json.loads(capsys.readouterr().out)
    assert found["logged"]["edge_1_mm"] == "clear"
    assert (found["file_name"], found["source_row"]) == ("SITE-1_log.csv", 3)
    verdicts = {row["check"]: row["verdict"] for row in found["verdicts"]}
    assert verdicts["setting_torque"] == "nonconforming"
    assert "does not accept, reject or certify" in found["caution"]
    run(store, "record", "SITE-1", "R2")
    text = capsys.readouterr().out
    assert "set to 30 Nm, 49.5 to 60.5 required" in text
    assert "does not accept, reject or certify" in text


def test_text_that_a_spreadsheet_would_run_is_disarmed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [{"crew_code": "=cmd()"}])
    run(store, "rates", "--by", "crew", "--format", "csv")
    assert "'=CMD()" in capsys.readouterr().out


def test_load_prints_receipts_and_a_sum(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_log(tmp_path / "more", [{}, {"crew_code": ""}], site="SITE-2")
    assert run(store, "load", str(path)) == 0
    assert capsys.readouterr().out.endswith(
        "1 file: 2 rows read = 1 loaded + 0 revised + 0 duplicate + 1 rejected; "
        f"edition 2 published\nfirmset rejects --store {store.folder} lists the "
        "rejected rows, each with its reason\n"
    )
    assert run(store, "load", str(path), "--strict") == 3
    assert "nothing new: loaded before, see receipt 3" in capsys.readouterr().out


def test_nothing_is_taken_back_from_a_store_that_is_not_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "missing"
    assert main(["unload", "1", "--store", str(missing)]) == 2
    assert f"{missing}: no store is here" in capsys.readouterr().err
    assert not missing.exists()


@pytest.mark.parametrize("within", [[], ["notes.md", ".hidden.csv", "harbour.toml"]])
def test_a_folder_with_nothing_to_load_is_an_error(
    store: Store,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    within: list[str],
) -> None:
    folder = tmp_path / "nothing"
    (folder / "deeper").mkdir(parents=True)
    (folder / "deeper" / "log.csv").write_text("a\n", "utf-8")
    for name in within:
        (folder / name).write_text("", "utf-8")
    for options in ([], ["--dry-run"]):
        assert run(store, "load", str(folder), *options) == 2
        said = capsys.readouterr()
        assert f"{folder}: holds no file to load; expected site logs" in said.err
        assert said.out == ""


def test_a_map_is_drafted_of_a_file_not_a_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["map", str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert f"{tmp_path}: is a folder; expected one log of it" in said


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["serve", "--port", "65536"], "65536: expected a number from 1 to 65535"),
        (["serve", "--port", "-1"], "-1: expected a number from 1 to 65535"),
        (["serve", "--port", "web"], "web: expected a number from 1 to 65535"),
        (["unload", "abc"], "argument RECEIPT: abc: expected a number from 1 on"),
        (["retrain", "--budget", "x"], "x: expected a number from 1 on"),
        (["retrain", "--budget", f"{2**64}"], f"{2**64}: expected a number from 1 on"),
        (["records", "--limit", f"{2**63}"], f"{2**63}: expected a number from 0 on"),
        (["calibrate", "--seed", "-1"], "-1: expected a number from 0 on"),
        (["training", "--weeks", "5000"], "5000: expected a number from 1 to 520"),
        (["training", "--on", "0001-01-05"], "expected a date as 2026-01-31"),
        (["drilling", "--crews", "9999"], "9999: expected a number from 1 to 1000"),
        (["load", "--every", "0", "x"], "0: expected seconds, 0.1 or more"),
        (["load", "--settle", "soon", "x"], "soon: expected seconds from 0"),
    ],
)
def test_an_option_that_cannot_be_says_what_was_expected(
    store: Store,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    words: str,
) -> None:
    with pytest.raises(SystemExit) as ended:
        run(store, *arguments)
    assert ended.value.code == 2
    assert words in capsys.readouterr().err


def test_a_failed_file_is_exit_1(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stray = tmp_path / "stray.csv"
    stray.write_text("a,b\n1,2\n", "utf-8")
    assert run(store, "load", str(stray)) == 1
    printed = capsys.readouterr()
    assert f"firmset: {stray}: no site map matches" in printed.err
    assert printed.out.startswith("0 files taken, 1 failed: 0 rows read")
    assert "firmset rejects" not in printed.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["rates", "--by", "colour"], "unknown key 'colour': expected site, crew"),
        (["rates", "--check", "colour"], "unknown check 'colour'"),
        (["rates", "--site", "NOWHERE"], "unknown site 'NOWHERE': expected SITE-1"),
        (["rates", "--crew", "X"], "unknown crew 'X': expected CREW-1"),
        (["rejects", "--receipt", "9"], "--receipt 9: there is none with this number"),
        (["rejects", "--with-cleared", "--format", "csv"], "expected --format table"),
        (["rates", "--size", "M99"], "unknown size 'M99': expected M12"),
        (["rates", "--from", "2026-02-01", "--to", "2026-01-01"], "lies after --to"),
        (["record", "SITE-1", "R99"], "no record 'R99' of site 'SITE-1'"),
        (["load", "missing.csv"], "missing.csv: no such file or folder"),
        (["unload", "99"], "receipt 99: there is none with this number"),
    ],
)
def test_an_error_is_one_line_and_exit_2(
    store: Store,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    words: str,
) -> None:
    assert run(store, *arguments) == 2
    captured = capsys.readouterr()
    assert words in captured.err
    assert len(captured.err.splitlines()) == 1
    assert captured.out == ""


@pytest.mark.parametrize(
    "arguments",
    [
        ["rates", "--from", "31.01.2026"],
        ["colour"],
        [],
        ["demo", "--installations", "0"],
    ],
)
def test_wrong_usage_is_exit_2(arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(arguments)
    assert stop.value.code == 2


def test_a_store_that_is_not_there_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rates", "--store", str(tmp_path / "nothing")]) == 2
    assert "no edition is published here" in capsys.readouterr().err


# A question in the terminal must not wait for the dashboard's libraries.
def test_rates_does_not_import_the_dashboard(store: Store) -> None:
    program = (
        "import sys; from dashboard.command import main; "
        f"main(['rates', '--store', {str(store.folder)!r}]); "
        "sys.exit('dash' in sys.modules or 'plotly' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0
