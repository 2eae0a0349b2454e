"""The rows of a search: a page of its list by key, or all of them piece by piece."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

from queries.columns import LOGGED_NAMES
from queries.errors import FirmsetError
from queries.frames import read_frame
from queries.judgement import (
    CHECK_NAMES,
    check_named,
    verdict_rows_sql,
)
from queries.readers.record_search import (
    DayCounts,
    RecordSearch,
    row_conditions,
    where_sql,
)

# How a list can be ordered: newest first, least margin first, by site and number.
ORDERS = ("newest", "margin", "record")
# More rows than this are not ordered by margin or number: it would take seconds.
MOST_ORDERED = 500_000
PIECE_ROWS = 20_000

# What a list sorts by before site and number, and which way that runs.
_LEADING = {"newest": ("installed_on", True), "margin": ("margin", False)}
_FIRST_NAMES = (
    "site_code",
    "record_id",
    "revision",
    "installed_on",
    "crew_code",
    "anchor_size",
    "setting_code",
    "outcome",
)
_REST_NAMES = tuple(name for name in LOGGED_NAMES if name not in _FIRST_NAMES)
Key = tuple[date | float | str, ...]


@dataclass(frozen=True)
class RecordPage:
    """One page of a list. `rows`: see read_record_page.

    `previous` and `next` are the keys of the rows at its ends, to go on from; None
    where the list ends there.
    """

    rows: pl.DataFrame
    previous: Key | None
    next: Key | None


def read_record_page(
    con: duckdb.DuckDBPyConnection,
    search: RecordSearch,
    days: DayCounts,
    *,
    order: str = "newest",
    after: Key | None = None,
    before: Key | None = None,
    limit: int = 50,
    whole: bool = False,
) -> RecordPage:
    """Return up to `limit` records of a search from a place in its list.

    `days`: read_day_counts of the same search. `after` and `before` are keys of this
    order: (day or margin where it sorts by one, site_code, record_id); a row of that
    key need not be there any more. Columns: site_code, record_id, revision,
    installed_on, crew_code, anchor_size, setting_code, outcome; check, verdict, margin
    (in margin_unit), direction and words of the only check named, else null;
    nonconforming_checks, unrecorded_checks, unreadable_checks (lists of names);
    cone_ratio (an indicative fraction, null where not known or abandoned); where
    `whole`, the other logged columns; file_name, source_row, edition. Raises
    FirmsetError for an order that cannot be served: why_not_ordered.
    """
    if reason := why_not_ordered(search, days, order):
        raise FirmsetError(reason)
    backward = after is None and before is not None
    key = before if backward else after
    conditions, parameters = row_conditions(con, search)
    if order == "newest":
        start = key[0] if key else None
        assert start is None or isinstance(start, date)
        span = days.span(start, limit + 1, backward=backward)
        _add_span(conditions, parameters, span)
    keys = _keys_sql(search, conditions, order, key, backward, parameters)
    parameters["limit"] = limit + 1
    rows = _read_rows(con, search, keys, parameters, order, whole=whole)
    more = rows.height > limit
    if more:
        rows = rows.tail(limit) if backward else rows.head(limit)
    ends = [_key_of(rows, order, at) for at in (0, -1)] if rows.height else [None, None]
    has_previous = more if backward else key is not None
    has_next = key is not None if backward else more
    return RecordPage(
        rows, ends[0] if has_previous else None, ends[1] if has_next else None
    )


def read_record_pieces(
    con: duckdb.DuckDBPyConnection,
    search: RecordSearch,
    days: DayCounts,
    piece_rows: int = PIECE_ROWS,
) -> Iterator[pl.DataFrame]:
    """Yield all records of a search, newest first, in frames that fit into memory.

    Columns are those of read_record_page, whole; one empty frame where nothing
    matches. A frame holds whole days, about `piece_rows` rows.
    """
    spans: list[tuple[date, date] | None] = [*days.pieces(piece_rows)]
    for span in spans or [None]:
        conditions, parameters = row_conditions(con, search)
        _add_span(conditions, parameters, span)
        keys = f"select rowid as row_number from installation {where_sql(conditions)}"
        yield _read_rows(con, search, keys, parameters, "newest", whole=True)


def why_not_ordered(search: RecordSearch, days: DayCounts, order: str) -> str | None:
    """Say in words why a search cannot be shown in an order; None where it can."""
    if order not in ORDERS:
        return f"order {order!r}: expected one of {', '.join(ORDERS)}"
    if order == "margin" and search.one_check is None:
        return "A list by margin needs one check: each has margins of its own."
    if order == "margin" and check_named(search.one_check or "").unit is None:
        return f"The check {search.one_check} has no margin to order by."
    if order != "newest" and days.total > MOST_ORDERED:
        return (
            f"Only up to {MOST_ORDERED} records are put in order by {order}; "
            f"{days.total} match. Filter further, or see the newest first."
        )
    return None


def _add_span(
    conditions: list[str],
    parameters: dict[str, object],
    span: tuple[date, date] | None,
) -> None:
    if span is None:
        conditions.append("false")
        return
    conditions.append("installed_on between $first_on and $last_on")
    parameters["first_on"], parameters["last_on"] = span


def _keys_sql(
    search: RecordSearch,
    conditions: list[str],
    order: str,
    key: Key | None,
    backward: bool,
    parameters: dict[str, object],
) -> str:
    """Return SQL of the row_number of one row more than a page."""
    columns = [*([_LEADING[order]] if order in _LEADING else []), *_IDENTITY]
    ways = [(name, descending != backward) for name, descending in columns]
    source = f"select rowid as row_number, * from installation {where_sql(conditions)}"
    if order == "margin" and search.one_check:
        judged = _judged_sql(search.one_check, f"({source})")
        margin = _margin_sql(search.one_check, "nan")
        source = f"select *, {margin} as margin from ({judged})"
    beyond = _beyond_sql(ways, key, parameters) if key else "true"
    sorting = ", ".join(f"{name} {'desc' if down else 'asc'}" for name, down in ways)
    taken = ", ".join(["row_number", *(name for name, _ in ways)])
    # Materialized: else DuckDB compares the texts of every row with the key first. The
    # newest lie in a few days anyway.
    kind = "" if order == "newest" else "materialized"
    return f"""
        with matching as {kind} (select {taken} from ({source}))
        select row_number from matching
        where {beyond} order by {sorting} limit $limit"""


_IDENTITY = (("site_code", False), ("record_id", False))


def _beyond_sql(
    ways: list[tuple[str, bool]], key: Key, parameters: dict[str, object]
) -> str:
    """Return the condition of lying past a key, the first column weighing most."""
    sql = "false"
    for at in range(len(ways) - 1, -1, -1):
        name, down = ways[at]
        parameters[f"key_{at}"] = key[at]
        sign = "<" if down else ">"
        sql = f"({name} {sign} $key_{at} or ({name} = $key_{at} and {sql}))"
    return sql


def _judged_sql(check: str, rows: str) -> str:
    return verdict_rows_sql(rows, [check])


def _margin_sql(check: str, missing: str) -> str:
    """Return a check's margin; `missing` (nan comes last) where nothing was judged."""
    blank = "null::double" if missing == "null" else "'nan'::double"
    return (
        f"if(outcome is not distinct from 'abandoned' or {check}__margin is null "
        f"or {check}__verdict = 'inapplicable', {blank}, {check}__margin)"
    )


