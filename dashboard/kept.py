"""Answers that cost more to weigh than to count, kept as long as their edition."""

import threading
from collections import OrderedDict
from collections.abc import (
    Callable,
    Hashable,
    Iterable,
    Iterator,
    Mapping,
    Sequence,
)
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any, TypeVar, cast

import duckdb
import polars as pl

from dashboard.wish import wish
from queries.readers.changes import Changes, read_changes
from queries.readers.choices import Choices, read_choices
from queries.readers.comparison import Compared, read_comparisons
from queries.readers.doubts import Doubts, read_doubts
from queries.readers.edition import which_edition
from queries.readers.found_out import found_out_by_wrench, read_found_out
from queries.readers.quiet import read_quiet_sites
from queries.readers.revised import read_revised
from queries.readers.trend import no_trend, read_trends, within
from queries.readers.unlogged import read_unlogged
from queries.selection import Selection
from queries.statistics.charted import Trend

Answer = TypeVar("Answer")

# Some views of a few people at a time; most are frames of some hundred rows.
LONGEST = 256

_lock = threading.Lock()
_answers: OrderedDict[Hashable, object] = OrderedDict()
_weighing: dict[Hashable, threading.Lock] = {}
# A list, since a callback runs in a copy of the context: it is shared, a value is not.
_holding: ContextVar[list[date | None]] = ContextVar("holding")


def kept(
    con: duckdb.DuckDBPyConnection, question: Hashable, answer: Callable[[], Answer]
) -> Answer:
    """Return the answer to a question, computed once for the edition that `con` reads.

    An edition never changes, and a new one has another file and time, so that nothing
    needs to be invalidated. The oldest answers go first. `question` names everything
    that the answer depends on; the answer is shared and must not be changed. Who asks
    for what another request is weighing waits for it, instead of weighing it too.
    """
    [made] = kept_each(con, [question], lambda _: [answer()])
    return made


def kept_each(
    con: duckdb.DuckDBPyConnection,
    questions: Sequence[Hashable],
    answer: Callable[[list[Hashable]], Iterable[Answer]],
) -> list[Answer]:
    """Return `kept` of each question; `answer` is asked all that are missing.

    For answers that cost less together than each by itself.
    """
    edition = which_edition(con)
    keys = [(edition, question) for question in questions]
    found = _remembered(keys)
    missing = [key for key in keys if key not in found]
    if missing:
        with _turn((edition, tuple(missing))):
            found |= _remembered(missing)
            missing = [key for key in keys if key not in found]
            if missing:
                made = answer([question for _, question in missing])
                found |= dict(zip(missing, made, strict=True))
                _remember({key: found[key] for key in missing})
    return [cast(Answer, found[key]) for key in keys]


@contextmanager
def _turn(key: Hashable) -> Iterator[None]:
    """Wait for whoever weighs the same."""
    with _lock:
        turn = _weighing.setdefault(key, threading.Lock())
    with turn:
        try:
            yield
        finally:
            with _lock:
                _weighing.pop(key, None)


def _remembered(keys: Iterable[Hashable]) -> dict[Hashable, object]:
    """Return the answers that are there."""
    with _lock:
        found = {key: _answers[key] for key in keys if key in _answers}
        for key in found:
            _answers.move_to_end(key)
    return found


def _remember(made: Mapping[Hashable, object]) -> None:
    with _lock:
        _answers.update(made)
        while len(_answers) > LONGEST:
            _answers.popitem(last=False)


def drawn(
    con: duckdb.DuckDBPyConnection, question: Hashable, draw: Callable[[], Answer]
) -> Answer:
    """Return `kept` of a part of a page, whose links and numbers are as wished."""
    return kept(con, (wish(), question), draw)


def begin_answer() -> None:
    """Begin what may be kept whole, until `pass_on` or `hold_today` says otherwise."""
    _holding.set([])


def pass_on() -> None:
    """Say that what is being made is not the edition's alone, and holds only now."""
    _holding.get([]).append(None)


def server_day() -> date:
    """Return today's date at the server, in UTC."""
    return datetime.now(UTC).date()


def hold_today() -> date:
    """Return the server's day, and say that what is being made holds on it only."""
    day = server_day()
    _holding.get([]).append(day)
    return day


