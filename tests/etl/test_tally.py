"""What was corrected or taken back leaves no day, crew or site with work behind."""

from datetime import date
from pathlib import Path

from etl.unload import unload
from queries.proof import all_proofs, read_faults
from queries.readers.choices import read_choices
from queries.readers.retraining import read_retraining
from queries.selection import Selection
from queries.store import Store
from tests.builders import build_store, load, write_log

OF_C3 = {"record_id": "A", "crew_code": "C3", "installed_on": "2026-05-04"}
OF_C4 = {"record_id": "B", "crew_code": "C4", "installed_on": "2026-05-05"}


def assert_only_what_is_held(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        assert choices.crew_codes == ("C3", "C4")
        assert (choices.first_on, choices.last_on) == (
            date(2026, 5, 4),
            date(2026, 5, 5),
        )
        assert read_faults(con, all_proofs()).is_empty()
        assert read_retraining(con, Selection(), 5).to_on == date(2026, 5, 5)


def test_a_corrected_crew_and_day_are_nobodys_any_more(tmp_path: Path) -> None:
    mistyped = OF_C3 | {"crew_code": "C33", "installed_on": "2026-06-04"}
    store = build_store(tmp_path, [mistyped, OF_C4])
    load(store, write_log(tmp_path / "fix", [OF_C3 | {"revision": "1"}], name="fix"))
    assert_only_what_is_held(store)


def test_a_file_taken_back_takes_its_crews_and_days_along(tmp_path: Path) -> None:
    store = build_store(tmp_path, [OF_C3, OF_C4])
    more = [{"record_id": "C", "crew_code": "C9", "installed_on": "2026-06-30"}]
    taken = load(store, write_log(tmp_path / "more", more, site="SITE-2"))
    unload(store, taken.receipts[-1].source_file_id)
    assert_only_what_is_held(store)