def _read_rows(
    con: duckdb.DuckDBPyConnection,
    search: RecordSearch,
    keys: str,
    parameters: Mapping[str, object],
    order: str,
    *,
    whole: bool,
) -> pl.DataFrame:
    """Return the rows of the row numbers that `keys` selects, in the list's order."""
    check = search.one_check
    subject = (
        "(select * from installation where rowid in (select row_number from keys))"
    )
    logged = f"({_judged_sql(check, subject)})" if check else subject
    lead, down = _LEADING.get(order, ("site_code", False))
    # A margin that is missing comes last, as NaN does among the keys.
    way = "desc" if down else "asc nulls last"
    sql = f"""
        with keys as materialized ({keys})
        select
            {", ".join(_SOURCES.get(name, f"logged.{name}") for name in _FIRST_NAMES)},
            {_check_columns_sql(check)},
            {_names_sql("nonconforming")}, {_names_sql("unrecorded")},
            {_names_sql("unreadable")},
            logged.cone_ratio,
            {"".join(f"logged.{name}, " for name in _REST_NAMES) if whole else ""}
            source_file.file_name, logged.source_row,
            (select max(edition_id) from edition) as edition
        from {logged} as logged
        inner join setting_data as size using (setting_code)
        inner join source_file on logged.source_file_id = source_file.source_file_id
        order by {lead} {way}, site_code, record_id"""
    named = {**parameters, "check_names": list(CHECK_NAMES)}
    return read_frame(con, sql, named)


_SOURCES = {"anchor_size": "size.anchor_size"}


def _check_columns_sql(check: str | None) -> str:
    if check is None:
        return (
            'null::varchar as "check", null::varchar as verdict, '
            "null::double as margin, null::varchar as margin_unit, "
            "null::varchar as direction, null::varchar as words"
        )
    unit = check_named(check).unit
    abandoned = "outcome is not distinct from 'abandoned'"
    return f"""
        '{check}' as "check",
        if({abandoned}, 'inapplicable', {check}__verdict::varchar) as verdict,
        {_margin_sql(check, "null")} as margin,
        {f"'{unit}'" if unit else "null::varchar"} as margin_unit,
        if({abandoned}, null, {check}__direction) as direction,
        if({abandoned}, 'abandoned attempt: not judged', {check}__words) as words"""


def _names_sql(verdict: str) -> str:
    return f"""list_filter(
        $check_names::varchar[],
        lambda name, i: (logged.{verdict}_mask >> (i - 1)::uinteger) & 1 = 1
    ) as {verdict}_checks"""


def _key_of(rows: pl.DataFrame, order: str, at: int) -> Key:
    row = rows.row(at, named=True)
    identity = (row["site_code"], row["record_id"])
    if order not in _LEADING:
        return identity
    lead = row[_LEADING[order][0]]
    return (float("nan") if lead is None else lead, *identity)
