"""Which records a search asks for, and how many there are on each day.

The counts by day do three things: their sum is the exact total, they tell between which
days a page of the list lies (so that ten million rows need not be sorted for fifty),
and they cut an export into pieces that fit into memory.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

import duckdb

from queries.errors import FirmsetError
from queries.judgement import (
    ANY_CHECK,
    CHECK_NAMES,
    MASKED_VERDICTS,
    MASKS,
    RATE_NAMES,
    VERDICTS,
)
from queries.record_hash import has_number_sql
from queries.selection import Selection

OUTCOMES = ("set", "abandoned", "replaced")
UNRECORDED_OUTCOME = "unrecorded"
# Every anchor that was set, whatever became of it and whether that was logged.
NOT_ABANDONED = "not-abandoned"
OUTCOMES_ASKED = (*OUTCOMES, UNRECORDED_OUTCOME, NOT_ABANDONED)


@dataclass(frozen=True)
class RecordSearch:
    """What records are asked for; None means "all".

    `verdict`: one of VERDICTS. Of the checks in the selection one or more has it;
    where none is named, or any_check, one or more of all checks, except: `conforming`
    is an anchor with a conforming check and no nonconforming one (as any_check in the
    rates), `inapplicable` one with nothing to judge and nothing missing. `outcome`: one
    of OUTCOMES_ASKED. `record_id` is the whole of a site's own number,
    `begins` its beginning; both as written, capitals and small letters apart.
    `wrench_code` is in capitals, as codes are stored.
    """

    selection: Selection = field(default_factory=Selection)
    verdict: str | None = "nonconforming"
    outcome: str | None = None
    record_id: str | None = None
    begins: str | None = None
    wrench_code: str | None = None

    @property
    def named_checks(self) -> tuple[str, ...]:
        """The checks asked for by name; none where any may be meant."""
        names = self.selection.check_names
        return () if ANY_CHECK in names else names

    @property
    def one_check(self) -> str | None:
        """The check whose margins can be shown: the only one named."""
        return self.named_checks[0] if len(self.named_checks) == 1 else None


@dataclass(frozen=True)
class DayCounts:
    """How many records match on each day with any, oldest first."""

    days: tuple[date, ...]
    counts: tuple[int, ...]

    @property
    def total(self) -> int:
        """How many records match."""
        return sum(self.counts)

    def span(
        self, start: date | None, rows: int, *, backward: bool
    ) -> tuple[date, date] | None:
        """Return the first and last day within which the next `rows` records lie.

        From the day `start` on, whose records may lie on either side and do not count
        (None: from the end of the list), towards older days, `backward` towards newer
        ones. None where there are no days that way.
        """
        order = range(len(self.days)) if backward else range(len(self.days) - 1, -1, -1)
        taken: list[date] = []
        found = 0
        for at in order:
            day = self.days[at]
            if start is not None and (day < start if backward else day > start):
                continue
            taken.append(day)
            found += self.counts[at] if day != start else 0
            if found >= rows:
                break
        return (min(taken), max(taken)) if taken else None

    def pieces(self, rows: int) -> Iterator[tuple[date, date]]:
        """Yield spans of days, newest first, of about `rows` records each.

        A day is never cut, so that a piece has more where one day has.
        """
        end = len(self.days)
        while end:
            start = end - 1
            found = self.counts[start]
            while start and found + self.counts[start - 1] <= rows:
                start -= 1
                found += self.counts[start]
            yield self.days[start], self.days[end - 1]
            end = start


def read_day_counts(con: duckdb.DuckDBPyConnection, search: RecordSearch) -> DayCounts:
    """Return how many records match on each day.

    Added up from the tally where it tells them apart (all filters but outcome, number
    and wrench, and of verdicts those it counts), else counted from the rows. Raises
    FirmsetError for a check, verdict or outcome that there is not.
    """
    check_search(search)
    counted = _tally_count(search)
    if counted is not None:
        where, parameters = place_conditions(search.selection, "anchor_size")
        sql = f"select installed_on, sum({counted})::bigint as n from tally"
    else:
        where, parameters = row_conditions(con, search)
        sql = "select installed_on, count(*) as n from installation"
    rows = con.execute(
        f"{sql} {where_sql(where)} group by installed_on having n > 0 "
        "order by installed_on",
        parameters,
    ).fetchall()
    return DayCounts(tuple(day for day, _ in rows), tuple(n for _, n in rows))


def check_search(search: RecordSearch) -> None:
    """Raise FirmsetError for a check, verdict or outcome that there is not."""
    asked: list[tuple[str, str, Sequence[str]]] = [
        ("check", name, RATE_NAMES) for name in search.selection.check_names
    ]
    asked += [("verdict", search.verdict, VERDICTS)] if search.verdict else []
    asked += [("outcome", search.outcome, OUTCOMES_ASKED)] if search.outcome else []
    for word, value, known in asked:
        if value not in known:
            raise FirmsetError(f"{word} {value!r}: expected one of {', '.join(known)}")


def _tally_count(search: RecordSearch) -> str | None:
    """Return the tally's count of the records asked for; None where it has none."""
    beside = (search.outcome, search.record_id, search.begins, search.wrench_code)
    if any(each is not None for each in beside):
        return None
    if search.verdict is None:
        return "installations"
    if search.one_check:
        name = search.one_check
        missing = f"{name}_unrecorded - {name}_unreadable"
        return {
            "conforming": f"{name}_judged - {name}_nonconforming",
            "inapplicable": f"installations - {name}_judged - {missing}",
        }.get(search.verdict, f"{name}_{search.verdict}")
    if search.named_checks:
        return None  # Several: an anchor with two of them must count once.
    return {
        "conforming": f"{ANY_CHECK}_judged - {ANY_CHECK}_nonconforming",
        "nonconforming": f"{ANY_CHECK}_nonconforming",
    }.get(search.verdict)


