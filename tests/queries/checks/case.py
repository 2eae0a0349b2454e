"""One case of a boundary table: what was logged, and what the check must say."""

from types import MappingProxyType
from typing import NamedTuple

from tests.builders import Row


class Case(NamedTuple):
    """`row` changes the default row, `setting` the default setting data (builders)."""

    check: str
    row: Row
    verdict: str
    margin: float | None = None
    direction: str | None = None
    setting: Row = MappingProxyType({})
