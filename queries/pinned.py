"""Editions that readers pinned: a few, open beside the current one."""

from collections import OrderedDict
from collections.abc import Callable

import duckdb

from queries.errors import FirmsetError

# Each open edition may take a reader's whole memory limit.
MOST_OPEN = 2


class EditionNotKept(FirmsetError):  # noqa: N818
    """The edition asked for was removed since, or never published."""


class PinnedEditions:
    """The pinned editions that are open, the last used kept; not safe by itself.

    They are opened as the current one is: read-only and hardened. What is let go is not
    closed, since a reader may be half way through: it goes with its last cursor.
    """

    def __init__(self, open_one: Callable[[int], duckdb.DuckDBPyConnection]) -> None:
        self._open_one = open_one
        self._open: OrderedDict[int, duckdb.DuckDBPyConnection] = OrderedDict()

    def connection(self, edition_id: int) -> duckdb.DuckDBPyConnection:
        """Return the connection to an edition whose file is there.

        DamagedEdition where it cannot be opened; FirmsetError where another version of
        the schema made it.
        """
        if edition_id not in self._open:
            self._open[edition_id] = self._open_one(edition_id)
        self._open.move_to_end(edition_id)
        while len(self._open) > MOST_OPEN:
            self._open.popitem(last=False)
        return self._open[edition_id]

    def forget(self, edition_id: int) -> None:
        """Let an edition go, so that a removed file's room is given back."""
        self._open.pop(edition_id, None)

    def close(self, edition_id: int) -> None:
        """Close an edition that nobody reads."""
        connection = self._open.pop(edition_id, None)
        if connection is not None:
            connection.close()

    def __len__(self) -> int:
        return len(self._open)