def place_conditions(
    selection: Selection, size_column: str | None
) -> tuple[list[str], dict[str, object]]:
    """Return the SQL conditions of dates, sites, crews and sizes, with parameters.

    Only of the filters that are set: a comparison with one value lets DuckDB pass over
    blocks of rows, a condition that may be NULL does not. `size_column` None: rows have
    no size but a setting_code.
    """
    conditions: list[str] = []
    parameters: dict[str, object] = {}
    for name, sign, day in (
        ("from_on", ">=", selection.from_on),
        ("to_on", "<=", selection.to_on),
    ):
        if day is not None:
            conditions.append(f"installed_on {sign} ${name}")
            parameters[name] = day
    sizes = size_column or (
        "setting_code in (select setting_code from setting_data where anchor_size"
    )
    for column, values in (
        ("site_code", selection.site_codes),
        ("crew_code", selection.crew_codes),
        (sizes, selection.anchor_sizes),
    ):
        if values:
            start = len(parameters)
            named = {f"value_{start + at}": value for at, value in enumerate(values)}
            listed = ", ".join(f"${name}" for name in named)
            closing = ")" if column.startswith("setting_code in") else ""
            conditions.append(f"{column} in ({listed}){closing}")
            parameters.update(named)
    return conditions, parameters


def row_conditions(
    con: duckdb.DuckDBPyConnection, search: RecordSearch
) -> tuple[list[str], dict[str, object]]:
    """Return the SQL conditions that a row of installation meets, with parameters."""
    conditions, parameters = place_conditions(search.selection, None)
    if search.verdict is not None:
        conditions.append(_verdict_sql(search, parameters))
    if search.outcome == UNRECORDED_OUTCOME:
        conditions.append("outcome is null")
    elif search.outcome == NOT_ABANDONED:
        conditions.append("outcome is distinct from 'abandoned'")
    elif search.outcome is not None:
        conditions.append("outcome = $outcome")
        parameters["outcome"] = search.outcome
    if search.record_id is not None:
        conditions.append(has_number_sql(con, "$record_id"))
        parameters["record_id"] = search.record_id
    if search.begins is not None:
        conditions.append("starts_with(record_id, $begins)")
        parameters["begins"] = search.begins
    if search.wrench_code is not None:
        conditions.append("wrench_code = $wrench_code")
        parameters["wrench_code"] = search.wrench_code
    return conditions, parameters


def _verdict_sql(search: RecordSearch, parameters: dict[str, object]) -> str:
    named = search.named_checks
    if search.verdict == "conforming" and not named:
        return "conforming_mask != 0 and nonconforming_mask = 0"
    if search.verdict == "inapplicable" and not named:
        return f"({' | '.join(MASKS)}) = 0"
    wanted = named or CHECK_NAMES
    parameters["wanted"] = sum(1 << CHECK_NAMES.index(name) for name in wanted)
    if search.verdict == "inapplicable":
        return f"(({' | '.join(MASKS)}) & $wanted::uinteger) != $wanted::uinteger"
    assert search.verdict in MASKED_VERDICTS
    return f"({search.verdict}_mask & $wanted::uinteger) != 0"


def where_sql(conditions: Sequence[str]) -> str:
    """Return WHERE with all conditions, nothing where there are none."""
    return "where " + " and ".join(conditions) if conditions else ""
