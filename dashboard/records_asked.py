"""What the page Records is asked: the search, its order and place, from the address."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import duckdb

from dashboard.address import PLACES, Asked, View
from dashboard.kept import kept
from queries.judgement import VERDICTS
from queries.readers.record_page import (
    ORDERS,
    Key,
    RecordPage,
    read_record_page,
    why_not_ordered,
)
from queries.readers.record_search import (
    OUTCOMES_ASKED,
    DayCounts,
    RecordSearch,
    read_day_counts,
)

PAGE_LENGTH = 50
ANY = "any"
DEFAULT_VERDICT = "nonconforming"


@dataclass(frozen=True)
class RecordsQuestion:
    """What an address asks of Records.

    `after` and `before`: the key of the record from which its page goes on.
    `default_verdict`: the one that no choice stands for. `problems` says in words what
    was not understood and left out.
    """

    search: RecordSearch
    order: str
    after: Key | None
    before: Key | None
    default_verdict: str
    problems: tuple[str, ...]


def read_records_question(view: View) -> RecordsQuestion:
    """Return what the address of Records asks; never raises."""
    values = dict(view.asked)
    given = {name: ",".join(items) for name, items in values.items()}
    problems: list[str] = []
    # Who names a record wants to see it, whatever its verdict.
    default = ANY if "id" in given else DEFAULT_VERDICT
    verdict = _known(given, "verdict", (*VERDICTS, ANY), problems) or default
    order = _known(given, "order", ORDERS, problems) or ORDERS[0]
    wrench = given.get("wrench")
    after, before = (_key(values, name, order, problems) for name in PLACES)
    search = RecordSearch(
        selection=view.selection,
        verdict=None if verdict == ANY else verdict,
        outcome=_known(given, "outcome", OUTCOMES_ASKED, problems),
        record_id=given.get("id"),
        begins=given.get("begins"),
        wrench_code=None if wrench is None else wrench.upper(),
    )
    return RecordsQuestion(search, order, after, before, default, tuple(problems))


def days_of(con: duckdb.DuckDBPyConnection, search: RecordSearch) -> DayCounts:
    """Return how many records match by day, counted once an edition."""
    return kept(con, ("record days", search), lambda: read_day_counts(con, search))


def read_asked_page(
    con: duckdb.DuckDBPyConnection, question: RecordsQuestion
) -> tuple[RecordPage, DayCounts, str | None]:
    """Return the page asked for, the counts by day, and why the order is another.

    A list that cannot be served in the order asked for is shown from its newest.
    """
    days = days_of(con, question.search)
    reason = why_not_ordered(question.search, days, question.order)
    page = read_record_page(
        con,
        question.search,
        days,
        order=ORDERS[0] if reason else question.order,
        after=None if reason else question.after,
        before=None if reason else question.before,
        limit=PAGE_LENGTH,
    )
    return page, days, reason


def with_place(view: View, name: str = "", key: Key = ()) -> Asked:
    """Return what the address asks, from another place of the list, or its start."""
    asked = [(one, items) for one, items in view.asked if one not in PLACES]
    place = [str(part) for part in key]
    return [*asked, (name, place)] if key else asked


def has_place(view: View) -> bool:
    """Say whether an address asks for another page than the first."""
    return any(name in PLACES for name, _ in view.asked)


def _known(
    given: Mapping[str, str], name: str, known: Sequence[str], problems: list[str]
) -> str | None:
    value = given.get(name)
    if value is None or value in known:
        return value
    problems.append(
        f"The address asks for {name} “{value[:60]}”; expected one of "
        f"{', '.join(known)}. It was left out."
    )
    return None


def _key(
    values: Mapping[str, Sequence[str]], name: str, order: str, problems: list[str]
) -> Key | None:
    parts = values.get(name)
    if parts is None:
        return None
    try:
        return _parse_key(parts, order)
    except ValueError:
        problems.append(
            f"The address goes on {name} “{','.join(parts)[:60]}”, no place in this "
            "list; expected one that its links lead to. The list is shown from "
            "its start."
        )
        return None


def _parse_key(parts: Sequence[str], order: str) -> Key:
    """Return the key that an address holds; ValueError where it is none."""
    if order == "record":
        site, record = parts
        return site, record
    lead, site, record = parts
    if order == "newest":
        return date.fromisoformat(lead), site, record
    number = float(lead)
    return (math.nan if math.isnan(number) else number), site, record
