"""What the receipt of a sheet asks about codes: expected by hand, row by row."""

from pathlib import Path

from queries.store import Store
from tests.builders import Row, build_store, load, write_csv


def remarks(store: Store, name: str, rows: list[Row]) -> list[str]:
    path = write_csv(store.folder.parent / name, rows)
    [receipt] = load(store, path).receipts
    assert receipt.loaded == len(rows)
    return receipt.remarks


def training(crew_code: str) -> Row:
    return {
        "crew_code": crew_code,
        "topic": "hole_cleaning",
        "trained_on": "2026-05-01",
    }


def crew(number: int, site_code: str) -> Row:
    return {"crew_code": f"C{number}", "crew_name": "Team", "site_code": site_code}


def test_a_training_of_a_crew_that_nothing_names_is_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"crew_code": "CREW-1"}])
    remarks(store, "crews.csv", [crew(2, "")])
    rows = [training(code) for code in ("crew-01", "C2", "Q9", "Q9")]
    rows[-1] = {**rows[-1], "trained_on": "2026-05-02"}
    said = remarks(store, "trainings.csv", rows)
    # CREW-1 is in the log, in another spelling, and C2 in the sheet of crews.
    assert [one for one in said if "yet" in one] == [
        "rows 4, 5: crew_code = 'Q9' is in no log or other sheet yet, kept as it stands"
    ]


def test_a_training_before_any_log_is_not_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    assert remarks(store, "trainings.csv", [training("Q9")]) == []


def test_a_cell_that_names_several_sites_is_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path, sites={"EAST, OLD": [{}], "WEST": [{}]})
    codes = ["East, old", "west", "", "NORTH", "West, North", "A;B"]
    rows = [crew(number, code) for number, code in enumerate(codes)]
    question = (
        "is kept as the code of one site: a question whether it names several, for "
        "which it is left blank"
    )
    said = remarks(store, "crews.csv", rows)
    assert [one for one in said if "question" in one] == [
        f"row 6: site_code = 'WEST, NORTH' {question}",
        f"row 7: site_code = 'A;B' {question}",
    ]
