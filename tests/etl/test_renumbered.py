"""A list that comes again under other record numbers is asked about. By hand."""

from pathlib import Path

import pytest

from queries.store import Store
from tests.builders import build_store, load

MAP = """
[site]
code = "YARD"
name = "Invented yard"
time_zone = "Europe/Lisbon"
[files]
match = "*.csv"
[columns]
record_id = {record_id}
installed_on = "Date"
crew_code = "Crew"
setting_code = "Code"
"""
BY_DAY = '{from = "ID", within = ["Date"]}'
BY_CREW = '{from = "ID", within = ["Date", "Crew"]}'
WEEK = "ID,Date,Crew,Code\n1,2026-05-04,C1,M12-68\n2,2026-05-04,C2,M12-68\n"
MORE = "1,2026-05-06,C1,M12-68\n"


def asked(
    store: Store, folder: Path, name: str, text: str, record_id: str
) -> list[str]:
    log, site_map = folder / f"{name}.csv", folder / "yard.toml"
    log.write_text(text, "utf-8")
    site_map.write_text(MAP.format(record_id=record_id), "utf-8")
    result = load(store, log, site_map)
    assert not result.failures
    [receipt] = result.receipts
    return [one for one in receipt.remarks if "records are numbered" in one]


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (BY_DAY, BY_CREW, "within installed_on, crew_code, in receipt 2 within "),
        ('"ID"', BY_DAY, "within installed_on, in receipt 2 over the whole site"),
    ],
)
def test_numbers_within_other_things_are_asked_about(
    tmp_path: Path, before: str, after: str, words: str
) -> None:
    store = build_store(tmp_path)
    assert not asked(store, tmp_path, "first", WEEK, before)
    [question] = asked(store, tmp_path, "second", WEEK + MORE, after)
    assert words in question
    assert question.endswith("firmset unload 2 and load this file again")


def test_other_days_and_the_same_numbers_are_not(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    assert not asked(store, tmp_path, "first", WEEK, BY_DAY)
    header = WEEK.partition("\n")[0]
    # Days of their own are new work; and a column may be called otherwise.
    assert not asked(store, tmp_path, "second", f"{header}\n{MORE}", BY_CREW)
    more = MORE.replace("1,2026-05-06", "3,2026-05-05")
    assert not asked(store, tmp_path, "third", WEEK + more, BY_DAY)
