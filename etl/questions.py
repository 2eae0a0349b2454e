"""Questions about a file's values: remarks on its receipt that change nothing.

A question is asked of the site; whatever the answer, what was logged stays as it was
loaded.
"""

import json
import tomllib
from dataclasses import dataclass
from datetime import date
from typing import Final

import duckdb

from etl.clusters import count_ratios, mapped_probes, unit_questions
from etl.draft.match import is_site
from etl.far_dates import far_words
from etl.mostly_failing import questions_of_checks
from etl.night_shifts import question_of_nights
from etl.odd_dates import CONTRADICTS, MUST_SAY
from etl.receipt import Receipt
from etl.renumbered import question_of_within
from etl.site_map import SiteMap
from etl.staging import StagedFile
from etl.unread_marks import question_of_marks

# Fewer values than this are no reason for a question.
FEWEST: Final = 20
# More words than these name no sites, but rooms, or whatever else.
MOST_SITES: Final = 12
# The share of a file's dates that may contradict the site map without a question: a
# slip of the pen now and then. Half of all rows on one day of a fortnight is no slip.
MOST_CONTRADICTIONS_FRAC: Final = 0.02
ONE_DAY_FRAC: Final = 0.5
ONE_DAY_SPAN_DAYS: Final = 14


@dataclass(frozen=True)
class _Dates:
    """A file's rows by date: how many, on which day most, and how many at midnight.

    `by_day`: each day with its rows, in order.
    """

    rows: int
    rows_on_day: int
    day: date | None
    by_day: list[tuple[date, int]]
    times: int
    midnights: int


def questions(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, source_file_id: int
) -> list[str]:
    """Return the questions that a loaded file raises, each in a sentence.

    Called within the load, once its rows are in installation and rejected_row; reads
    the file's rows by crew, by day and by verdict, and changes nothing.
    """
    asked = _unreadable_dates(con, site_map, source_file_id)
    asked += question_of_marks(con, site_map, source_file_id)
    if site_map.date_year is not None:
        asked += _new_years(con, site_map.date_year.year, source_file_id)
    asked += question_of_nights(con, site_map, source_file_id)
    asked += question_of_within(con, site_map, source_file_id)
    units: dict[str, list[str]] = {}
    if probes := mapped_probes(site_map):
        # Of few rows, too: a cluster has a least number of its own.
        units = unit_questions(count_ratios(con, probes, source_file_id), probes)
    asked += [question for said in units.values() for question in said]
    dates = _count_dates(con, site_map, source_file_id)
    if dates.rows < FEWEST:
        return asked
    asked += _dates(dates)
    return asked + questions_of_checks(con, site_map, source_file_id, explained=units)


def _unreadable_dates(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, source_file_id: int
) -> list[str]:
    """Ask for `day_first` where dates have two readings, or contradict it."""
    [(rows, contradicting, ambiguous)] = con.execute(
        """
        select
            (select count(*) from identity),
            count(*) filter (where contains(reason, $contradicts)),
            count(*) filter (where contains(reason, $must_say))
        from rejected_row
        where source_file_id = $source_file_id and reason_code = 'no_date'
        """,
        {
            "source_file_id": source_file_id,
            "contradicts": CONTRADICTS,
            "must_say": MUST_SAY,
        },
    ).fetchall()
    asked = []
    if contradicting > MOST_CONTRADICTIONS_FRAC * rows:
        said = str(site_map.day_first).lower()
        asked.append(
            f"day_first = {said} is contradicted by {contradicting} of {rows} dates, "
            "rejected: a question whether the site map is wrong"
        )
    if ambiguous:
        asked.append(
            f"two readings of {ambiguous} of {rows} dates, rejected: "
            f"{MUST_SAY} = true or false"
        )
    return asked


def _new_years(
    con: duckdb.DuckDBPyConnection, year: int, source_file_id: int
) -> list[str]:
    """Ask whether a log without years runs over New Year: then one year is not all."""
    rows = con.execute(
        """
        select source_row, month(first_value(installed_on) over in_file)
        from installation
        where source_file_id = $source_file_id
        window in_file as (order by source_row)
        qualify
            month(installed_on) <= 2
            and month(lag(installed_on) over in_file) >= 11
            and installed_on < lag(installed_on) over in_file
        order by source_row
        limit 1
        """,
        {"source_file_id": source_file_id},
    ).fetchall()
    return [
        f"row {row} is early in the year after one late in it; dates without a year "
        f"are taken for {year}: a question whether the log runs over New Year; if so, "
        f"write the year it begins in and first_month = {month} under [dates] of the "
        "site map, take the file back with firmset unload, and load it again"
        for row, month in rows
    ]


def question_of_numbers(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, source_file_id: int
) -> list[str]:
    """Ask whether record numbers begin again, where others' days or crews have them.

    As `questions`; for a file some of whose rows are in conflict with others.
    """
    [(rows, again)] = con.execute(
        """
        select
            (select count(*) from identity),
            count(distinct again.record_id)
        from conflicting_installation as again
        inner join installation as held using (site_code, record_id, revision)
        where
            $source_file_id in (again.source_file_id, held.source_file_id)
            and (again.installed_on, again.crew_code)
            != (held.installed_on, held.crew_code)
        """,
        {"source_file_id": source_file_id},
    ).fetchall()
    if again < MOST_CONTRADICTIONS_FRAC * rows or not again:
        return []
    headers = {found.column.name: found.own_headers for found in site_map.columns}
    day = headers.get("installed_on") or headers["installed_at"]
    # A crew that the map names for the whole file stands in no column of it.
    within = json.dumps([*day, *headers["crew_code"]], ensure_ascii=False)
    number = json.dumps(*headers["record_id"], ensure_ascii=False)
    verb = " is" if rows == 1 else "s are"
    question = (
        f"{again} of {rows} record number{verb} those of other days' or crews' anchors "
        "too: a question whether the numbers begin again; if so, write in the site map "
        f"within what, as record_id = {{from = {number}, within = {within}}}, take "
        "back what is loaded with firmset unload, and load the files again"
    )
    return [question]


