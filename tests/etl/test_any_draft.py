"""A draft of any table can be read by a load, or says what it did not find."""

import csv
import json

import duckdb
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from etl.site_map.beside import ANCHOR
from etl.staging import stage_file
from queries.errors import FirmsetError
from tests.etl.test_draft import site_map_of
from tests.examples import examples

CELLS = st.sampled_from(
    [
        *(
            "",
            "1",
            "2,5",
            "12.5",
            "3 1/2",
            "95 mm",
            "2026-05-04",
            "13.05.2026",
            "5/4/26",
        ),
        *(
            "2026-05-04 08:00",
            "08:15",
            "A",
            "M12-68",
            '"',
            "do.",
            "ja",
            "nein",
            "wall",
            "Wand",
            "frei",
        ),
        *("x", "✓", "x", "Page 2 of 3", "Date: 4.5.26 Crew: 2", "Signed: ..."),
        *("1,234.5", "=1+1", '"', "\n", "[x]", "55 Nm", "0x", "-3", "1e999", "\x1b[0m"),
    ]
) | st.text(max_size=6)
HEADERS = st.sampled_from(
    [
        *(
            "Nr",
            "Datum",
            "Kolonne",
            "Setzdaten",
            "Tiefe [cm]",
            "Torque (ft-lb)",
            "Uhrzeit",
        ),
        *(
            "at",
            "date",
            "time",
            "crew",
            "setting",
            "id",
            "Lage",
            "Edge 1",
            "edge 2 (in)",
        ),
        *("Clean yes", "Clean no", "Floor", "Wand", "M12", "M16", "Distances (cm)"),
        *("Reinigung", "Drill (s)", "rev", "depth", "Spacing", "Beton MPa", "", "bit"),
    ]
) | st.text(max_size=10)


@settings(**examples(60))
@given(data=st.data())
def test_any_table_gives_a_draft_that_a_load_can_read(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    needed = ["Nr", "Datum", "Kolonne", "Setzdaten"] if data.draw(st.booleans()) else []
    headers = needed + data.draw(st.lists(HEADERS, min_size=1, max_size=12))
    row = st.lists(CELLS, min_size=len(headers), max_size=len(headers) + 1)
    rows = data.draw(st.lists(row, max_size=6))
    folder = tmp_path_factory.getbasetemp()
    path = folder / "any.csv"
    sign = data.draw(st.sampled_from([",", ";", "\t"]))
    with path.open("w", encoding="utf-8", errors="replace", newline="") as lines:
        csv.writer(lines, delimiter=sign).writerows([headers, *rows])
    try:
        draft = draft_of(path)
    except FirmsetError as error:
        assert "\n" not in str(error)
        return
    if draft.not_found:
        (folder / "any.toml").write_text(toml_of(draft), "utf-8")
        with pytest.raises(FirmsetError) as refused:
            read_site_map(folder / "any.toml")
        # Nothing is wrong with it but what was not found.
        assert str(refused.value).count(": [") == len(draft.not_found)
        return
    site_map = site_map_of(draft, folder)
    assert {found.column.name for found in site_map.columns} == {
        one.column.name for one in draft.active
    }


NAMES = st.sampled_from(
    ["Nr", "Datum", "crew", "Setting", "Tiefe (mm)", "a.b", "a/b", "", "rows", "at"]
)
VALUES = st.none() | st.booleans() | st.integers(-9, 99) | CELLS
DOCUMENTS = st.recursive(
    VALUES,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(NAMES, inner, max_size=6)
    ),
    max_leaves=30,
)


@settings(**examples(60))
@example(
    {
        "Setting": None,
        "Tiefe (mm)": {"Nr": False, "crew": None},
        "Nr": [{"Tiefe (mm)": None, "Datum": None}, {"Tiefe (mm)": None}],
    }
)
@given(document=DOCUMENTS)
def test_any_document_gives_a_draft_that_a_load_can_read(
    tmp_path_factory: pytest.TempPathFactory, document: object
) -> None:
    folder = tmp_path_factory.getbasetemp()
    path = folder / "any.json"
    path.write_text(json.dumps(document), "utf-8")
    try:
        draft = draft_of(path)
    except FirmsetError as error:
        assert "\n" not in str(error)
        return
    (folder / "any.toml").write_text(toml_of(draft), "utf-8")
    if draft.not_found:
        with pytest.raises(FirmsetError) as refused:
            read_site_map(folder / "any.toml")
        assert str(refused.value).count(": [") == len(draft.not_found)
        return
    with duckdb.connect() as con:
        staged = stage_file(con, path, read_site_map(folder / "any.toml"))
        [(found,)] = con.execute("select count(*) from staged_row").fetchall()
    # A record that is no object is none of a draft's rows: the load says so of it.
    assert found >= len(draft.header.rows)
    # Of several anchors in a record a load has a column more, that tells which.
    which = {ANCHOR} if draft.header.anchors else set()
    assert {*staged.headers} <= {*draft.header.names} | which
