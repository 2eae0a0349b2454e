"""Print frames and objects as a table for people, or as CSV or JSON for programs."""

import csv
import json
import math
import sys
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import TextIO

import polars as pl

from dashboard.spreadsheet import disarmed

FORMATS = ("table", "csv", "json")


def print_frame(frame: pl.DataFrame, form: str, out: TextIO | None = None) -> None:
    """Print a frame; in a table rates are per cent, elsewhere fractions."""
    print_rows(frame.columns, frame.iter_rows(named=True), form, out)


def print_rows(
    columns: Sequence[str],
    rows: Iterable[Mapping[str, object]],
    form: str,
    out: TextIO | None = None,
) -> None:
    """Print rows with these columns, in the given order."""
    target = out or sys.stdout
    rows = list(rows)
    if form == "json":
        json.dump([_plain(row) for row in rows], target, indent=1, ensure_ascii=False)
        target.write("\n")
    elif form == "csv":
        writer = csv.writer(target, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows([csv_cell(row[name]) for name in columns] for row in rows)
    else:
        _print_table(columns, rows, target)


def print_object(value: Mapping[str, object]) -> None:
    """Print one object as JSON."""
    json.dump(_plain(value), sys.stdout, indent=1, ensure_ascii=False)
    sys.stdout.write("\n")


def print_line(value: Mapping[str, object]) -> None:
    """Print one object as JSON on a line of its own."""
    print(json.dumps(_plain(value), ensure_ascii=False), flush=True)


def _plain(value: object) -> object:
    """Return a value as JSON can say it: dates as ISO 8601, a clear edge as such."""
    if value is None or type(value) in (str, int, bool):  # Nearly every cell.
        return value
    match value:
        case float() if math.isinf(value):
            return "clear"
        case float() if math.isnan(value):
            return None
        case datetime() | date():
            return value.isoformat()
        case Mapping():
            return {str(name): _plain(item) for name, item in value.items()}
        case list() | tuple():
            return [_plain(item) for item in value]
        case _:
            return value


def csv_cell(value: object) -> object:
    """Return a cell for CSV; a text that a spreadsheet would run is disarmed."""
    plain = _plain(value)
    if isinstance(plain, list):
        plain = "; ".join(str(item) for item in plain)
    return disarmed(plain) if isinstance(plain, str) else plain


def _print_table(
    columns: Sequence[str], rows: Sequence[Mapping[str, object]], target: TextIO
) -> None:
    cells = [[_table_cell(name, row[name]) for name in columns] for row in rows]
    heads = [name.replace("_", " ") for name in columns]
    is_number = [
        all(row[name] is None or isinstance(row[name], (int, float)) for row in rows)
        for name in columns
    ]
    widths = [max(map(len, column)) for column in zip(heads, *cells, strict=True)]
    for line in [heads, *cells]:
        aligned = [
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(line, widths, is_number, strict=True)
        ]
        target.write("  ".join(aligned).rstrip() + "\n")
    if not rows:
        target.write("(nothing matches)\n")


_RATES = (
    "rate",
    "low",
    "high",
    "lower",
    "upper",
    "adjusted_low",
    "adjusted_high",
    "mix_part",
    "performance_part",
)
# Chances and ratios, whose first decimal says nothing; so are inches.
_FINE = ("p_value", "q_value", "ratio", "odds")
# Minutes of a hole and hours of a list, which one decimal would round away.
_TIMES = ("_min", "_h", "_p50", "_p80", "cone_ratio")
_TIME_NAMES = ("min_per_ratio", "min_per_hole", "saved_h_per_100")


def _table_cell(name: str, value: object) -> str:
    plain = _plain(value)
    if plain is None:
        return "nothing to judge" if name == "rate" else "-"
    if isinstance(plain, float):
        if name in _RATES or name.startswith("rate_") or name.endswith("_rate"):
            return f"{100 * plain:.2f} %"
        if name in _FINE or name.endswith("_in"):
            return f"{plain:.3f}"
        if name.endswith(_TIMES) or name in _TIME_NAMES:
            return f"{plain:.2f}"
        return f"{plain:.1f}"
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    if isinstance(plain, list):
        return ", ".join(str(item) for item in plain)
    return str(plain)
