"""What must not change an answer does not: order, duplicates, names, silent rows."""

from pathlib import Path

import duckdb
import polars as pl
import pytest

from queries.readers.comparison import read_comparison
from queries.readers.retraining import read_retraining
from queries.readers.trend import read_trend
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_log

CHECK = "setting_torque"


def log(site: str, crews: dict[str, int]) -> list[Row]:
    """Return 40 anchors a crew over four weeks, so many of them over the band."""
    return [
        {
            "record_id": f"{site}-{crew}-{number}",
            "crew_code": crew,
            "installed_on": f"2026-05-{4 + number % 25:02}",
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for crew, bad in crews.items()
        for number in range(40)
    ]


SITES = {
    "NORTH": log("NORTH", {"A": 14, "B": 1, "C": 2}),
    "SOUTH": log("SOUTH", {"D": 3, "E": 0, "F": 6}),
}


def answers(store: Store) -> dict[str, object]:
    """Return what readers are told, as plain values."""
    with store.reader() as con:
        return {
            "sites": groups(con, "site"),
            "crews": groups(con, "crew"),
            "trend": read_trend(con, CHECK, "week", Selection()),
            "list": read_retraining(con, Selection(), 6).entries.to_dicts(),
        }


def groups(con: duckdb.DuckDBPyConnection, by: str) -> list[dict[str, object]]:
    return read_comparison(con, by, CHECK, Selection()).groups.to_dicts()


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Store:
    return build_store(tmp_path_factory.mktemp("plain"), sites=SITES)


@pytest.mark.parametrize("shown", [(), ("A", "F")])
def test_flags_are_the_same_without_the_other_figures(
    plain: Store, shown: tuple[str, ...]
) -> None:
    with plain.reader() as con:
        found = read_comparison(con, "crew", CHECK, Selection(crew_codes=shown))
        everybody = read_comparison(con, "crew", CHECK, Selection())
    own = found.groups["group"].to_list()
    assert own == (list(shown) or ["A", "B", "C", "D", "E", "F"])
    assert found.flags.equals(found.groups.select(found.flags.columns))
    is_shown = pl.col("group").is_in(own)
    assert found.groups.equals(everybody.groups.filter(is_shown))


def test_row_order(plain: Store, tmp_path: Path) -> None:
    turned = {site: rows[::-1] for site, rows in SITES.items()}
    assert answers(build_store(tmp_path, sites=turned)) == answers(plain)


def test_the_same_rows_again(plain: Store, tmp_path: Path) -> None:
    store = build_store(tmp_path, sites=SITES)
    # Another file with half of the rows, said again.
    path = write_log(tmp_path / "again", SITES["NORTH"][::2], site="NORTH")
    result = load(store, path)
    assert result.receipts[0].duplicate == 60
    assert answers(store) == answers(plain)


def test_a_row_to_which_the_check_does_not_apply(plain: Store, tmp_path: Path) -> None:
    # An abandoned attempt is judged by nothing.
    more = {
        site: [
            *rows,
            *(
                row | {"record_id": f"{row['record_id']}-x", "outcome": "abandoned"}
                for row in rows[:30]
            ),
        ]
        for site, rows in SITES.items()
    }
    assert answers(build_store(tmp_path, sites=more)) == answers(plain)


def named(store: Store, by: str) -> dict[str, dict[str, object]]:
    with store.reader() as con:
        return {str(row["group"]): row for row in groups(con, by)}


# Names whose order is another: groups come in order of their code.
@pytest.mark.parametrize(
    ("by", "new"),
    [
        ("crew", {"A": "Z", "B": "Y", "C": "X", "D": "W", "E": "V", "F": "U"}),
        ("site", {"NORTH": "WEST", "SOUTH": "EAST"}),
    ],
)
def test_other_names(
    plain: Store, tmp_path: Path, by: str, new: dict[str, str]
) -> None:
    def renamed(row: Row) -> Row:
        crew = str(row["crew_code"])
        return row | {"crew_code": new.get(crew, crew)}

    sites = {
        new.get(site, site): [renamed(row) for row in rows]
        for site, rows in SITES.items()
    }
    found = named(build_store(tmp_path, sites=sites), by)
    for group, row in named(plain, by).items():
        other = found[new[group]]
        for name, value in row.items():
            # Ranks are drawn; groups in another order draw other numbers.
            if name.startswith("rank_"):
                assert abs(int(str(other[name])) - int(str(value))) <= 1, name
            elif isinstance(value, float):
                assert other[name] == pytest.approx(value, rel=1e-6), name
            elif name != "group":
                assert other[name] == value, name
