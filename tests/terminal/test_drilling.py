"""`firmset drilling` and the page: the same figures, from three small sites."""

import base64
import csv
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from dash import html

from dashboard.app import route
from dashboard.command import main
from dashboard.drilling_options_words import (
    bill_words,
    saving,
)
from dashboard.pages.drilling_bill import bill_answer
from queries.readers.drilling_bill import BillLine, weigh_bill
from queries.readers.drilling_model import read_drilling_data
from queries.readers.drilling_support import Asked, read_offered
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import (
    hrefs,
    lead,
    rows,
    table,
    tables,
    text,
    walk,
    whole_answer,
)

M6: Row = {
    "setting_code": "M6-40",
    "anchor_size": "M6",
    "drill_diameter_mm": 6,
    "embedment_mm": 40,
    "nominal_embedment_mm": 44,
    "hole_depth_mm": 45,
}


def holes(site: int) -> list[Row]:
    """Return 60 holes of two crews, times about 10 s at a fixed pattern of +-20 %.

    Of the 57 that were kept, site 1 logs 20 s of cleaning and 40 s of setting each,
    site 2 only 30 s of cleaning, site 3 neither. What abandoned ones log is no such
    time.
    """
    handling: Row = {
        1: {"cleaning_s": 20, "setting_s": 40},
        2: {"cleaning_s": 30},
    }.get(site, {})
    lost: Row = {"outcome": "abandoned"} | dict.fromkeys(handling, 500)
    return [
        {
            "crew_code": f"C{site}{number % 2}",
            "installed_on": f"2026-05-{1 + number // 6:02d}",
            "hole_depth_mm": 88 + number % 9,
            "drill_s": round((8 + site) * (0.8 + 0.05 * (number * 7 % 9)), 1),
            **(lost if number % 20 == 19 else {"outcome": "set"} | handling),
        }
        for number in range(60)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder: Path = tmp_path_factory.mktemp("drilling")
    return build_store(
        folder, sites={"ASH": holes(1), "BAY": holes(2), "COVE": holes(3)}
    )


@pytest.fixture
def run(store: Store, capsys: pytest.CaptureFixture[str]) -> Any:
    def command(*options: str) -> tuple[int, str, str]:
        code = main(["drilling", *options, "--store", str(store.folder)])
        return code, *capsys.readouterr()

    return command


def test_options_in_three_forms(run: Any) -> None:
    code, out, _ = run("--size", "M12", "--embedment", "68", "--format", "json")
    assert code == 0
    found = json.loads(out)
    (option,) = found["options"]
    assert option["cone_ratio"] == 1
    assert option["low_min"] < option["p50_min"] < option["p80_min"]
    assert found["model"]["sites"] == 3
    assert any("proposes none" in caution for caution in found["cautions"])
    _, out, _ = run("--size", "M12", "--embedment", "68", "--format", "csv")
    (row,) = csv.DictReader(io.StringIO(out))
    assert float(row["p50_min"]) == pytest.approx(option["p50_min"], rel=1e-6)
    _, out, _ = run("--size", "M12", "--embedment", "68")
    assert f"{option['p50_min']:.2f}" in out
    assert "proposes none" in out


HANDLING = (
    "cleaning 25 s an anchor (114 anchors; means of 2 sites 20 s to 30 s), "
    "setting 40 s an anchor (57 anchors; 1 site)."
)


def test_cleaning_and_setting_where_logged(run: Any, store: Store) -> None:
    """The means by hand: (57 x 20 + 57 x 30) / 114 s, and 40 s."""
    _, out, _ = run("--size", "M12", "--embedment", "68", "--format", "json")
    found = json.loads(out)
    (option,) = found["options"]
    assert option["handling_s"] == pytest.approx(25 + 40)
    with_them = option["hours_per_100_p50"] + 100 * 65 / 3600
    assert option["hours_per_100_with_handling"] == pytest.approx(with_them)
    _, out, _ = run("--size", "M12", "--embedment", "68")
    assert HANDLING in out.replace("\xa0", " ")
    said = f"with cleaning and setting at the means logged {with_them:.2f} h"
    assert said in out.replace("\xa0", " ")
    body = whole_answer(store, "/drilling", "?size=M12&embedment=68")
    assert HANDLING in text(body).replace("\xa0", " ")
    shown = dict(rows(table(body, "Embedments side by side")))
    assert shown["Drilling (P50) with cleaning and setting, h per 100"] == (
        f"{with_them:.2f}"
    )
    (cost,) = rows(table(body, "Drilling by size and method"))
    assert cost[-2:] == ["25.0 of 114", "40.0 of 57"]


def test_a_bill_adds_cleaning_and_setting(run: Any, tmp_path: Path) -> None:
    bill = tmp_path / "bill.csv"
    bill.write_text("size,embedment,count\nM12,68,144\n", "utf-8")
    _, out, _ = run("--bill", str(bill), "--format", "json")
    found = json.loads(out)
    assert found["handling_h"] == pytest.approx(144 * 65 / 3600)  # 2.6 h
    assert found["handled"] == 144
    assert found["is_all_handled"]
    _, out, _ = run("--bill", str(bill))
    assert (
        "With cleaning and setting, at the means logged, "
        f"{found['p50_h'] + found['handling_h']:.2f} h at 50 %."
    ) in out.replace("\xa0", " ")


def test_a_bill_of_one_line_adds_up(run: Any, store: Store, tmp_path: Path) -> None:
    """Only where the printed figures differ is it said that lines do not add up."""
    for content, differs in (
        ("M12,68,100\n", False),
        ("M12,68,1\n" * 200, True),
    ):
        bill = tmp_path / "bill.csv"
        bill.write_text("size,embedment,count\n" + content, "utf-8")
        _, out, _ = run("--bill", str(bill), "--format", "json")
        found = json.loads(out)
        printed = [f"{found[name]:.2f}" for name in ("p80_h", "sum_of_p80_h")]
        assert (printed[0] != printed[1]) is differs
        data = "data:text/csv;base64," + base64.b64encode(bill.read_bytes()).decode()
        answer = bill_answer(store, data, "bill.csv", "")
        said = text(answer)
        assert ("Adding up the lines'" in said) is differs
        (caption,) = [each["caption"] for each in tables(answer)]
        assert ("not add up" in caption) is differs


def test_a_bill_of_which_only_cleaning_is_logged(store: Store, tmp_path: Path) -> None:
    with store.reader() as con:
        data, offered = read_drilling_data(con), read_offered(con)
    cleaned = replace(data, handling=data.handling.filter(pl.col("step") == "cleaning"))
    lines = [BillLine(2, Asked("M12", 68), 144)]
    bill = weigh_bill(cleaned, offered, lines, name="b.csv", site_code=None)
    assert not bill.is_all_handled
    said = bill_words(bill, "a site").replace("\xa0", " ")
    assert "add 1.00 h (as far as either is logged)" in said  # 144 x 25 s


def test_the_data_and_the_model_without_a_question(run: Any) -> None:
    code, out, _ = run("--format", "json")
    assert code == 0
    found = json.loads(out)
    assert [row["used"] for row in found["sites"]] == [60, 60, 60]
    assert found["model"]["holes"] == 171  # 57 a site were not abandoned
    _, out, _ = run()
    assert "180/180 attempts have a depth and a time to use." in out.replace(
        "\xa0", " "
    )
    assert "Each site foretold by the others alone" in out


def test_without_a_model_the_data_are_said_and_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    few = build_store(tmp_path, [{"hole_depth_mm": "92", "drill_s": "12"}] * 3)
    for form in ("table", "json", "csv"):
        options = ["--format", form, "--store", str(few.folder)]
        assert main(["drilling", *options]) == 0
        out, error = capsys.readouterr()
        assert error == ""
        assert ("No model of drilling time: expected" in out) == (form == "table")


def test_a_bill_by_command_and_upload(run: Any, store: Store, tmp_path: Path) -> None:
    bill = tmp_path / "bill.csv"
    bill.write_text("size,embedment,count\nM12,68,100\nM12,68,20\n", "utf-8")
    code, out, _ = run("--bill", str(bill), "--site", "BAY", "--format", "json")
    assert code == 0
    found = json.loads(out)
    assert found["holes"] == 120
    assert found["low_h"] < found["p50_h"] < found["p80_h"] < found["high_h"]
    assert [line["row"] for line in found["lines"]] == [2, 3]
    data = "data:text/csv;base64," + base64.b64encode(bill.read_bytes()).decode()
    answer = bill_answer(store, data, "bill.csv", "?at=BAY")
    said = text(answer).replace("\xa0", " ")
    assert f"{found['p50_h']:.2f} h of drilling at 50 % confidence" in said
    assert f"{found['p80_h']:.2f} h at 80 %" in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--size", "M16"), "unknown size 'M16': expected M12"),
        (("--size", "M12", "--embedment", "200"), "outside the data"),
        (("--size", "M12", "--site", "FIR"), "unknown site 'FIR': expected ASH"),
        (("--size", "M12", "--vibration", "90"), "vibration 90: expected m/s²"),
        (("--size", "M12", "--reference", "70"), "expected one of the embedments"),
        (("--size", "M12", "--bill", "b.csv"), "--size or --bill, not both"),
        (("--bill", "nowhere.csv"), "nowhere.csv: No such file"),
        (("--embedment", "68"), "expected --size or --bill"),
    ],
)
def test_wrong_options_are_one_line(
    run: Any, options: tuple[str, ...], words: str
) -> None:
    code, out, err = run(*options)
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1


