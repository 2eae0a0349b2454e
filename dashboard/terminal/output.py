"""Print frames and objects as a table for people, or as CSV or JSON for programs."""

import csv
import json
import math
import re
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import TextIO

import polars as pl

from queries.spreadsheet_text import disarmed

FORMATS = ("table", "csv", "json")
# What stands before the first word of a line: blanks, or its number in a list.
_FIRST = re.compile(r"\s*(\d+[.]\s)?")

# Unicode's categories of controls, marks of direction and the like, separators of lines
# and paragraphs, and halves of characters.
_UNSEEN = ("Cc", "Cf", "Zl", "Zp", "Cs")


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
        writer.writerow([disarmed(name) for name in columns])
        writer.writerows([csv_cell(row[name]) for name in columns] for row in rows)
    else:
        _print_table(columns, rows, target)


def legible(text: str) -> str:
    """Return a text with signs that steer a terminal, or that nobody sees, named.

    A log may hold anything: an escape sequence in it must not move the reader's cursor,
    nor a mark of direction turn the line around. All but kinds of blanks are written
    as code points, [U+001B].
    """
    if text.isprintable():
        return text
    return "".join(
        f"[U+{ord(sign):04X}]" if unicodedata.category(sign) in _UNSEEN else sign
        for sign in text
    )


def complain(message: str) -> None:
    """Print on stderr what went wrong: a line, and further faults in lines under it.

    Not folded: a command that it names can be copied whole.
    """
    first, *others = message.split("\n")
    for line in (f"firmset: {first}", *(f"  {line}" for line in others)):
        print(legible(line), file=sys.stderr)
    sys.stderr.flush()


def say(text: str, out: TextIO | None = None) -> None:
    """Print sentences, a line each; a terminal's edge cuts no word of them."""
    target = out or sys.stdout
    width = _width(target)
    for line in text.split("\n"):
        line = legible(line)
        target.write((_wrapped(line, width) if width else line) + "\n")


def _wrapped(line: str, width: int) -> str:
    """Return a line folded at blanks; what follows stands under its first word."""
    indent = " " * len(_FIRST.match(line).group())  # type: ignore[union-attr]
    folded = textwrap.wrap(
        line,
        width,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "\n".join(folded)


def _width(target: TextIO) -> int:
    """Return the columns of a terminal; 0 where the words go to a file or program."""
    return shutil.get_terminal_size().columns if target.isatty() else 0


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
    for number, block in enumerate(_blocks(widths, _width(target))):
        if number:
            target.write("\n")
        for line in [heads, *cells]:
            aligned = [
                f"{line[at]:{'>' if is_number[at] else '<'}{widths[at]}}"
                for at in block
            ]
            target.write("  ".join(aligned).rstrip() + "\n")
    if not rows:
        target.write("(nothing matches)\n")


def _blocks(widths: Sequence[int], limit: int) -> list[list[int]]:
    """Return the columns in blocks that fit a terminal, the first column in each."""
    if not limit or sum(widths) + 2 * (len(widths) - 1) <= limit:
        return [list(range(len(widths)))]
    blocks, used = [[0]], widths[0]
    for at in range(1, len(widths)):
        if used + 2 + widths[at] > limit and len(blocks[-1]) > 1:
            blocks.append([0])
            used = widths[0]
        blocks[-1].append(at)
        used += 2 + widths[at]
    return blocks


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
# Minutes of a hole, hours of a list, cone ratios: one decimal would round them away.
_TIMES = ("_min", "_h", "_p50", "_p80", "cone_ratio")
_TIME_NAMES = ("min_per_ratio", "min_per_hole", "saved_h_per_100", "lowest")


def _moment(value: datetime) -> str:
    """Return a moment to the minute, as a reader looks for it."""
    text = value.isoformat(sep=" ", timespec="minutes")
    return text.replace("+00:00", " UTC")


def _table_cell(name: str, value: object) -> str:
    if isinstance(value, datetime):
        return _moment(value)
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
        return legible("; ".join(str(item) for item in plain))
    return legible(str(plain))
