"""Read a site map and check all that it says about the site, its files and dates."""

import hashlib
from datetime import date, datetime
from fnmatch import translate
from pathlib import Path

from etl.site_map.beside import (
    ANCHOR,
    check_anchors,
    read_anchor_count,
    read_anchors,
)
from etl.site_map.codes import read_codes
from etl.site_map.columns import read_columns
from etl.site_map.directives import has_time, written_directives
from etl.site_map.faults import Faults, shown
from etl.site_map.listed import read_listed
from etl.site_map.model import ENCODINGS, SiteMap
from etl.site_map.names import names_kept, plain_pattern, unclear_part
from etl.site_map.nights import read_night_until
from etl.site_map.sites import read_sites
from etl.site_map.tables import Table, check_names
from etl.site_map.toml_text import read_toml
from etl.site_map.years import read_year

LAST_HEADER_ROW = 1000

# The directives of DuckDB's strptime that make a day, by what they give.
_DATE_PARTS = (
    ("a day", {"%d", "%-d"}),
    ("a month", {"%m", "%-m", "%b", "%B"}),
    ("a year", {"%Y", "%y", "%-y"}),
)
_OTHER_PARTS = {
    *("%a", "%A", "%H", "%-H", "%I", "%-I", "%p", "%M", "%-M", "%S", "%-S"),
    *("%f", "%g", "%n", "%z", "%Z", "%%"),
}


def read_site_map(path: Path) -> SiteMap:
    """Read and validate a site map; FirmsetError lists all of its faults by line."""
    content, raw = read_toml(path)
    faults = Faults(path, content.decode("utf-8"))
    check_names(raw, faults)
    site, sites = read_sites(
        Table(raw, "site", faults), Table(raw, "sites", faults), faults
    )
    files = Table(raw, "files", faults)
    decimal = files.one_of("decimal", (".", ","), ".")
    codes = Table(raw, "codes", faults)
    columns = read_columns(Table(raw, "columns", faults), codes.values.keys(), faults)
    dates = Table(raw, "dates", faults)
    date_format, day_first = _dates(dates, faults)
    names = {found.column.name for found in columns}
    if date_format and "installed_at" in names:
        _require_time_of_day(date_format, faults)
    sheets = _sheets(files, "sheet", faults)
    is_one_sheet = len(sheets) == 1 and not set("*?") & set(plain_pattern(sheets[0]))
    site_map = SiteMap(
        path=path,
        # As the text is stored: one map, however its lines end.
        sha256=hashlib.sha256(content.replace(b"\r\n", b"\n")).hexdigest(),
        site_code=site.code,
        site_name=site.name,
        time_zone=site.time_zone,
        sites=sites,
        match=_match(files, faults),
        columns=columns,
        codes=read_codes(codes, names, decimal, faults),
        encoding=files.one_of("encoding", ENCODINGS, "utf-8"),
        delimiter=_delimiter(files, decimal, faults),
        decimal=decimal,
        header_rows=_header_rows(files, faults),
        sideways=files.yes_or_no("sideways"),
        listed=read_listed(Table(raw, "listed", faults), columns, faults),
        sheet=sheets[0] if is_one_sheet else None,
        sheets=() if is_one_sheet else sheets,
        not_sheets=_not_sheets(files, faults),
        titles=_words(
            files,
            "titles",
            "words that stand above the rows",
            ("Date", "Crew"),
            faults,
        ),
        not_rows=_words(
            files,
            "not_rows",
            "words that rows begin with which are no installations",
            ("Signature", "Remarks"),
            faults,
        ),
        as_above=_words(
            files,
            "as_above",
            "marks that repeat the cell above them",
            ("ditto", "do."),
            faults,
        ),
        records=_records(files, faults),
        anchors=read_anchors(files, faults),
        anchor_count=read_anchor_count(files, faults),
        valid_from=_valid_from(files, faults),
        date_format=date_format,
        date_year=read_year(dates, faults),
        day_first=day_first,
        night_until=read_night_until(dates, names, faults),
    )
    _check_told(site_map, faults)
    check_anchors(site_map, faults)
    faults.report()
    return site_map


def _match(files: Table, faults: Faults) -> str:
    expected = "a file's name or a pattern of it such as harbour_*.csv"
    match = files.text("match", expected)
    reason = None
    if "/" in match or "\\" in match:
        reason = "only the file's name is compared, without its folder"
    elif match != match.strip():
        reason = "a space at the beginning or end"
    elif "(?!)" in translate(match):
        reason = "a range in [ ] that holds no character"
    elif match.startswith(".") or match.lower().endswith((".toml", ".md")):
        reason = "hidden files, .toml and .md are not taken for logs"
    if reason:
        faults.add(
            ("files", "match"),
            f"[files] match = {shown(match)}: matches no log ({reason}), "
            f"expected {expected}",
        )
    return match


def _delimiter(files: Table, decimal: str, faults: Faults) -> str:
    value = files.values.get("delimiter", ",")
    is_sign = isinstance(value, str) and len(value) == 1 and not value.isalnum()
    if isinstance(value, str) and is_sign and value not in '"\r\n\0':
        if value != decimal or value == ",":  # "1,5" may stand in quotes.
            return value
        faults.add(
            ("files", "delimiter"),
            f"[files] delimiter = {shown(value)}: is the decimal sign too, "
            "expected another sign",
        )
        return ","
    faults.add(
        ("files", "delimiter"),
        f"[files] delimiter = {shown(value)}: expected one character, and no letter, "
        "digit, quotation mark or line break",
    )
    return ","


