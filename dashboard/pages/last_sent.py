"""Intake, site by site: when it last sent, what, and whether that is a long silence."""

from datetime import date
from typing import Any

import duckdb
from dash import html

from dashboard import words
from dashboard.kept import hold_today
from dashboard.parts import Cell, Column, section, table
from queries.readers.intake import read_last_sent

# Beyond twice its own gap a site has missed one sending, and is late with the next. A
# site that sends every working day is not late after a weekend: nine in ten of its gaps
# must be shorter too.
LONG_SILENCE = 2.0
HEADING = "When each site last sent"


def last_sent(
    con: duckdb.DuckDBPyConnection, today: date | None = None
) -> html.Section:
    """Return the section; `today` is the server's day (UTC) unless given."""
    # Tomorrow the silence is a day longer.
    rows = read_last_sent(con, today or hold_today()).to_dicts()
    rows.sort(key=lambda row: (not _is_late(row), row["site_code"]))
    if not rows:
        return section(HEADING, "No site has sent a log, and none is in a sheet.")
    return section(
        HEADING,
        _sentence(rows),
        table(
            rows,
            [
                Column("Site", lambda row: row["site_name"] or row["site_code"]),
                Column("Last sent", _last),
                Column("Silence", _silence, is_prose=True),
                Column("Newest anchor", _newest),
                _number("Files", "files"),
                _number("Rows read", "rows_read"),
                _number("= loaded", "loaded"),
                _number("+ revised", "revised"),
                _number("+ duplicate", "duplicate"),
                _number("+ rejected", "rejected"),
                _number("Still open", "open_rejected"),
            ],
            caption="Last sending by site",
        ),
    )


def _newest(row: dict[str, Any]) -> str:
    return words.day(row["newest_on"]) if row["newest_on"] else ""


def _number(head: str, name: str) -> Column:
    return Column(
        head, lambda row: "" if row[name] is None else words.count(row[name]), True
    )


def _is_late(row: dict[str, Any]) -> bool:
    gap, long_gap = row["usual_gap_days"], row["long_gap_days"]
    return row["last_on"] is None or (
        gap is not None and row["silent_days"] > max(LONG_SILENCE * gap, long_gap)
    )


def _sentence(rows: list[dict[str, Any]]) -> str:
    """Say who is silent for long, and who sent nothing."""
    never = [_name(row) for row in rows if row["last_on"] is None]
    late = [_name(row) for row in rows if row["last_on"] is not None and _is_late(row)]
    quiet = (
        "A site that has gone quiet has no bad figures, and no good ones either. Long "
        "is over twice the site's own usual gap, and over nine in ten of its gaps; "
        "who sent once or twice has no usual gap yet."
    )
    parts = [
        f"Silent for long: {words.and_list(late)}." if late else "",
        f"Nothing sent yet: {words.and_list(never)}." if never else "",
        quiet,
    ]
    return " ".join(filter(None, parts))


def _name(row: dict[str, Any]) -> str:
    return str(row["site_name"] or row["site_code"])


def _last(row: dict[str, Any]) -> Cell | str:
    if row["last_on"] is None:
        return Cell("never", look="verdict unrecorded")
    return words.day(row["last_on"])


def _silence(row: dict[str, Any]) -> Cell | str:
    """Say the silence in words, against the site's own usual gap."""
    if row["last_on"] is None:
        return "has sent nothing; known from a sheet of crews or planned holes"
    days, gap = row["silent_days"], row["usual_gap_days"]
    since = "today" if days == 0 else f"{words.plural(days, 'day')} ago"
    if gap is None:
        sent = "once" if row["sendings"] == 1 else "twice"
        return f"{since}; sent {sent}"
    usual = f"usually every {_days(gap)}"
    if _is_late(row):
        return Cell(
            f"{since}, {words.fixed(days / gap, 1)} times its usual gap of {_days(gap)}"
        )
    return f"{since}; {usual}"


def _days(gap: float) -> str:
    return "day" if gap == 1 else f"{gap:g}{words.SPACE}days"
