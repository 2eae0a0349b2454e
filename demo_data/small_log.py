"""What a small log is: its site, its layout, the faults planted in it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

import polars as pl

from demo_data.cell_writers import Cell, Words, Writer, plain
from demo_data.clerical import IMPOSSIBLE_DATE, FaultCounts
from demo_data.sites import Site

# All five sites work through one summer.
FIRST_ON = date(2026, 7, 6)
LAST_ON = date(2026, 9, 25)


@dataclass(frozen=True)
class FileColumn:
    """A column of a small log: ours, the site's header, and how a value is written.

    `unit` and `fill_down` go into the site map. `source` names the column of the log
    rows where it is not the canonical one (times of the site's clock).
    """

    name: str
    header: str
    write: Writer = plain
    unit: str | None = None
    fill_down: bool = False
    source: str | None = None

    @property
    def as_toml(self) -> str:
        """Return the column's entry in the site map."""
        if not self.unit and not self.fill_down:
            return f'"{self.header}"'
        unit = f', unit = "{self.unit}"' if self.unit else ""
        fill = ", fill_down = true" if self.fill_down else ""
        return f'{{from = "{self.header}"{unit}{fill}}}'


@dataclass(frozen=True)
class Layout:
    """How a small log is written, and what its site map says of that.

    `files` holds further keys of the map's [files]. `codes` maps, per column, the
    site's words to ours. `impossible_date` is 30 February as the site writes dates.
    """

    columns: tuple[FileColumn, ...]
    files: Mapping[str, str | int] = field(default_factory=dict)
    date_format: str | None = None
    codes: Mapping[str, Words] = field(default_factory=dict)
    impossible_date: str = IMPOSSIBLE_DATE


@dataclass(frozen=True)
class SmallLog:
    """A small log; the ending of its file's name decides how it is written."""

    site: Site
    file_name: str
    faults: FaultCounts
    layout: Layout


def file_rows(log_rows: pl.DataFrame, layout: Layout) -> Iterator[dict[str, Cell]]:
    """Yield each row as header -> cell; blanks are None, raw cells stand as they are.

    `log_rows` is as in clerical.Logged.
    """
    for row in log_rows.iter_rows(named=True):
        cells: dict[str, Cell] = {}
        for column in layout.columns:
            value = row[column.source or column.name]
            cell = None if value is None else column.write(value)
            if row["raw_column"] == column.name:
                is_date = row["raw_value"] == IMPOSSIBLE_DATE
                cell = layout.impossible_date if is_date else row["raw_value"]
            cells[column.header] = cell
        yield cells
