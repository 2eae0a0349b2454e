"""A check's file: its header, and the named expressions of its SELECT.

Every file in `queries/checks/` has one shape: a header of `-- key: text` lines, then
one SELECT over `logged` and `required` that names any quantities it needs, and then
margin, verdict, direction and words. `queries/layers.py` puts the SELECTs of all checks
together, so that a row is judged in one pass.
"""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from queries.header import read_header

CHECK_FOLDER = Path(__file__).parent / "checks"

# What every SELECT ends with, in this order.
RESULTS = ("margin", "verdict", "direction", "words")


@dataclass(frozen=True)
class CheckFile:
    """One check as it stands in its file.

    `header` by key; `expressions` by name, in order, the last four being RESULTS.
    """

    name: str
    header: dict[str, str]
    expressions: dict[str, str]

    @property
    def quantities(self) -> tuple[str, ...]:
        """Names of what the check works out before its margin."""
        return tuple(self.expressions)[: -len(RESULTS)]

    def expression(self, name: str) -> str:
        """Return one expression; names of this check's own get its name in front."""

        def prefixed(found: re.Match[str]) -> str:
            word = found.group()
            return f"{self.name}__{word}" if word in self.expressions else word

        return _TEXT_OR_NAME.sub(prefixed, self.expressions[name])


# A text is left alone, and so is logged.margin, a column of the log.
_TEXT_OR_NAME = re.compile(r"'(?:[^']|'')*'|(?<![.\w])[A-Za-z_]\w*")


@cache
def read_check_file(name: str) -> CheckFile:
    """Return a check's file taken apart; ValueError where it has another shape."""
    text = (CHECK_FOLDER / f"{name}.sql").read_text("utf-8")
    expressions = _expressions(text)
    if tuple(expressions)[-len(RESULTS) :] != RESULTS:
        raise ValueError(f"{name}.sql: expected to end with {', '.join(RESULTS)}")
    return CheckFile(name, read_header(text), expressions)


def _expressions(sql: str) -> dict[str, str]:
    """Return what stands between SELECT and the FROM of the file, by its name."""
    bare = re.sub(r"^\s*--.*$", "", sql, flags=re.MULTILINE)
    start, end = re.search(r"^select\b", bare, re.M), re.search(r"^from\b", bare, re.M)
    if start is None or end is None:
        raise ValueError("expected one SELECT ... FROM, each at the start of a line")
    expressions = {}
    for item in _split(bare[start.end() : end.start()]):
        expression, _, name = item.rpartition(" as ")
        expressions[name.strip()] = expression.strip()
    return expressions


def _split(select_list: str) -> list[str]:
    """Split at commas that stand outside of parentheses and texts."""
    items = []
    start = depth = 0
    is_text = False
    for found in re.finditer(r"[',()[\]]", select_list):
        sign = found.group()
        if sign == "'":
            is_text = not is_text
        elif is_text:
            continue
        elif sign != ",":
            depth += 1 if sign in "([" else -1
        elif depth == 0:
            items.append(select_list[start : found.start()])
            start = found.end()
    return [item.strip() for item in (*items, select_list[start:])]
