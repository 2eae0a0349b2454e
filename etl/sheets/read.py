"""Read and validate a sheet from the declaration of its columns."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from etl.odd_dates import DateOrder
from etl.sheets.cells import Table, read_table
from etl.sheets.declaration import Row, Rule, Sheet, SheetColumn
from etl.sheets.kinds import DATE, Kind, UnclearError, Value, dates, order_of_dates
from queries.errors import faults_error


@dataclass(frozen=True)
class Fault:
    """What is wrong with a row: a code to count by, and words with value and rule."""

    reason_code: str
    words: str


@dataclass(frozen=True)
class SheetRow:
    """One row of a file, `number` as a spreadsheet counts them (the header is 1).

    `cells` are the texts by header, `values` what was read of them. A row without
    faults that `is_repeat` says the same as an earlier row of the file.
    """

    number: int
    cells: dict[str, str]
    values: Row
    faults: tuple[Fault, ...] = ()
    is_repeat: bool = False


@dataclass(frozen=True)
class SheetFile:
    """A sheet as it was read: its rows, and what was taken for granted in words."""

    rows: list[SheetRow]
    remarks: list[str]


def read_sheet(path: Path, sheet: Sheet) -> SheetFile:
    """Return the rows of a sheet that are not blank altogether, with their faults.

    FirmsetError where the file cannot be read or its header has a fault, and, of
    a sheet that is refused whole, where any row has one: it lists every fault of the
    file with row, column, value and what was expected.
    """
    table = read_table(path)
    faults = _header_faults(table.header, sheet)
    order = _order_of_dates(table, sheet)
    kinds = {
        column.name: dates(order) if column.kind is DATE else column.kind
        for column in sheet.file_columns()
    }
    read = [
        _read_row(number, cells, table.header, sheet, kinds)
        for number, cells in table.records
    ]
    rows = list(settled(read, sheet))
    if sheet.is_refused_whole:
        faults += [
            f"row {row.number}: {fault.words}" for row in rows for fault in row.faults
        ]
    if faults:
        raise faults_error(str(path), faults)
    told = [] if order == "unsaid" else [f"dates are read with the {order} first"]
    return SheetFile(rows, [*table.remarks, *told])


def _order_of_dates(table: Table, sheet: Sheet) -> DateOrder:
    """Return what comes first in the dates of all columns of a file."""
    places = [
        table.header.index(column.name)
        for column in sheet.file_columns()
        if column.kind is DATE and column.name in table.header
    ]
    return order_of_dates(
        cells[place]
        for _, cells in table.records
        for place in places
        if place < len(cells)
    )


def _header_faults(header: list[str], sheet: Sheet) -> list[str]:
    columns = sheet.file_columns()
    names = {column.name for column in columns}
    found = {
        "missing columns": [
            column.name
            for column in columns
            if not column.may_be_blank and column.name not in header
        ],
        "unknown columns": [name or "(blank)" for name in header if name not in names],
        "columns named twice": sorted(name for name in names if header.count(name) > 1),
    }
    listed = ", ".join(
        f"({column.name})" if column.may_be_blank else column.name for column in columns
    )
    return [
        f"row 1: {what}: {', '.join(which)}: expected {listed}; those in brackets may "
        "be left out"
        for what, which in found.items()
        if which
    ]


def _read_row(
    number: int,
    record: list[str],
    header: list[str],
    sheet: Sheet,
    kinds: Mapping[str, Kind],
) -> SheetRow:
    # Cells beyond the header have no name of their own: they are kept by position.
    names = header + [f"column {n}" for n in range(len(header) + 1, len(record) + 1)]
    cells = dict(zip(names, record, strict=False))
    faults: list[Fault] = []
    if len(record) > len(header):
        words = f"{len(record)} cells: expected the {len(header)} of the header"
        faults.append(Fault("unreadable_line", words))
    values, unreadable = _read_cells(cells, header, sheet, kinds)
    for column in sheet.columns:
        if column.if_blank and values.get(column.name) is None:
            values[column.name] = column.if_blank(values)
    broken = [
        _broken(rule, values)
        for rule in sheet.rules
        if not unreadable.keys() & set(rule.columns)
    ]
    faults += [*unreadable.values(), *filter(None, broken)]
    return SheetRow(number, cells, values, tuple(faults))


def _read_cells(
    cells: dict[str, str], header: list[str], sheet: Sheet, kinds: Mapping[str, Kind]
) -> tuple[Row, dict[str, Fault]]:
    """Return the values of a row, and by column the fault of one that has none."""
    values: Row = {}
    faults = {}
    for column in sheet.file_columns():
        kind, cell = kinds[column.name], cells.get(column.name, "")
        values[column.name], fault = _read_cell(column, kind, cell)
        # A column that the header lacks is one fault of the header, not one a row.
        if fault and column.name in header:
            faults[column.name] = fault
    return values, faults


def _read_cell(
    column: SheetColumn, kind: Kind, cell: str
) -> tuple[Value, Fault | None]:
    expected = f"expected {kind.expected}"
    if not cell:
        words = f"{column.name} = {cell!r}: {expected}"
        fault = None if column.may_be_blank else Fault("missing_value", words)
        return None, fault
    try:
        return kind.read(cell), None
    except ValueError as error:
        found = f"{error}; " if isinstance(error, UnclearError) and str(error) else ""
        or_blank = ", or blank" if column.may_be_blank else ""
        words = f"{column.name} = {cell!r}: {found}{expected}{or_blank}"
        return None, Fault("unreadable_value", words)


def _broken(rule: Rule, values: Row) -> Fault | None:
    given = [values[name] for name in rule.columns]
    if (None in given and not rule.asks_blanks) or rule.holds(*given):
        return None
    found = ", ".join(
        f"{name} = {_in_words(value)}"
        for name, value in zip(rule.columns, given, strict=True)
    )
    return Fault("contradiction", f"{found}: expected {rule.expected}")


def _in_words(value: Value) -> str:
    if value is None:
        return "blank"
    if isinstance(value, date):
        return value.isoformat()
    return f"{value:.10g}" if isinstance(value, float) else repr(value)


def settled(rows: list[SheetRow], sheet: Sheet) -> Iterator[SheetRow]:
    """Mark rows that say what an earlier row says; other content is a fault."""
    first: dict[tuple[Value, ...], SheetRow] = {}
    for row in rows:
        key = tuple(row.values[name] for name in sheet.key)
        held = first.get(key)
        if row.faults and not sheet.is_refused_whole:
            yield row
        elif held is None or None in key[:1]:
            first[key] = row
            yield row
        elif row.values == held.values and not sheet.is_refused_whole:
            yield replace(row, is_repeat=True)
        else:
            yield replace(row, faults=(*row.faults, _repeated(key, held, sheet)))


def _repeated(key: tuple[Value, ...], held: SheetRow, sheet: Sheet) -> Fault:
    found = ", ".join(
        f"{name} = {_in_words(value)}"
        for name, value in zip(sheet.key, key, strict=True)
    )
    return Fault(
        "repeated_key",
        f"{found}: stands in row {held.number} already: expected one row a key",
    )
