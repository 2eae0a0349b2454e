"""What a command cannot do is one line; what is asked of an edition it answers."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import build_store, load, write_log


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    return build_store(tmp_path_factory.mktemp("refused"), [{}])


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (
            ["records", "--wrenhc=W1"],
            (
                "--wrenhc: no option of firmset records, expected --wrench, by its "
                "likeness; firmset records --help lists all"
            ),
        ),
        (
            ["rates", "2026"],
            "2026: no argument of firmset rates, firmset rates --help lists all",
        ),
    ],
)
def test_an_option_that_a_command_does_not_have_is_one_line(
    store: Store, capsys: pytest.CaptureFixture[str], asked: list[str], words: str
) -> None:
    assert run(store, *asked) == 2
    assert capsys.readouterr().err == f"firmset: {words}\n"


def run(store: Store, *arguments: str) -> int:
    return main([*arguments, "--store", str(store.folder)])


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--vibration", "12"], "drilling: --vibration: expected --size or --bill"),
        (["--crews", "3"], "drilling: --crews: expected --size or --bill with it"),
        (
            ["--bill", "list.csv", "--method", "core", "--reference", "50"],
            "drilling: --reference, --method: expected --size with it",
        ),
    ],
)
def test_an_option_that_would_change_nothing_is_refused(
    store: Store, capsys: pytest.CaptureFixture[str], options: list[str], words: str
) -> None:
    assert run(store, "drilling", *options) == 2
    assert words in capsys.readouterr().err


def test_an_answer_that_cannot_be_written_is_one_line(store: Store) -> None:
    """A full disk, as Linux has one to try with."""
    command = [sys.executable, "-m", "dashboard.command", "rates"]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*command, "--store", str(store.folder)],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
        )
    assert done.returncode == 2
    assert done.stderr.startswith("firmset: the answer cannot be written: ")
    assert done.stderr.count("\n") == 1


# What may not be read cannot be tried by an administrator, whom nothing stops: a name
# longer than a system takes is refused at the same places.
UNREADABLE = "x" * 300


@pytest.mark.parametrize(
    "arguments",
    [
        ["load", f"{UNREADABLE}/log.csv"],
        ["map", UNREADABLE],
        ["migrate", "--store", UNREADABLE],
        ["demo", "--no-serve", "--store", UNREADABLE],
        ["report", "--site", "SITE-1", "--out", f"{UNREADABLE}.pdf"],
    ],
)
def test_what_the_system_refuses_is_one_line_with_its_name(
    store: Store, capsys: pytest.CaptureFixture[str], arguments: list[str]
) -> None:
    own = [] if "--store" in arguments else ["--store", str(store.folder)]
    assert main([*arguments, *own]) == 2
    err = capsys.readouterr().err
    assert err.startswith("firmset: xxx") and err.count("\n") == 1
    assert err.endswith(": File name too long\n")


def test_any_text_is_written_whatever_the_code_page(tmp_path: Path) -> None:
    """A Polish note, and an exit code of 0, where the system writes Windows-1252."""
    made = build_store(tmp_path, [{"crew_code": "", "note": "łuk"}])
    command = [sys.executable, "-m", "dashboard.command", "rejects"]
    done = subprocess.run(
        [*command, "--format", "csv", "--store", str(made.folder)],
        env=os.environ | {"PYTHONIOENCODING": "cp1252"},
        capture_output=True,
    )
    assert done.returncode == 0
    assert "łuk" in done.stdout.decode("utf-8")


def test_a_host_that_is_none_is_one_line(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(store, "serve", "--host", "999.1.1.1") == 2
    assert "999.1.1.1:8050: cannot be served" in capsys.readouterr().err


@pytest.mark.parametrize("command", [["records", "--verdict", "any"], ["changes"]])
def test_an_edition_before_answers_as_it_did(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    made = build_store(tmp_path, [{"record_id": "A", "installed_on": "2026-05-04"}])
    more = [{"record_id": "B", "installed_on": "2026-06-04"}]
    load(made, write_log(tmp_path / "more", more, name="more"))
    said = []
    for edition in ("1", "2"):
        assert run(made, *command, "--edition", edition, "--format", "csv") == 0
        said.append(capsys.readouterr().out)
    assert said[0] != said[1]
