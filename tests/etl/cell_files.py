"""Load columns of odd cells, one a row, and give what became of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from etl.receipt import Receipt
from queries.store import Store
from tests.builders import NOW, load, write_csv, write_setting_data

MAP = """
[site]
code = "ODD"
name = "Invented site of odd cells"
time_zone = "{zone}"
[files]
match = "odd.csv"
decimal = "{decimal}"
[dates]
{dates}
[columns]
record_id = "no"
crew_code = "crew"
setting_code = "setting"
{columns}
"""


@dataclass(frozen=True)
class Loaded:
    """What a load made of the cells: rows and faults by the number of the row.

    `faults`: (row, column) to (raw value, reason). `rejected`: row to (code, reason).
    """

    rows: dict[int, dict[str, object]]
    faults: dict[tuple[int, str], tuple[str, str]]
    rejected: dict[int, tuple[str, str]]
    receipt: Receipt


def load_cells(
    folder: Path,
    rows: Sequence[dict[str, object]],
    *,
    columns: dict[str, str | None],
    decimal: str = ".",
    dates: str = "",
    zone: str = "Europe/Madrid",
    now: datetime = NOW,
) -> Loaded:
    """Load rows of `columns` (canonical name to the map's unit), numbered from 0."""
    folder.mkdir(parents=True, exist_ok=True)
    defaults = {"crew": "C1", "setting": "M12-68"}
    if not {"installed_on", "installed_at"} & set(columns):
        columns = columns | {"installed_on": None}
        defaults["installed_on"] = "2026-05-04"
    path = write_csv(
        folder / "odd.csv",
        [
            {"no": number} | dict.fromkeys(columns, "") | defaults | row
            for number, row in enumerate(rows)
        ],
    )
    lines = [
        f'{name} = {{from = "{name}"' + (f', unit = "{unit}"}}' if unit else "}")
        for name, unit in columns.items()
    ]
    text = MAP.format(zone=zone, decimal=decimal, dates=dates, columns="\n".join(lines))
    (folder / "odd.toml").write_text(text, "utf-8")
    store = Store(folder / "store")
    result = load(store, write_setting_data(folder), path, now=now)
    assert not result.failures, result.failures
    return _held(store, list(columns), result.receipts[-1])


def _held(store: Store, columns: list[str], receipt: Receipt) -> Loaded:
    with store.reader() as con:
        names = ", ".join(name for name in columns if name != "installed_time")
        held = con.execute(
            f"select record_id::int, installed_on, installed_at, {names} "
            "from installation"
        )
        labels = [column[0] for column in held.description or []]
        rows = {
            row[0]: dict(zip(labels[1:], row[1:], strict=True))
            for row in held.fetchall()
        }
        faults = con.execute(
            "select source_row - 2, column_name, raw_value, reason from field_fault"
        ).fetchall()
        rejected = con.execute(
            "select source_row - 2, reason_code, reason from rejected_row"
        ).fetchall()
    return Loaded(
        rows,
        {(row, name): (raw, reason) for row, name, raw, reason in faults},
        {row: (code, reason) for row, code, reason in rejected},
        receipt,
    )