def _header_rows(files: Table, faults: Faults) -> tuple[int, ...]:
    """Return the header's rows: one number, or a list of consecutive ones."""
    value = files.values.get("header_row", 1)
    given = value if isinstance(value, list) else [value]
    rows = [row for row in given if type(row) is int and 1 <= row <= LAST_HEADER_ROW]
    if rows and given == [*range(rows[0], rows[0] + len(rows))]:
        return tuple(rows)
    faults.add(
        ("files", "header_row"),
        f"[files] header_row = {shown(value)}: expected a row number from 1 to "
        f"{LAST_HEADER_ROW}, or consecutive ones such as [3, 4]",
    )
    return (1,)


def _sheets(files: Table, key: str, faults: Faults) -> tuple[str, ...]:
    """Return the names or patterns of sheets under a key, none where it is not there.

    Of `sheet` none means the first sheet.
    """
    if key not in files.values:
        return ()
    value = files.values[key]
    given = value if isinstance(value, list) else [value]
    names = [name for name in given if isinstance(name, str) and name.strip()]
    if not names or len(names) < len(given):
        faults.add(
            ("files", key),
            f"[files] {key} = {shown(value)}: expected a sheet's name, a pattern such "
            'as "Week *", or a list of them',
        )
    return tuple(names)


def _not_sheets(files: Table, faults: Faults) -> tuple[str, ...]:
    names = _sheets(files, "not_sheets", faults)
    if names and "sheet" not in files.values:
        faults.add(
            ("files", "not_sheets"),
            f"[files] not_sheets = {shown(files.values['not_sheets'])} without sheet: "
            "expected both; of a workbook without either the first sheet is read",
        )
    return names


def _records(files: Table, faults: Faults) -> str | None:
    """Return the JSON Pointer (RFC 6901) of the records; None where it is not said."""
    value = files.values.get("records")
    if value is None or value == "":
        return value
    if isinstance(value, str) and value.startswith("/"):
        return value
    faults.add(
        ("files", "records"),
        f"[files] records = {shown(value)}: expected where a JSON object has its list "
        'of records, as "/form/anchors", or "" if it is a record itself',
    )
    return None


def _words(
    files: Table, key: str, expected: str, example: tuple[str, ...], faults: Faults
) -> tuple[str, ...]:
    """Return a list of words, each on one line and without the colon behind it."""
    value = files.values.get(key, [])
    given = value if isinstance(value, list) else [value]
    words = [word for word in given if isinstance(word, str) and word.strip(" :")]
    if len(words) < len(given):
        listed = ", ".join(f'"{word}"' for word in example)
        faults.add(
            ("files", key),
            f"[files] {key} = {shown(value)}: expected a list of the {expected}, such "
            f"as [{listed}]",
        )
    return tuple(" ".join(word.rstrip(" :").split()) for word in words)


def _check_told(site_map: SiteMap, faults: Faults) -> None:
    """What names and titles tell has one name each, and its ends can be told."""
    for key, patterns in (("match", (site_map.match,)), ("sheet", site_map.sheets)):
        for pattern in patterns:
            if part := unclear_part(pattern):
                faults.add(
                    ("files", key),
                    f"[files] {key} = {shown(pattern)}: where {part} is parted is not "
                    "known, expected some other sign between them",
                )
    for sheet in site_map.sheets or ("",):
        names = [
            *(*names_kept(site_map.match), *names_kept(sheet)),
            *site_map.titles,
            *([ANCHOR] if site_map.anchors else ()),
        ]
        for name in sorted({name for name in names if names.count(name) > 1}):
            faults.add(
                ("files",),
                f"[files] names {shown(name)} twice in match, sheet and titles"
                f"{' (and anchors)' if name == ANCHOR else ''}, expected another name "
                "for each",
            )


def _valid_from(files: Table, faults: Faults) -> date | None:
    value = files.values.get("valid_from")
    if value is None:
        return None
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    faults.add(
        ("files", "valid_from"),
        f"[files] valid_from = {shown(value)}: expected a date without quotation marks "
        "as 2026-03-01",
    )
    return None


def _dates(dates: Table, faults: Faults) -> tuple[str | None, bool | None]:
    """Return the format and whether the day comes first; one of them at most."""
    date_format, day_first = None, dates.values.get("day_first")
    if "format" in dates.values:
        date_format = dates.text("format", "a strptime format such as %d.%m.%Y")
        _check_format(date_format, faults)
    if day_first is not None and not isinstance(day_first, bool):
        faults.add(
            ("dates", "day_first"),
            f"[dates] day_first = {shown(day_first)}: expected true or false",
        )
        day_first = None
    if date_format and day_first is not None:
        faults.add(
            ("dates", "day_first"),
            f"[dates] day_first = {str(day_first).lower()} beside format = "
            f"{shown(date_format)}: expected one of them; the format says the order",
        )
    return date_format, day_first


def _check_format(date_format: str, faults: Faults) -> None:
    if not date_format:
        return
    where, given = ("dates", "format"), set(written_directives(date_format))
    known = _OTHER_PARTS.union(*(parts for _, parts in _DATE_PARTS))
    for unknown in sorted(given - known):
        faults.add(
            where,
            f"[dates] format = {shown(date_format)}: {unknown} is not known, expected "
            f"some of {' '.join(sorted(known))}",
        )
    for what, parts in _DATE_PARTS:
        if not given & parts:
            faults.add(
                where,
                f"[dates] format = {shown(date_format)}: lacks {what}, "
                f"expected {' or '.join(sorted(parts))} in it",
            )


def _require_time_of_day(date_format: str, faults: Faults) -> None:
    if not has_time(date_format):
        faults.add(
            ("dates", "format"),
            f"[dates] format = {shown(date_format)}: has no time of day, but "
            "installed_at is mapped; expected an hour (%H) in it, or installed_on",
        )
