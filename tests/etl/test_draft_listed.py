"""Drafts of logs that list their values, and of those that only look so."""

import csv
import json
from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from etl.draft.write import toml_of
from etl.intake import load_paths
from tests.builders import NOW, build_store

VALUES = {
    "Anchor spec": ("M12-68", ""),
    "Hole depth": ("92", "mm"),
    "Hole cleaned": ("Yes", ""),
    "Torque": ("55", "Nm"),
    "Weather": ("dry", ""),
    "Tilt": ("", ""),
}
GERMAN = {
    "Setzdaten": ("M12-68", ""),
    "Bohrlochtiefe": ("9,2", "cm"),
    "Bohrloch gereinigt": ("Ja", ""),
    "Drehmoment": ("55", "Nm"),
}


def listed(
    values: dict[str, tuple[str, str]] = VALUES,
    heads: tuple[str, ...] = ("Anchor no.", "Date", "Crew", "Item", "Result", "Unit"),
    *,
    fill_down: bool = False,
) -> list[list[str]]:
    """Return eight invented anchors, a row each value, with the column names above."""
    rows = [[*heads]]
    for number in range(1, 9):
        own = [f"A{number}", f"2026-05-{number:02}", f"K{number % 2 + 1}"]
        for place, (name, (value, unit)) in enumerate(values.items()):
            first = own if place == 0 or not fill_down else ["", "", ""]
            rows.append([*first, name, value, unit])
    return rows


def drafted(folder: Path, rows: list[list[str]], name: str = "checks.csv") -> Draft:
    """Write rows as the kind of file that the name says, and draft a map of them."""
    path = folder / name
    if path.suffix == ".jsonl":
        heads, *data = rows
        lines = [json.dumps(dict(zip(heads, row, strict=True))) for row in data]
        path.write_text("\n".join(lines), "utf-8")
    else:
        with path.open("w", encoding="utf-8", newline="") as target:
            csv.writer(target, delimiter=";").writerows(rows)
    return draft_of(path)


def active(draft: Draft) -> dict[str, str]:
    return {one.column.name: one.header for one in draft.active}


# What each name means is common practice of the trade, no source; the depth is that of
# the log, 92 mm, in whatever unit it stands there.
@pytest.mark.parametrize("fill_down", [False, True])
@pytest.mark.parametrize(
    ("heads", "values", "name"),
    [
        (("Anchor no.", "Date", "Crew", "Item", "Result", "Unit"), VALUES, "log.csv"),
        (("Anchor no.", "Date", "Crew", "Item", "Result", "Unit"), VALUES, "log.jsonl"),
        (
            ("Anker-Nr.", "Datum", "Kolonne", "Prüfpunkt", "Istwert", "Einheit"),
            GERMAN,
            "log.csv",
        ),
        (("Anchor no.", "Date", "Crew", "What", "How", "Of"), VALUES, "log.csv"),
    ],
)
def test_a_log_of_listed_values_is_told_and_loads(
    tmp_path: Path,
    heads: tuple[str, ...],
    values: dict[str, tuple[str, str]],
    name: str,
    *,
    fill_down: bool,
) -> None:
    draft = drafted(tmp_path, listed(values, heads, fill_down=fill_down), name)
    assert draft.header.listed is not None
    found = draft.header.listed.value
    assert found.headers == (heads[0], *heads[3:])
    assert found.fill_down is fill_down
    setting, depth, cleaned, torque = [*values][:4]
    assert active(draft) == {
        "record_id": heads[0],
        "installed_on": heads[1],
        "crew_code": heads[2],
        "setting_code": setting,
        "hole_depth_mm": depth,
        "cleaned": cleaned,
        "setting_torque_nm": torque,
    } | ({"tilt_deg": "Tilt"} if "Tilt" in values else {})
    assert draft.unplaced == (("Weather",) if "Weather" in values else ())
    store = build_store(tmp_path / "store")
    (tmp_path / "log.toml").write_text(toml_of(draft, "QUAY"), "utf-8")
    [receipt] = load_paths(store, [tmp_path / name], now=NOW).receipts
    assert (receipt.loaded, receipt.rejected, receipt.field_faults) == (8, 0, 0)
    with store.reader() as con:
        assert con.execute(
            "select distinct hole_depth_mm, setting_torque_nm, cleaned "
            "from installation"
        ).fetchall() == [(92.0, 55.0, True)]


def test_units_are_read_beside_figures_alone(tmp_path: Path) -> None:
    rows = listed(
        {
            **VALUES,
            "No. of brushes": ("2", "x"),
            "Edge distance": ("4", "in"),
            "Remark": ("cut to M12", "mm"),
        }
    )
    draft = drafted(tmp_path, rows)
    by_name = dict(zip(draft.header.names, draft.header.rows[0], strict=True))
    assert by_name["Hole depth"] == "92 mm"
    assert by_name["No. of brushes"] == "2"
    assert by_name["Edge distance"] == "4 in"
    assert by_name["Remark"] == "cut to M12"
    assert by_name["Item"] == by_name["Result"] == by_name["Unit"] == ""


# The values stand before their names, and these before the anchors; or as they do most.
@pytest.mark.parametrize("order", [(3, 4, 5, 0, 1, 2), (4, 3, 0, 5, 2, 1)])
def test_the_columns_may_stand_in_any_order(
    tmp_path: Path, order: tuple[int, ...]
) -> None:
    rows = [[row[place] for place in order] for row in listed()]
    draft = drafted(tmp_path, rows)
    assert draft.header.listed is not None
    found = draft.header.listed.value
    assert found.headers == ("Anchor no.", "Item", "Result", "Unit")


