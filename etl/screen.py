"""Find the rows of a staged file that cannot be taken, with the reason for each."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import duckdb

from etl.expected import reason_sql
from etl.no_installation import NO_INSTALLATION_CODES, mark_no_installations
from etl.parse import IDENTITY_NAMES, parsed_rows
from etl.query import Parameters
from etl.site_map import SiteMap, SitesWithin
from etl.staging import StagedFile

_MOST_NAMED = 5

# In this order: a row is rejected for the first that applies.
REASONS = {
    "unreadable_line": "is_unreadable_line",
    "no_record_id": "record_id is null",
    "no_date": "installed_on is null",
    "future_date": "installed_on > $latest_on::date",
    "no_crew_code": "crew_code is null",
    "no_setting_code": "setting_code is null",
    "unknown_setting_code": (
        "setting_code not in (select setting_code from setting_data)"
    ),
}
# What else is expected of a setting code, which is mostly a crew's word for an anchor.
_TRANSLATED = ", or a line for it under [codes.setting_code] of the site map"
# Where a site logs revisions. Taken as the first, a correction would lose to what it
# corrects.
UNREADABLE_REVISION = {
    "unreadable_revision": "revision is null and not is_blank(revision_cell)"
}

# Of the part of a log of several sites that is of none of them.
NO_SITE_CODE = "unknown_site"

# A total is looked for only among rows that lack one of these.
NO_IDENTITY_CODES = (
    *("no_record_id", "no_date", "no_crew_code", "no_setting_code"),
    NO_SITE_CODE,
)


def screen(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    now: datetime,
) -> None:
    """Fill the temporary tables `identity` and `rejected`.

    `now` is the load's clock (UTC): a row dated later than the day after it, by the
    site's own calendar, is rejected.

    `identity`: source_row, record_id, reason_code and reason (both NULL where the row
    can be taken; reason also where a line is unreadable), one row per row read.
    `rejected`: source_row, reason_code, reason, raw_text, record_id, revision.
    """
    names: tuple[str, ...] = IDENTITY_NAMES
    reasons, revision = REASONS, "0"
    if any(found.column.name == "revision" for found in site_map.columns):
        names, reasons = (*names, "revision"), reasons | UNREADABLE_REVISION
        revision = "if(is_blank(revision_cell), 0, revision)"
    rows = parsed_rows(staged, site_map, names)
    if site_map.counts_within:
        # Last: of a number within a day or a crew that lacks, the lack is said as such.
        number = reasons["no_record_id"]
        others = {code: test for code, test in reasons.items() if test != number}
        reasons = {**others, "no_record_id": number}
    if staged.site_place == 0:
        # That is wrong whatever else is.
        line = {"unreadable_line": reasons["unreadable_line"]}
        reasons = {**line, NO_SITE_CODE: "true", **reasons}
    codes = " ".join(f"when {test} then '{code}'" for code, test in reasons.items())
    has_settings = con.execute("select 1 from setting_data limit 1").fetchall() != []
    words, parameters = _reasons_in_words(site_map, now, has_settings=has_settings)
    branches = " ".join(f"when '{code}' then {text}" for code, text in words.items())
    con.execute(
        f"""
        create or replace temp table identity as
        select
            source_row, record_id, {revision}::integer as revision, reason_code,
            case reason_code {branches} end as reason
        from (select *, case {codes} end as reason_code from ({rows.sql}))
        """,
        rows.parameters | parameters,
    )
    mark_no_installations(con, staged, site_map)
    if not con.execute(
        "select 1 from identity where reason_code is not null limit 1"
    ).fetchall():
        # The empty table, without planning what fills it.
        con.execute(
            """
            create or replace temp table rejected (
                source_row bigint, reason_code varchar, reason varchar,
                raw_text varchar, record_id varchar, revision integer
            )
            """
        )
        return
    con.execute(
        f"""
        create or replace temp table rejected as
        select
            source_row,
            case kind when 'line' then reason_code else coalesce(kind, reason_code) end
                as reason_code,
            case kind
                when 'line' then line_fault
                when 'repeated_header' then 'the column names again'
                when 'footer_total' then 'a total of the rows above, no installation'
                when 'only_number' then 'a number alone, no installation'
                when 'no_anchor' then 'no such anchor in this row: nothing logged of it'
                when 'title' then 'a title of the rows below, no installation'
                when 'not_a_row' then 'no installation, as the site map says (not_rows)'
                else reason
            end as reason,
            raw_text, record_id, revision
        from (
            select
                source_row, reason_code, reason, record_id, revision,
                {staged.line_fault_sql} as line_fault,
                {staged.raw_text_sql(site_map.filled_headers)} as raw_text,
                case
                    when reason_code = 'unreadable_line' then 'line'
                    when list_contains($no_installation, reason_code) then reason_code
                    when {staged.is_repeated_header_sql} then 'repeated_header'
                    when
                        list_contains($no_identity, reason_code)
                        and {staged.is_footer_sql}
                        then 'footer_total'
                end as kind
            from identity
            inner join {staged.filled_rows_sql(site_map.filled_headers)}
                on source_row = {staged.row_sql}
            where reason_code is not null
        )
        """,
        {
            **staged.raw_text_parameters,
            **staged.shape_parameters,
            "no_identity": list(NO_IDENTITY_CODES),
            "no_installation": list(NO_INSTALLATION_CODES),
        },
    )


_OF_A_NIGHT = " || '; the small hours of a night are of the day after its date'"


def _reasons_in_words(
    site_map: SiteMap, now: datetime, *, has_settings: bool
) -> tuple[dict[str, str], dict[str, object]]:
    """Return, per reason code, the SQL of its words: header, value found, expected."""
    headers = {found.column.name: found.header for found in site_map.columns}
    date_name = "installed_on" if "installed_on" in headers else "installed_at"

    def found(name: str) -> str:
        return (
            f"${name}_header || ': ' || coalesce('''' || {name}_cell || '''', 'blank')"
        )

    today = now.astimezone(ZoneInfo(site_map.time_zone)).date()
    dates = Parameters("date_p")
    no_date = reason_sql("installed_on", f"{date_name}_cell", site_map, dates)
    words = {
        "no_record_id": (
            f"{found('record_id')} || ', expected a record''s own number' || $within"
        ),
        "no_date": f"{found(date_name)} || ', ' || {no_date}",
        "future_date": (
            f"{found(date_name)} || ', expected a date no later than ' "
            "|| $latest_on || ': the load''s clock shows ' || $today"
            f"{_OF_A_NIGHT if site_map.night_until else ''}"
        ),
        "no_crew_code": f"{found('crew_code')} || ', expected a crew''s code'",
        "no_setting_code": f"{found('setting_code')} || ', expected a setting code'",
        "unknown_setting_code": (
            f"{found('setting_code')} || ', expected a code of the setting data"
            f"{_TRANSLATED if has_settings else ', of which none is loaded yet'}'"
        ),
    }
    named = ["record_id", date_name, "crew_code", "setting_code"]
    if "revision" in headers:
        number = reason_sql("revision", "revision_cell", site_map, dates)
        words["unreadable_revision"] = f"{found('revision')} || ', ' || {number}"
        named.append("revision")
    expected_site = {}
    if site_map.sites is not None and not site_map.site_code:
        headers["site"] = site_map.sites.header
        words[NO_SITE_CODE] = f"{found('site')} || $expected_site"
        expected_site["expected_site"] = _expected_site(site_map.sites)
        named.append("site")
    parameters: dict[str, object] = {f"{name}_header": headers[name] for name in named}
    within = ", ".join(site_map.counts_within)
    return words, parameters | dates.values | expected_site | {
        "within": f", and what it counts within: {within}" if within else "",
        "latest_on": str(today + timedelta(days=1)),
        "today": str(today),
    }


def _expected_site(within: SitesWithin) -> str:
    words = [word for word, _ in within.words]
    listed = ", ".join(words[:_MOST_NAMED])
    more = f" or {len(words) - _MOST_NAMED} more" if len(words) > _MOST_NAMED else ""
    return f", expected a word of [sites] in the site map: {listed}{more}"
