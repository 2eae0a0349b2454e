"""Any cells under any site map: every row is accounted for, every fault has its words.

Whatever a map says of units, dates, decimal signs and merged cells, no cell may fail
the file it stands in. Rows are counted by the test itself.
"""

import csv
import json
from itertools import count
from pathlib import Path

import duckdb
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etl.load import load_log
from etl.site_map import read_site_map
from etl.units import EXACT_FACTORS
from queries.columns import COLUMN_BY_NAME, INSTALLED_TIME, LOGGED_COLUMNS
from tests.builders import NOW
from tests.examples import examples

_sites = count(1)
NEEDED = ("record_id", "crew_code", "setting_code")
DATES = ("installed_on", "installed_at")
OTHERS = [each for each in LOGGED_COLUMNS if each.name not in (*NEEDED, *DATES)]
DATED = (DATES[:1], DATES[1:], ("installed_on", INSTALLED_TIME.name))
DATE_SECTIONS = (
    'format = "%d.%m.%Y"',
    "",
    "day_first = true",
    "day_first = false",
    'format = "%d.%m.%Y %H:%M"',
    'format = "%Y-%m-%d %H:%M %z"',
)
cells = st.sampled_from(
    [
        *("", " ", "n/a", "#REF!", "1", "2", "M12-68", "K1", "92", "9,5", "1.125"),
        *("1.234,5", "45 Nm", '1 1/4"', "1/2", "~90", "clear", "yes", "hammer", "-3"),
        *("2026-05-04", "04.05.2026", "5/4/26", "2026-03-29 02:30", "46146.5", "25:00"),
        *("2026-05-04T07:45Z", "29.03.2026 02:30", "07:45", "2:30 am", "0,32"),
        *("45 OK", "✓90", "58 Nm i.O.", "OK", "04.05.", "5/4 7:45", "May 4", "4 mai"),
        *("2026-10-25 02:30 +0100", "2099-01-01", "1999-12-31 23:59:60", "\u202e", "٣"),
        *('"', '"', "do.", "Total"),
    ]
) | st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Cf", "Zl", "Zp", "Zs"]), max_size=6
)


def sources(name: str, names: list[str]) -> st.SearchStrategy[str | list[str]]:
    """Draw the header of a column, or of a text several."""
    one = st.just(name)
    if COLUMN_BY_NAME[name].kind not in ("text", "code"):
        return one
    others = [other for other in names if other != name]
    more = st.lists(st.sampled_from(others), min_size=1, max_size=2, unique=True)
    return one | more.map(lambda those: [name, *those])


@st.composite
def maps(draw: st.DrawFn) -> tuple[str, list[str]]:
    """Draw the sections of a site map, and its columns' headers in order."""
    chosen = draw(st.lists(st.sampled_from(OTHERS), max_size=8, unique=True))
    names = [*NEEDED, *draw(st.sampled_from(DATED)), *(each.name for each in chosen)]
    titled = draw(st.sampled_from(names))
    lines = []
    for name in names:
        column = COLUMN_BY_NAME[name]
        keys = [f"from = {json.dumps(draw(sources(name, names)))}"]
        if name == titled:
            keys = ['from = "Title"']
        if draw(st.booleans()) and "[" not in keys[0]:
            keys.append("fill_down = true")
        if column.kind in ("text", "code") and draw(st.sampled_from([0, 0, 0, 1])):
            always = draw(cells.filter(str.strip))
            keys = [f"always = {json.dumps(always, ensure_ascii=False)}"]
        if name == "record_id":
            others = st.lists(st.sampled_from(names[1:]), max_size=3, unique=True)
            header = "Title" if name == titled else name
            keys = [f'from = "{header}"', f"within = {json.dumps(draw(others))}"]
        units = [
            unit for unit, (ours, _) in EXACT_FACTORS.items() if ours == column.unit
        ]
        if units:
            keys.append(f'unit = "{draw(st.sampled_from(units))}"')
        if column.kind in ("number", "integer") and draw(st.booleans()):
            keys.append('marks = ["OK", "i.O.", "✓"]')
        lines.append(f"{name} = {{{', '.join(keys)}}}")
    decimal = draw(st.sampled_from([".", ","]))
    # A map is refused whose format has no time of day where one is needed.
    is_timed = any(each.kind == "instant" for each in chosen) or names[3] == DATES[1]
    dates = draw(st.sampled_from(DATE_SECTIONS[is_timed:]))
    dates += draw(st.sampled_from(["", "\nyear = 2026"]))
    files = f"decimal = '{decimal}'\nheader_row = 2\ntitles = 'Title'"
    files += draw(st.sampled_from(["", """\nas_above = ['"', "do."]"""]))
    columns = "\n".join(lines)
    return f"{files}\n[dates]\n{dates}\n[columns]\n{columns}", names


def test_no_cell_fails_its_file(
    ledger: duckdb.DuckDBPyConnection, tmp_path: Path
) -> None:
    @settings(**examples(20), suppress_health_check=list(HealthCheck))
    @given(maps(), st.data())
    def run(site: tuple[str, list[str]], data: st.DataObject) -> None:
        sections, names = site
        row = st.lists(cells, min_size=len(names), max_size=len(names))
        table = data.draw(st.lists(row, min_size=1, max_size=5))
        (tmp_path / "any.toml").write_text(
            f'[site]\ncode = "ANY{next(_sites)}"\nname = "Invented"\n'
            f'time_zone = "Europe/Madrid"\n[files]\nmatch = "any.csv"\n{sections}\n',
            "utf-8",
        )
        path = tmp_path / "any.csv"
        with path.open("w", encoding="utf-8", newline="") as target:
            title = ["Title", data.draw(cells)]
            csv.writer(target).writerows([title, names, *table])
        [receipt] = load_log(ledger, path, read_site_map(tmp_path / "any.toml"), NOW)
        written = sum(any(cell.strip(" ") for cell in each) for each in table)
        assert receipt.rows_read == written
        ends = receipt.loaded, receipt.revised, receipt.duplicate, receipt.rejected
        assert sum(ends) == written
        faults = ledger.execute(
            "select reason from field_fault where source_file_id = ?",
            [receipt.source_file_id],
        ).fetchall()
        assert all("expected" in reason for (reason,) in faults)

    run()
