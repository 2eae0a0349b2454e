"""A log of several sites, whatever its rows: it is what they are site by site."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from queries.store import Store
from tests.builders import build_store, load
from tests.etl.company_logs import HEADS, Rows, write_export
from tests.examples import examples

cells = {
    "No": st.sampled_from(["1", "2", "3", "4", "", "Total"]),
    "Project": st.sampled_from(["Harbour hall", "QUAY 3", "HARBOUR", "Moor", ""]),
    "Day": st.sampled_from(["2026-05-04", "2026-05-05", "04.05.2026", "2999-01-01"]),
    "Crew": st.sampled_from(["K1", "k-01", ""]),
    "Code": st.sampled_from(["M12-68", "M12-68", "OTHER"]),
    "Depth": st.sampled_from(["92", "80", "9,2 cm", "deep", ""]),
}
tables = st.lists(
    st.tuples(*(cells[name] for name in HEADS)).map(list), min_size=1, max_size=8
)


@settings(**examples(12))
@given(rows=tables)
def test_a_log_of_sites_is_what_its_rows_are_site_by_site(
    tmp_path_factory: pytest.TempPathFactory, rows: Rows
) -> None:
    folder = tmp_path_factory.mktemp("split")
    whole, apart = build_store(folder / "whole"), build_store(folder / "apart")
    result = load(whole, write_export(folder / "a", rows))
    assert result.failures == ()
    filled = sum(any(one) for one in rows)
    assert sum(one.rows_read for one in result.receipts) == filled
    known = {"Harbour hall": "HARBOUR", "HARBOUR": "HARBOUR", "QUAY 3": "QUAY3"}
    for code in ("HARBOUR", "QUAY3"):
        of_site = [one for one in rows if known.get(one[1]) == code]
        if of_site:
            write_export(folder / code, of_site)
            load(apart, folder / code)
    assert _all_of(whole) == _all_of(apart)


LOADED = """
select * exclude (source_file_id, source_row) from installation
where site_code in ('HARBOUR', 'QUAY3') order by all
"""
REJECTED = """
select site_code, reason_code, reason, raw_text from rejected_row
inner join source_file using (source_file_id)
where site_code is not null order by all
"""
FAULTS = """
select site_code, column_name, raw_value, reason from field_fault
inner join source_file using (source_file_id)
order by all
"""


def _all_of(store: Store) -> list[object]:
    with store.reader() as con:
        return [con.execute(sql).fetchall() for sql in (LOADED, REJECTED, FAULTS)]