# Numbers that begin again every day tell an anchor with the day alone.
def test_what_tells_an_anchor_may_stand_in_two_columns(tmp_path: Path) -> None:
    head, *rows = listed()
    again = [["A1" if row[0] in ("A2", "A3") else row[0], *row[1:]] for row in rows]
    draft = drafted(tmp_path, [head, *again])
    assert draft.header.listed is not None
    assert draft.header.listed.value.anchor == ("Anchor no.", "Date")
    assert len(draft.header.rows) == 8
    assert 'anchor = ["Anchor no.", "Date"]\n' in toml_of(draft)


# By the names a form has it may seem so: four of them at least come again, for several
# anchors, each once.
@pytest.mark.parametrize(
    "rows",
    [
        listed()[:5],
        listed({name: VALUES[name] for name in [*VALUES][1:4]}),
        [[*row[:3], "Hole depth", *row[4:]] for row in listed()],
        [[f"{number}", *row[1:]] for number, row in enumerate(listed())],
        [[row[0], *row[3:4]] for row in listed()],
    ],
    ids=["one anchor", "three names", "one name", "a number a row", "no values"],
)
def test_other_logs_list_no_values(tmp_path: Path, rows: list[list[str]]) -> None:
    head, *data = rows
    rows = [[*listed()[0][: len(head)]], *data] if len(head) > 2 else rows
    draft = drafted(tmp_path, rows)
    assert draft.header.listed is None
    assert "[listed]" not in toml_of(draft)


@pytest.mark.parametrize("name", ["forms.jsonl", "forms.json"])
def test_a_list_of_values_in_json_records_is_told_and_loads(
    tmp_path: Path, name: str
) -> None:
    records = [
        {
            "anchor_no": f"A{number}",
            "date": f"2026-05-{number:02}",
            "crew": "K1",
            "answers": [
                {"question": item, "answer": value, "unit": unit}
                for item, (value, unit) in VALUES.items()
            ],
        }
        for number in range(1, 9)
    ]
    path = tmp_path / name
    text = json.dumps({"forms": records})
    if path.suffix == ".jsonl":
        text = "\n".join(map(json.dumps, records))
    path.write_text(text, "utf-8")
    draft = draft_of(path)
    assert draft.header.listed is not None
    assert draft.header.listed.value.headers == (
        *("anchor_no", "answers.question", "answers.answer", "answers.unit"),
    )
    assert draft.unplaced == ("Weather",)
    (tmp_path / "forms.toml").write_text(toml_of(draft, "QUAY"), "utf-8")
    store = build_store(tmp_path / "store")
    [receipt] = load_paths(store, [path], now=NOW).receipts
    assert (receipt.loaded, receipt.field_faults) == (8, 0)
    with store.reader() as con:
        assert con.execute(
            "select distinct hole_depth_mm, setting_torque_nm, cleaned "
            "from installation"
        ).fetchall() == [(92.0, 55.0, True)]


def test_anchors_in_a_json_list_are_no_listed_values(tmp_path: Path) -> None:
    plates = [
        {"plate": f"P{n}", "bolts": [{"torque": 55, "depth": 92}] * 4} for n in range(9)
    ]
    path = tmp_path / "plates.jsonl"
    path.write_text("\n".join(map(json.dumps, plates)), "utf-8")
    assert draft_of(path).header.listed is None


# One record has seven answers more, so that most of the columns hold few.
def test_lists_of_any_length_are_told(tmp_path: Path) -> None:
    records = [
        {
            "anchor_no": f"A{number}",
            "said": [
                {"about": item, "is": value}
                for item, (value, _) in [
                    *VALUES.items(),
                    *((f"Photo {one}", ("x", "")) for one in range(0 if number else 7)),
                ]
                if value
            ],
        }
        for number in range(8)
    ]
    path = tmp_path / "ragged.jsonl"
    path.write_text("\n".join(map(json.dumps, records)), "utf-8")
    found = draft_of(path).header.listed
    assert found is not None
    assert found.value.of_value == ("said.about", "said.is")


# Below the column names stand more words for columns than in them; above may be titles.
@pytest.mark.parametrize("titles", [[], [["Check sheet", "Hall 3"], [""]]])
def test_the_column_names_are_those_above_the_names_of_values(
    tmp_path: Path, titles: list[list[str]]
) -> None:
    values = {"Wall or floor": ("wall", ""), "Crew": ("K1", ""), **VALUES}
    rows = [
        [item, value, f"A{number}"]
        for number in range(6)
        for item, (value, _) in values.items()
    ]
    rows = [*titles, ["What", "Value", "Bolt ID"], *rows]
    found = drafted(tmp_path, rows).header
    assert found.listed is not None
    assert found.listed.value.headers == ("Bolt ID", "What", "Value")
    assert found.row.value == len(titles) + 1


def test_a_number_of_entries_is_no_value(tmp_path: Path) -> None:
    heads = ("Entry value number", "Date", "Crew", "Item", "How", "Unit")
    found = drafted(tmp_path, listed(heads=heads)).header.listed
    assert found is not None
    assert found.value.headers == ("Entry value number", "Item", "How", "Unit")
