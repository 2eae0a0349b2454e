"""The progress bar: on a terminal only, and never on standard output."""

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from rich.console import Console
from rich.progress import Progress, TextColumn

from dashboard.command import main
from dashboard.terminal.progress import ProgressBar
from etl.intake import load_paths
from queries.store import Store
from tests.builders import load, write_log, write_setting_data

ROOT = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_setting_data(tmp_path)
    write_log(tmp_path, [{}] * 3, site="SITE-1")
    write_log(tmp_path, [{}] * 4, site="SITE-2")
    (tmp_path / "stray[red].csv").write_text("a\n1\n", "utf-8")
    return tmp_path


def test_the_bar_counts_files_and_rows(folder: Path, tmp_path: Path) -> None:
    out = io.StringIO()
    columns = (TextColumn("{task.description}"), TextColumn("{task.fields[rows]}"))
    console = Console(file=out, width=80)
    with Progress(*columns, console=console, auto_refresh=False) as progress:
        bar = ProgressBar(progress)
        load_paths(Store(tmp_path / "store"), [folder], progress=bar)
        [task] = progress.tasks
    # A sheet of 1 row, logs of 3 and 4, a file that fails.
    assert (task.completed, task.total, task.fields["rows"]) == (4, 4, 8)
    assert task.description == "stray[red].csv"


def test_nothing_is_drawn_where_stderr_is_no_terminal(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "stray[red].csv").unlink()
    options = ["--store", str(tmp_path / "store"), "--format", "json"]
    assert main(["load", str(folder), *options]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert len(json.loads(captured.out)) == 3


@pytest.mark.skipif(os.name == "nt", reason="needs a pseudo-terminal")
def test_on_a_terminal_it_is_drawn_on_stderr(folder: Path, tmp_path: Path) -> None:
    import pty

    master, terminal = pty.openpty()
    options = ["--store", str(tmp_path / "store"), "--format", "json"]
    process = subprocess.Popen(
        [sys.executable, "-m", "dashboard.command", "load", str(folder), *options],
        stdout=subprocess.PIPE,
        stderr=terminal,
        cwd=ROOT,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
    )
    os.close(terminal)
    drawn = b""
    while True:
        try:
            piece = os.read(master, 4096)
        except OSError:  # The other end was closed.
            break
        if not piece:
            break
        drawn += piece
    os.close(master)
    output, _ = process.communicate()
    assert process.returncode == 1  # The stray file.
    assert len(json.loads(output)) == 3
    plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", drawn.decode())
    assert "4/4" in plain
    assert "8 rows" in plain
    assert "no site map matches this name" in plain


def test_a_load_without_a_listener_is_silent(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    load(Store(tmp_path / "store"), folder)
    captured = capsys.readouterr()
    assert (captured.out, captured.err) == ("", "")
