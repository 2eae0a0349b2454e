"""Answers that cost more to weigh than to count, kept as long as their edition."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import TypeVar, cast

import duckdb

from dashboard.wish import wish
from queries.readers.doubts import Doubts, read_doubts
from queries.readers.edition import read_edition

Answer = TypeVar("Answer")

# Some views of a few people at a time; drawn panels are a megabyte or so each.
LONGEST = 64

_lock = threading.Lock()
_answers: OrderedDict[Hashable, object] = OrderedDict()


def kept(
    con: duckdb.DuckDBPyConnection, question: Hashable, answer: Callable[[], Answer]
) -> Answer:
    """Return the answer to a question, computed once for the edition that `con` reads.

    An edition never changes, and a new one has another file and time, so that nothing
    needs to be invalidated. The oldest answers go first. `question` names everything
    that the answer depends on; the answer is shared and must not be changed.
    """
    key = _key(con, question)
    with _lock:
        if key in _answers:
            _answers.move_to_end(key)
            return cast(Answer, _answers[key])
    found = answer()
    with _lock:
        _answers[key] = found
        while len(_answers) > LONGEST:
            _answers.popitem(last=False)
    return found


def drawn(
    con: duckdb.DuckDBPyConnection, question: Hashable, draw: Callable[[], Answer]
) -> Answer:
    """Return `kept` of a part of a page, whose links and numbers are as wished."""
    return kept(con, (wish(), question), draw)


def _key(con: duckdb.DuckDBPyConnection, question: Hashable) -> Hashable:
    edition = read_edition(con)
    paths = con.execute(
        "select path from duckdb_databases() where not internal order by path"
    ).fetchall()
    return tuple(paths), edition.edition_id, edition.published_at, question


def has_kept_doubts(con: duckdb.DuckDBPyConnection) -> bool:
    """Say whether read_kept_doubts answers at once."""
    key = _key(con, "doubts")
    with _lock:
        return key in _answers


def read_kept_doubts(con: duckdb.DuckDBPyConnection) -> Doubts:
    """Return read_doubts: one answer an edition, whatever the filters."""
    return kept(con, "doubts", lambda: read_doubts(con))
