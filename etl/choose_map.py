"""Which of a site's maps is the one for a file, where its format changed over time.

The rule, in this order:
1. The maps whose `match` fits the file's name. They must be of one site.
2. A date in the file's name decides: the newest map whose `valid_from` is not after it
   (a map without `valid_from` is the oldest). A month or week in the name decides only
   where all of its days have the same map.
3. Else the headers decide: the one map whose columns the file has. Of two that fit,
   one is taken only if it reads all that the other reads, in the same way, and more.
4. Else it is an error that names the maps, and why each does or does not fit.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from etl.draft.sample import Layout, Rows, kind_of, read_rows
from etl.file_parts import parts_of
from etl.sheets.registry import sheet_of_header
from etl.site_map import IDENTIFYING, ListedValues, SiteMap
from etl.staging import joined_headers, title_in, trimmed, turned, unique_headers
from queries.errors import FirmsetError

Period = tuple[date, date]

_IN_LIST = re.compile(r"\.[1-9]\d*\.(?=[^.]+$)")
_DAY = re.compile(r"(?<!\d)(20\d\d)([-_.]?)(\d\d)\2(\d\d)(?!\d)")
_DAY_LAST_YEAR = re.compile(r"(?<!\d)(\d\d)\.(\d\d)\.(20\d\d)(?!\d)")
_WEEK = re.compile(r"(?<!\d)(20\d\d)[-_]?K?W(\d\d)(?!\d)", re.IGNORECASE)
_MONTH = re.compile(r"(?<!\d)(20\d\d)[-_](\d\d)(?![-_.]?\d)")


def choose_site_map(path: Path, site_maps: Iterable[SiteMap]) -> SiteMap:
    """Return the site map of a file; `chosen_because` is set where there was a choice.

    Raises FirmsetError where no map fits the file's name, or where it stays open which
    of several is meant.
    """
    named = [site_map for site_map in site_maps if site_map.fits(path)]
    if not named:
        sheet = sheet_of_header(path)
        raise FirmsetError(
            f"{path}: no site map matches this name; "
            + (
                f"its columns are those of {sheet.content}: name it {sheet.name}.csv"
                if sheet
                else "put the site's .toml beside it or name its folder with --maps"
            )
        )
    _require_order(path, named)
    period = period_in_name(path.name)
    if len(named) == 1 and (period is None or named[0].valid_from is None):
        return named[0]
    by_name = _valid_in(named, period) if period else []
    if len(by_name) == 1 and period:
        reason = f"the file's name says {_said(period)}, and {_since(by_name[0])}"
        return replace(by_name[0], chosen_because=f"{by_name[0].path.name}: {reason}")
    if period and not by_name:
        listed = "; ".join(_since(site_map) for site_map in named)
        raise FirmsetError(
            f"{path}: its name says {_said(period)}, before any of its site maps "
            f"is valid ({listed})"
        )
    return _by_headers(path, by_name or named)


def period_in_name(name: str) -> Period | None:
    """Return the first and last day that the dates in a file's name speak of.

    Read are 2026-03-14, 20260314, 14.03.2026, a month 2026-03 or 2026_03, and an ISO
    week 2026-W11; several together span all of them. None where there is none.
    """
    found = [*_days(name), *_weeks(name), *_months(name)]
    if not found:
        return None
    return min(first for first, _ in found), max(last for _, last in found)


def _days(name: str) -> list[Period]:
    parts = [(year, month, day) for year, _, month, day in _DAY.findall(name)]
    parts += [(year, month, day) for day, month, year in _DAY_LAST_YEAR.findall(name)]
    return [
        (day, day)
        for part in parts
        if (day := _date_or_none(*map(int, part))) is not None
    ]


def _weeks(name: str) -> list[Period]:
    weeks = []
    for year, week in _WEEK.findall(name):
        try:
            monday = date.fromisocalendar(int(year), int(week), 1)
        except ValueError:
            continue
        weeks.append((monday, monday + timedelta(days=6)))
    return weeks


def _months(name: str) -> list[Period]:
    months = []
    for year, month in _MONTH.findall(name):
        first = _date_or_none(int(year), int(month), 1)
        if first is not None:
            next_first = (first + timedelta(days=31)).replace(day=1)
            months.append((first, next_first - timedelta(days=1)))
    return months


def _date_or_none(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _require_order(path: Path, named: list[SiteMap]) -> None:
    """Maps for one name must be of one site, each from a day of its own."""
    names = _names(named)
    if len({site_map.whose for site_map in named}) > 1:
        raise FirmsetError(
            f"{path}: {names} all match this name, but are of different sites; "
            "expected one site a file"
        )
    if len({site_map.valid_from for site_map in named}) < len(named):
        raise FirmsetError(
            f"{path}: {names} all match this name; expected one site map a file, or "
            "[files] valid_from in each but the oldest, with a different date in each"
        )


def _valid_in(named: list[SiteMap], period: Period) -> list[SiteMap]:
    """Return the maps that were valid on some day of the period."""
    first, last = period
    begun = [site_map for site_map in named if _first_day(site_map) <= last]
    started = [site_map for site_map in begun if _first_day(site_map) <= first]
    oldest = max(map(_first_day, started), default=date.min)
    return [site_map for site_map in begun if _first_day(site_map) >= oldest]


def _first_day(site_map: SiteMap) -> date:
    return site_map.valid_from or date.min


def _by_headers(path: Path, maps: list[SiteMap]) -> SiteMap:
    lacking = {site_map.path: _lacking(path, site_map) for site_map in maps}
    fitting = [site_map for site_map in maps if not lacking[site_map.path]]
    widest = [
        site_map
        for site_map in fitting
        if all(_includes(site_map, other) for other in fitting)
    ]
    others = "; ".join(
        f"{site_map.path.name} {lacking[site_map.path]}"
        for site_map in maps
        if lacking[site_map.path]
    )
    if len(widest) == 1:
        reason = "the file has its columns"
        if len(fitting) > 1:
            reason += f", which include all that {_names(fitting, widest[0])} reads"
        reason += f"; {others}" if others else ""
        return replace(widest[0], chosen_because=f"{widest[0].path.name}: {reason}")
    if not fitting:
        raise FirmsetError(f"{path}: none of its site maps fits its columns: {others}")
    raise FirmsetError(
        f"{path}: {_names(fitting)} all fit its columns; expected one. Put the day "
        "into the file's name, as log_2026-03-14.csv, so that valid_from decides"
        + (f" (not fitting: {others})" if others else "")
    )


def _lacking(path: Path, site_map: SiteMap) -> str:
    """Say what of a map the file lacks, of several parts the first; "" if nothing."""
    try:
        _, its_map = next(parts_of(path, site_map))
    except FirmsetError as error:
        return _unread(path, error)
    return lacks(path, its_map)


def _unread(path: Path, error: FirmsetError) -> str:
    return f"cannot read it ({str(error).removeprefix(f'{path}: ')})"


def lacks(path: Path, site_map: SiteMap) -> str:
    """Say what of a map a part of the file lacks; "" where it has all of it.

    `site_map` is that of the part alone (etl/file_parts.py).
    """
    is_json = kind_of(path) == "json"
    try:
        layout = Layout(site_map.encoding, site_map.delimiter, site_map.sheet)
        # Keys of JSON differ from line to line, and titles may stand between rows.
        is_all = is_json or site_map.titles or site_map.sideways or site_map.listed
        rows = read_rows(path, layout, *(() if is_all else (site_map.header_row,)))
        rows = turned(rows) if site_map.sideways else rows
    except FirmsetError as error:
        return _unread(path, error)
    places = (1,) if kind_of(path) in ("json", "parquet") else site_map.header_rows
    if len(rows) < places[-1]:
        return f"expects column names in row {places[-1]}, where the file has ended"
    headers = rows[0] if is_json else joined_headers([rows[n - 1] for n in places])
    titles = (rows[: places[0] - 1], *([row] for row in rows[places[-1] :]))
    titles = (turned(rows),) if site_map.sideways else titles
    found = [
        one
        for one in site_map.titles
        if any(title_in(place, one, site_map.titles) is not None for place in titles)
    ]
    headers = unique_headers([*headers, *dict(site_map.told), *found])
    listed = site_map.listed
    known = {*headers, *_named(headers, rows[places[-1] :], listed)}
    may_lack = is_json or listed is not None
    missing = [
        repr(header)
        for one in site_map.columns
        for header in one.headers
        if header not in known and (not may_lack or one.column.name in IDENTIFYING)
    ]
    missing += [
        repr(name) for name in (listed.headers if listed else ()) if name not in known
    ]
    if site_map.sites is not None and site_map.sites.header not in headers:
        missing.append(repr(site_map.sites.header))
    return f"expects {', '.join(missing)}, which the file lacks" if missing else ""


def _named(headers: Sequence[str], rows: Rows, listed: ListedValues | None) -> set[str]:
    """Return what is named in rows that hold one value each, and its own headers.

    Of a list in a JSON record they are numbered, "answers.1.question".
    """
    if listed is None:
        return set()
    plain = [_IN_LIST.sub(".", header) for header in headers]
    places = [place for place, name in enumerate(plain) if name == listed.name]
    named = {trimmed(row[at]) for row in rows for at in places if len(row) > at}
    return named | {*plain}


def _includes(wide: SiteMap, narrow: SiteMap) -> bool:
    """Say whether one map reads all that another does, in the same way."""
    ways = (
        "time_zone encoding delimiter decimal header_rows sheet sheets not_sheets "
        "titles not_rows as_above sideways listed anchors anchor_count date_format "
        "date_year day_first night_until sites records"
    )
    return (
        set(wide.columns) >= set(narrow.columns)
        and all(getattr(wide, way) == getattr(narrow, way) for way in ways.split())
        and all(wide.codes.get(name) == words for name, words in narrow.codes.items())
        and (wide is narrow or len(wide.columns) > len(narrow.columns))
    )


def _names(maps: list[SiteMap], but: SiteMap | None = None) -> str:
    return ", ".join(site_map.path.name for site_map in maps if site_map is not but)


def _since(site_map: SiteMap) -> str:
    since = f"valid from {site_map.valid_from}" if site_map.valid_from else "the oldest"
    return f"{site_map.path.name} is {since}"


def _said(period: Period) -> str:
    first, last = period
    return str(first) if first == last else f"{first} to {last}"