def is_passing() -> bool:
    """Say whether something made since `begin_answer` holds only now.

    So does what was begun before midnight and ended after it.
    """
    held = set(_holding.get([]))
    return None in held or len(held) > 1


def only_on() -> date | None:
    """Return the one day (UTC) on which all made since `begin_answer` holds."""
    return next(iter(_holding.get([])), None)


def read_kept_choices(con: duckdb.DuckDBPyConnection) -> Choices:
    """Return read_choices, which every answer begins with."""
    return kept(con, "choices", lambda: read_choices(con))


def read_kept_revised(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return read_revised: one answer an edition, whatever the filters."""
    return kept(con, "revised", lambda: read_revised(con))


def read_kept_quiet(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> list[tuple[str, date]]:
    """Return read_quiet_sites up to the last day chosen, of the sites chosen.

    The first day, crews, sizes and checks that are chosen make no site quiet.
    """
    quiet = kept(
        con, ("quiet", selection.to_on), lambda: read_quiet_sites(con, selection.to_on)
    )
    chosen = selection.site_codes
    return [each for each in quiet if not chosen or each[0] in chosen]


def read_kept_unlogged(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> pl.DataFrame:
    """Return read_unlogged, the same whatever the crews and checks chosen."""
    asked = replace(selection, crew_codes=(), check_names=())
    return kept(con, ("unlogged", asked), lambda: read_unlogged(con, asked))


def read_kept_found_out(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> list[dict[str, Any]]:
    """Return the rows of found_out_by_wrench: one look an edition, whatever filters."""
    found = kept(con, "found out", lambda: read_found_out(con))
    # Mostly none; to filter and to sum nothing would cost a millisecond a page.
    if found.is_empty():
        return []
    return found_out_by_wrench(found, selection).to_dicts()


def read_kept_doubts(con: duckdb.DuckDBPyConnection) -> Doubts:
    """Return read_doubts: one answer an edition, whatever the filters."""
    return kept(con, "doubts", lambda: read_doubts(con))


def read_kept_changes(
    con: duckdb.DuckDBPyConnection, by: str, selection: Selection
) -> Changes:
    """Return read_changes of all checks of a selection."""
    every = replace(selection, check_names=())
    return kept(con, ("changes", by, every), lambda: read_changes(con, by, every))


def read_kept_trends(
    con: duckdb.DuckDBPyConnection,
    check_name: str,
    selection: Selection,
    by: str,
    names: Sequence[str],
) -> Mapping[str, Trend]:
    """Return the weekly trend of some crews or anchor sizes (`by`) on a check.

    Kept whole, as dates only choose the weeks of it that are shown.
    """
    always = replace(selection, from_on=None, to_on=None, check_names=())

    def of_group(*group: str) -> Selection:
        if by == "crew":
            return replace(always, crew_codes=group)
        return replace(always, anchor_sizes=group)

    def question(name: str) -> Hashable:
        return "trend", check_name, by, of_group(name)

    def weigh(questions: list[Hashable]) -> Iterable[Trend]:
        missing = [name for name in names if question(name) in questions]
        found = read_trends(con, check_name, "week", of_group(*missing), by)
        return [found.get(name) or no_trend() for name in missing]

    found = kept_each(con, [question(name) for name in names], weigh)
    return {
        name: within(whole, selection.from_on, selection.to_on)
        for name, whole in zip(names, found, strict=True)
    }


def read_kept_comparisons(
    con: duckdb.DuckDBPyConnection,
    by: str,
    check_names: Iterable[str],
    selection: Selection,
) -> dict[str, Compared]:
    """Return read_comparisons of "site" or "crew" (`by`).

    All groups are weighed, whichever are shown: the choice changes no figure of any.
    """
    whole = replace(selection.choosing(by, ()), check_names=())
    asked: dict[Hashable, str] = {
        (by, "comparison", name, whole): name for name in check_names
    }

    def weigh(questions: list[Hashable]) -> Iterable[Compared]:
        names = [asked[question] for question in questions]
        return read_comparisons(con, by, names, whole).values()

    weighed = kept_each(con, list(asked), weigh)
    chosen = selection.chosen(by)
    if chosen:
        weighed = [replace(each, chosen=chosen) for each in weighed]
    return dict(zip(asked.values(), weighed, strict=True))