def test_page_answers_what_the_address_asks(run: Any, store: Store) -> None:
    body, _, _ = route(store, "/drilling", "?size=M12&embedment=68,200&at=BAY")
    content = table(body, "Embedments side by side")
    by_name = {row[0]: row[1:] for row in rows(content)}
    _, out, _ = run("--size", "M12", "--embedment", "68,200", "--site", "BAY", *_CSV)
    short, deep = csv.DictReader(io.StringIO(out))
    assert [head.replace("\xa0", " ") for head in content["heads"]] == [
        *("Embedment", "68 mm (reference)", "200 mm")
    ]
    asked, refused = by_name["Drilling per good hole, s, P50"]
    assert asked.replace("\xa0", " ") == (
        f"{60 * float(short['p50_min']):.1f} {float(short['p50_min']):.2f} min"
    )
    assert refused == "–"
    assert by_name["Drilling, h per 100, P50"][0] == (
        f"{float(short['hours_per_100_p50']):.2f}"
    )
    assert "outside the data" in deep["note"]
    assert deep["note"] in text(body)
    assert "proposes none" in text(body)


_CSV = ("--format", "csv")


def test_holes_per_shift_are_given_or_the_logs_median(run: Any, store: Store) -> None:
    """Each crew has logged 3 holes a day; 60 a shift give twenty times the points."""
    asked = "?size=M12&embedment=68&vibration=12"
    points = {}
    for search, said in (
        ("", "A shift is taken for 3 holes"),
        ("&shift=60", "A shift is 60 holes by one pair of hands, as given."),
    ):
        body, _, _ = route(store, "/drilling", asked + search)
        assert said in text(body)
        shown = dict(rows(table(body, "Embedments side by side")))
        points[search] = float(shown["Points a shift"])
        field = next(
            part
            for part in walk(body)
            if getattr(part, "id", None) == {"type": "ask", "name": "shift"}
        )
        assert field.placeholder == "3, the logs' median"
    options = ("--size", "M12", "--embedment", "68", "--vibration", "12")
    _, out, _ = run(*options, "--holes-per-shift", "60", *_CSV)
    (row,) = csv.DictReader(io.StringIO(out))
    assert points["&shift=60"] == pytest.approx(float(row["points_per_shift"]), 0.01)
    assert points["&shift=60"] == pytest.approx(20 * points[""], abs=1.1)
    _, out, _ = run(*options)
    assert "A shift is taken for 3 holes" in out


