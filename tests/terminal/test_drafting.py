"""firmset map: what goes where, exit codes, and that nothing is overwritten."""

import json
from pathlib import Path

import pytest

from dashboard.command import main
from etl.site_map import read_site_map

LOG = (
    "Lfd. Nr.;Datum;Kolonne;Setzdaten;Tiefe [cm];Verfahren;Wetter\n"
    "1;13.05.2026;A;M12-68;9,2;HB;Regen\n2;14.05.2026;A;M12-68;9,4;SB;\n"
)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "hafen_2026-05-14.csv"
    path.write_text(LOG, "utf-8")
    return path


def test_the_draft_goes_to_stdout_and_the_findings_to_stderr(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["map", str(log), "--site", "hafen"]) == 0
    captured = capsys.readouterr()
    path = tmp_path / "hafen.toml"
    path.write_text(captured.out, "utf-8")
    site_map = read_site_map(path)
    assert (site_map.site_code, site_map.match) == ("HAFEN", "hafen_*.csv")
    assert "hole_depth_mm = 'Tiefe [cm]' in cm: sure" in captured.err
    assert "not placed: 'Wetter'" in captured.err
    assert "question: which time zone is the site in?" in captured.err
    assert (
        "question: drill_method: what do 'HB', 'SB' mean? (hammer or " in captured.err
    )


def test_json_gives_the_findings_as_one_object(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["map", str(log), "--format", "json"]) == 0
    captured = capsys.readouterr()
    found = json.loads(captured.out)
    assert captured.err == ""
    by_name = {column["column"]: column for column in found["columns"]}
    assert by_name["hole_depth_mm"]["unit"] == "cm"
    assert by_name["hole_depth_mm"]["sureness"] == "sure"
    assert by_name["drill_method"]["is_active"] is False
    assert by_name["drill_method"]["unknown_words"] == ["HB", "SB"]
    assert found["layout"]["delimiter"]["value"] == ";"
    assert found["dates"]["format"] == "%d.%m.%Y"
    assert found["unplaced_headers"] == ["Wetter"]
    assert found["needed_not_found"] == []
    assert found["toml"].startswith("# Drafted from hafen_2026-05-14.csv.")


def test_one_of_a_cells_figures_is_named_with_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "log.csv"
    path.write_text("No.,Depth (req/found) mm\n1,90/93\n2,90/91\n", "utf-8")
    assert main(["map", str(path)]) == 1
    assert "hole_depth_mm = 'Depth (req/found) mm', 2 of 2 in mm: sure" in (
        capsys.readouterr().err
    )
    assert main(["map", str(path), "--format", "json"]) == 1
    columns = json.loads(capsys.readouterr().out)["columns"]
    found = {one["column"]: (one["split"], one["piece"]) for one in columns}
    assert found == {"record_id": (None, None), "hole_depth_mm": ("/", "2 of 2")}


def test_out_is_written_and_never_replaced(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "hafen.toml"
    assert main(["map", str(log), "--out", str(out)]) == 0
    assert capsys.readouterr().out == ""
    assert read_site_map(out).site_code == "HAFEN"
    out.write_text("mine", "utf-8")
    assert main(["map", str(log), "--out", str(out)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert out.read_text("utf-8") == "mine"


def test_a_needed_column_that_is_not_found_is_exit_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.csv"
    log.write_text("Datum,Kolonne\n2026-05-04,A\n", "utf-8")
    assert main(["map", str(log)]) == 1
    captured = capsys.readouterr()
    assert '# setting_code = "?"  # needed, and not found' in captured.out
    assert "needed and not found: record_id, setting_code" in captured.err


def test_a_needed_column_that_is_only_guessed_is_said_to_be(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.csv"
    log.write_text("Nr;Datum;Kolonne;Anker\n1;2026-05-04;A;M12\n", "utf-8")
    assert main(["map", str(log)]) == 1
    captured = capsys.readouterr()
    assert '# setting_code = "Anker"  # guess' in captured.out
    assert "# needed, and only guessed above; if that is not it; {from" in captured.out
    assert "needed and only guessed: setting_code" in captured.err
    assert "not found" not in captured.out + captured.err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--sheet", "Blatt1"], "has no sheets; --sheet is for workbooks"),
        (["--out", "/nowhere/at/all/map.toml"], "cannot be written"),
    ],
)
def test_what_cannot_be_is_one_line_and_exit_2(
    log: Path, capsys: pytest.CaptureFixture[str], options: list[str], words: str
) -> None:
    assert main(["map", str(log), *options]) == 2
    captured = capsys.readouterr()
    assert words in captured.err
    assert len(captured.err.splitlines()) == 1
    assert captured.out == ""