def questions_of_site(
    con: duckdb.DuckDBPyConnection,
    receipt: Receipt,
    staged: StagedFile,
    site_map: SiteMap,
) -> list[str]:
    """Ask whether a file is of its map's site: of another, or of several.

    Called within the load, while staged_row is there. Nothing is asked of a log of
    several sites, whose map tells them apart.
    """
    if site_map.sites is not None:
        return []
    asked = _held_for_another(con, receipt, site_map, staged.part)
    return asked + _of_several(con, staged, site_map)


def _held_for_another(
    con: duckdb.DuckDBPyConnection, receipt: Receipt, site_map: SiteMap, part: str
) -> list[str]:
    """Ask whose a file is, where the same bytes are held for another site.

    Its anchors would be counted twice, once for each. Not where each site's map takes
    a sheet of its own; nor of a site that has held these bytes before, which was asked
    then. `part` as in receipt_of_same_file.
    """
    held = con.execute(
        """
        select file.site_code, file.source_file_id, site_map.text
        from source_file as file
        inner join site_map on file.site_map_sha256 = site_map.sha256
        where
            file.sha256 = ? and file.unloaded_at is null
            and ends_with(file.file_name, ?)
        order by file.source_file_id
        """,
        [receipt.sha256, part],
    ).fetchall()
    sheet = _sheet_taken(site_map.path.read_text("utf-8"))
    sites = {site: number for site, number, text in held if _sheet_taken(text) == sheet}
    if not sites or receipt.site_code in sites:
        return []
    site_code, source_file_id = next(iter(sites.items()))
    question = (
        f"the same file is held for site {site_code}, as receipt {source_file_id}: a "
        "question whose it is; its anchors now count for both. If it is not "
        f"{site_code}'s, firmset unload {source_file_id}"
    )
    return [question]


def _of_several(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> list[str]:
    """Ask whether a file is of several sites, where a column that is not read says so.

    All of its rows count for the one site of the map.
    """
    if site_map.beside is not None and site_map.beside.place > 1:
        return []  # Asked with the first anchor of the same rows.
    read = site_map.headers_read
    asked = []
    for header in staged.headers:
        if header in read or not is_site(header):
            continue
        cell = f"nullif(trim({staged.cell_sql(header)}), '')"
        found = con.execute(
            f"select {cell} as word, count(*) from staged_row where word is not null "
            f"group by word order by count(*) desc, word limit {MOST_SITES + 1}"
        ).fetchall()
        if 1 < len(found) <= MOST_SITES and found[0][1] > 1:
            listed = ", ".join(f"{word!r} {count:,}" for word, count in found)
            name = json.dumps(header, ensure_ascii=False)
            asked.append(
                f"column {header!r} holds {len(found)} words ({listed}): a question "
                "whether the file is of several sites; all of its rows now count for "
                f"{site_map.site_code}. If it is, take it back with firmset unload, "
                f"say in the site map [site] from = {name} and under [sites] whose "
                "each word is, and load it again"
            )
    return asked


def _sheet_taken(map_text: str) -> object:
    """Return what a site map says of the sheet, None where it says nothing."""
    return tomllib.loads(map_text)["files"].get("sheet")


def _count_dates(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, source_file_id: int
) -> _Dates:
    [counted] = con.execute(
        """
        select
            coalesce(sum(row_count), 0)::bigint,
            coalesce(max(row_count), 0),
            arg_max(installed_on, row_count),
            coalesce(list(row(installed_on, row_count) order by installed_on), []),
            coalesce(sum(time_count), 0)::bigint,
            coalesce(sum(midnight_count), 0)::bigint
        from (
            select
                installed_on,
                count(*) as row_count,
                count(installed_at) as time_count,
                -- Zones stand on quarters of an hour: few rows need the zone's rules.
                count(*) filter (
                    where case
                        when epoch_us(installed_at) % 900000000 = 0
                            then
                                installed_at
                                = installed_on::timestamp at time zone $time_zone
                    end
                ) as midnight_count
            from installation
            where source_file_id = $source_file_id
            group by installed_on
        )
        """,
        {"source_file_id": source_file_id, "time_zone": site_map.time_zone},
    ).fetchall()
    return _Dates(*counted)


def _dates(dates: _Dates) -> list[str]:
    asked: list[str] = []
    if not dates.by_day:
        return asked
    first, last = dates.by_day[0][0], dates.by_day[-1][0]
    span_days = (last - first).days
    if (
        span_days >= ONE_DAY_SPAN_DAYS
        and dates.rows_on_day >= ONE_DAY_FRAC * dates.rows
    ):
        asked.append(
            f"{dates.rows_on_day} of {dates.rows} rows are dated {dates.day} in a file "
            f"from {first} to {last}, as if the day of typing had been "
            "logged: a question about dates for the site; nothing was changed"
        )
    if dates.times >= FEWEST and dates.midnights == dates.times:
        asked.append(
            f"all {dates.times} times are midnight, as if only dates had been logged: "
            "a question about times for the site; nothing was changed"
        )
    return asked + far_words(dates.by_day)