@pytest.mark.parametrize(
    ("saved_h", "said"),
    [
        ((0.09, -0.02, 0.12), ["5.4 min", "−1.2 min", "7.2 min"]),
        ((0.1, -0.02, 0.12), ["0.10 h", "−0.02 h", "0.12 h"]),
    ],
)
def test_a_saving_under_a_tenth_of_an_hour_is_in_minutes(
    saved_h: tuple[float, float, float], said: list[str]
) -> None:
    names = ("saved_h_per_100", "saved_low_h", "saved_high_h")
    row = dict(zip(names, saved_h, strict=True))
    assert [part.replace("\xa0", " ") for part in saving(row)] == said


def test_page_answers_first_and_explains_last(run: Any, store: Store) -> None:
    body = whole_answer(store, "/drilling", "?size=M12&embedment=68&at=BAY")
    _, out, _ = run("--size", "M12", "--embedment", "68", "--site", "BAY")
    lines = lead(body).splitlines()
    assert lines[0].startswith("M12, drilled with hammer, on Invented site BAY: ")
    assert all(line in out.splitlines() for line in lines)
    assert [part.children for part in walk(body) if isinstance(part, html.H2)] == [
        "Embedments side by side",
        "Hours for a list of anchors",
        "Time per good hole",
        "Seconds against depth, and holes lost on the way",
        "Which times are used",
        "What decides the time",
    ]
    per_hole = next(
        part for part in walk(body) if getattr(part, "id", None) == "per-hole"
    )
    assert "9/180 attempts were abandoned" in text(per_hole)
    assert "attempts were abandoned" not in lead(body)
    ids = [str(getattr(part, "id", "")) for part in walk(body)]
    inside = [href[1:] for href in hrefs(body) if href.startswith("#")]
    assert len(inside) == 6
    assert set(inside) <= set(ids)
