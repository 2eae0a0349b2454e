"""What a ledger says, in a form that two ledgers can be compared by."""

from queries.columns import LOGGED_NAMES
from queries.judgement import JUDGED_NAMES
from queries.store import Store
from queries.tally import KEYS, count_columns

Content = dict[str, list[tuple[object, ...]]]


def ledger_content(store: Store) -> Content:
    """Return what a store holds, without the numbers and times that loads gave.

    Rows are told by their file's name and row where it matters which row it was. A
    file that was taken back counts as not there.
    """
    names = ("site_code", *LOGGED_NAMES, "field_fault_mask", *JUDGED_NAMES)
    logged = ", ".join(names)
    there = "inner join source_file using (source_file_id) where unloaded_at is null"
    questions = {
        "installation": f"select {logged} from installation",
        "superseded": f"select {logged} from superseded_installation",
        "tally": f"select {', '.join((*KEYS, *count_columns()))} from tally",
        "rejected": f"select file_name, source_row from rejected_row {there}",
        "site": "select * from site",
    }
    with store.reader() as con:
        return {
            name: con.execute(f"select * from ({sql}) order by all").fetchall()
            for name, sql in questions.items()
        }
