"""What a sheet declares: its columns, its key, and the rules its rows must keep."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from etl.sheets.kinds import Kind, Value

Row = dict[str, Value]


@dataclass(frozen=True)
class SheetColumn:
    """One column of a sheet and of its table.

    `what` it is, for whoever fills it in. `if_blank` gives the value of a blank cell
    from the row's other values. Where `is_clock_if_blank`, a blank keeps what is held,
    else takes the load's clock. A column that `is_derived` stands in the table only;
    `if_blank` gives its value.
    """

    name: str
    kind: Kind
    may_be_blank: bool = False
    if_blank: Callable[[Row], Value] | None = None
    is_clock_if_blank: bool = False
    is_derived: bool = False
    what: str = ""


@dataclass(frozen=True)
class Rule:
    """What the values of a row must keep among them.

    `holds` takes the values of `columns` in their order, and is asked where all of
    them are given; with `asks_blanks` also where some are None. `expected` completes
    "expected ...".
    """

    columns: tuple[str, ...]
    holds: Callable[..., bool]
    expected: str
    asks_blanks: bool = False


@dataclass(frozen=True)
class Sheet:
    """One kind of sheet.

    `name` begins the file's name. `table` has the columns declared here, and
    source_file_id and source_row. `content` is what receipts call it. `known_in`
    names, for a column of codes, the table that should know them: a code that is not
    there is kept, with a remark; `named_in` likewise the tables of which any may name
    it. `remark` gives a remark on a row, or None.

    A sheet that `is_refused_whole` is not loaded where any row has a fault. Where
    installations are judged by the rows of a sheet, `judging_column` is the column,
    of the sheet and of installation, that says by which: these are judged again. With
    `is_indispensable` no installation can be without its row.
    """

    name: str
    table: str
    content: str
    columns: tuple[SheetColumn, ...]
    key: tuple[str, ...]
    rules: tuple[Rule, ...] = ()
    remark: Callable[[Row], str | None] | None = None
    known_in: Mapping[str, str] = field(default_factory=dict)
    named_in: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    is_refused_whole: bool = False
    judging_column: str | None = None
    is_indispensable: bool = False

    def empty(self) -> str:
        """Return the sheet as a CSV without rows, to be filled in."""
        return ",".join(column.name for column in self.file_columns()) + "\n"

    def file_columns(self) -> tuple[SheetColumn, ...]:
        """Return the columns that a file of this sheet may have."""
        return tuple(column for column in self.columns if not column.is_derived)


def in_order(smaller: Any, larger: Any) -> bool:
    """Say whether the first of two numbers, or dates, is at most the second."""
    return bool(smaller <= larger)
