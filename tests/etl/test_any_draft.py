"""A draft of any table can be read by a load, or says what it did not find."""

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
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
            "ja",
            "nein",
            "wall",
            "Wand",
            "frei",
        ),
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
