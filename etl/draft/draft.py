"""Draft a site map from a file: what it says, how sure it is, and what it asks."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from etl.choose_map import period_in_name
from etl.draft.beside import with_anchor_number, with_anchors
from etl.draft.chosen_sheet import best_sheet
from etl.draft.codes import Codes, Part, codes_of, codes_together, together
from etl.draft.columns import place_columns
from etl.draft.dates import style_of
from etl.draft.decimals import with_decimal
from etl.draft.drafted import Draft
from etl.draft.fill_down import fill_down_of
from etl.draft.header import (
    Header,
    find_headers,
    first_headers,
    plain_header,
    unread_above,
)
from etl.draft.held import NOTHING_HELD, Held
from etl.draft.layout import delimiter_of, encoding_of, sheets_of
from etl.draft.listed import lists_values, with_listed, with_listed_within
from etl.draft.looks import Looks, looks_of
from etl.draft.marks import with_marks
from etl.draft.names import CALLED, kept_in_name, kept_in_sheets, with_braces
from etl.draft.pieces import unnamed_pieces, with_pieces
from etl.draft.placed import Placed
from etl.draft.prefixes import with_prefixes
from etl.draft.records import best_records, unread_beside, with_said_beside
from etl.draft.remarks import (
    answers_said,
    counts_said,
    ranges_said,
    settings_said,
    unfigured_said,
)
from etl.draft.said import Said
from etl.draft.sample import Kind, Layout, kind_of, read_rows
from etl.draft.sideways import rows_above, sideways_names
from etl.draft.sites import (
    SitesFound,
    sheets_said,
    site_named,
    sites_of,
    sites_said,
)
from etl.draft.ticked import codes_ticked, with_ticked
from etl.draft.titles import missing_said_once, with_titles, with_told
from etl.draft.unit_beside import with_units_beside
from etl.draft.weeks import with_day, with_week
from etl.draft.within import with_record_asked, within_of
from etl.draft.years import with_years
from etl.site_map.names import names_kept
from etl.staging import turned
from queries.errors import FirmsetError

_AGAIN = re.compile(r" \(\d+\)$")


def draft_of(
    path: Path,
    sheet: str | None = None,
    *,
    is_of_one_site: bool = False,
    held: Held = NOTHING_HELD,
) -> Draft:
    """Return the draft of a file's site map; FirmsetError where it cannot be read.

    `sheet` names a workbook's sheet; without it the one with the best header is taken.
    `is_of_one_site`: whatever a column says. `held`: what the store holds.
    """
    if not path.is_file():
        is_folder = path.is_dir()
        what = "is a folder; expected one log of it" if is_folder else "no such file"
        raise FirmsetError(f"{path}: {what}")
    kind = kind_of(path)
    if sheet is not None and kind != "workbook":
        raise FirmsetError(f"{path}: has no sheets; --sheet is for workbooks")
    encoding = delimiter = chosen = records = None
    sheets: tuple[str, ...] = ()
    layout = Layout()
    if kind == "text":
        encoding = encoding_of(path)
        delimiter = delimiter_of(path, encoding.value)
        layout = Layout(encoding.value, delimiter.value)
    elif kind == "json":
        encoding = Said("utf-8", "sure", "JSON is read as UTF-8")
    if kind == "workbook":
        chosen, sheets, header = best_sheet(
            path, sheet, lambda of: _header_of(path, "workbook", of), _active_count
        )
        layout = Layout(sheet=sheets[0])
    elif kind == "json":
        records, header = best_records(
            path, lambda layout: _header_of(path, "json", layout), _active_count
        )
        layout = Layout(records=records.value if records else None)
    else:
        header = _header_of(path, kind, layout)
    decimal, header = with_decimal(path, layout, replace(header, held=held))
    found = _draft(
        path, kind, header, encoding, delimiter, decimal, chosen, is_of_one_site
    )
    is_list = chosen is not None and len(sheets) > 1 and chosen.value == sheets[0]
    return replace(found, records=records, sheets=sheets if is_list else ())


def _header_of(path: Path, kind: Kind, layout: Layout) -> Header:
    rows = read_rows(path, layout)
    if not any(any(row) for row in rows):
        raise FirmsetError(f"{path}: holds no rows; expected a log with column names")
    if kind in ("json", "parquet"):
        return with_listed_within(with_listed(plain_header(rows)))
    headers = find_headers(rows)
    of_values = []
    if lists_values(rows):
        tried = map(with_listed, (*headers, *first_headers(rows)))
        of_values = [header for header in tried if header.listed is not None]
    aside = [] if of_values else sideways_names(rows)
    if not aside:
        return max(of_values or headers, key=_told_by)
    listed = ", ".join(map(repr, aside[:3]))
    said = Said(True, "likely", f"{listed} and others stand below one another")
    if kind == "workbook":
        # Staging tells what stands there again apart, as names of columns.
        rows = [[_AGAIN.sub("", cell) for cell in rows[0]], *rows[1:]]
    header = max(find_headers(turned(rows)), key=_told_by)
    return replace(header, sideways=said, above=rows_above(rows))


def _told_by(header: Header) -> tuple[int, int]:
    """Return how many columns a reading of the names places, and of these by ticks.

    Ticks under "Yes" are those of an answer, though one alone could be read as yes.
    """
    return _active_count(header), len(with_ticked(header).ticked)


def _active_count(header: Header) -> int:
    header = with_prefixes(with_ticked(header))
    placed = place_columns(header, _looks(header, "."))
    return sum(one.said.is_active for one in placed)


def _looks(header: Header, decimal: str) -> list[Looks]:
    return [
        looks_of(header.rows, place, decimal, header.held)
        for place in range(len(header.names))
    ]


@dataclass(frozen=True)
class _Columns:
    """What a file's columns are, those included that its titles and names make.

    `match` is the pattern of the file's name, `looks` are in the order of the header.
    """

    header: Header
    match: str
    sheet: Said[str] | None
    looks: list[Looks]
    placed: list[Placed]


def _draft(
    path: Path,
    kind: Kind,
    header: Header,
    encoding: Said[str] | None,
    delimiter: Said[str] | None,
    decimal: Said[str],
    sheet: Said[str] | None,
    is_of_one_site: bool,
) -> Draft:
    names = [path.stem, sheet.value if sheet else ""]
    columns = _columns(
        path, _with_values(header, decimal.value, names), decimal.value, sheet
    )
    header, looks = columns.header, columns.looks
    sites = None
    if not is_of_one_site:
        sites = sites_of(header, looks, columns.placed, is_workbook=kind == "workbook")
    within = within_of(header, looks, columns.placed, sites)
    placed = with_record_asked(columns.placed, within, sites)
    placed, within = with_anchor_number(header, placed, within)
    parts = together(placed, header, looks)
    codes = _codes(placed, parts)
    return Draft(
        path=path,
        kind=kind,
        match=columns.match,
        encoding=encoding,
        delimiter=delimiter,
        decimal=decimal,
        sheet=columns.sheet,
        header=header,
        placed=tuple(placed),
        codes=codes,
        together=parts,
        fill_down=fill_down_of(placed, is_workbook=kind == "workbook"),
        within=within,
        dates=style_of(_dates_written(path, placed, columns.sheet)),
        sites=sites,
        site=site_named(header, looks, placed),
        remarks=(
            *_remarks(replace(columns, placed=placed), decimal.value, sites),
            *(() if sites or is_of_one_site else _sheets_said(path, columns.sheet)),
            *settings_said(header.held, codes),
        ),
    )


def _with_values(header: Header, decimal: str, names: Sequence[str]) -> Header:
    """Return the header with a column for each value that its cells hold.

    `names` of the file and the sheet may say the year of its dates.
    """
    header = with_prefixes(with_ticked(with_anchors(header)))
    header = with_pieces(with_units_beside(header, decimal), decimal)
    return with_years(with_marks(header, decimal), decimal, names)


def _columns(
    path: Path, header: Header, decimal: str, sheet: Said[str] | None
) -> _Columns:
    """Place the columns, then add what the file says once, and place them again."""
    placed = place_columns(header, _looks(header, decimal))
    header = with_titles(header, placed, decimal)
    header = with_said_beside(header, placed, decimal)
    header, match, sheet = _with_names(path, header, placed, sheet)
    names = sheets_of(path) if sheet is not None else []
    looks = _looks(header, decimal)
    placed = place_columns(header, looks)
    header, of_week, sheet = with_week(header, placed, sheet, names)
    if of_week is not None:
        looks = _looks(header, decimal)
        placed = with_day(place_columns(header, looks, has_week=True), of_week)
    return _Columns(header, match, sheet, looks, placed)


def _dates_written(
    path: Path, placed: Sequence[Placed], sheet: Said[str] | None
) -> list[str]:
    """Return the texts that the style of dates is read from."""
    dated = [one for one in placed if one.column.kind in ("date", "instant")]
    # Those that are asked, where no other is known: they may be taken.
    known = [one for one in dated if one.said.is_active] or dated
    written = [
        cell
        for one in known
        for cell in (one.week.texts if one.week else one.looks.filled)
    ]
    if sheet is not None and CALLED["installed_on"] in names_kept(sheet.value):
        written += sheets_of(path)
    return written


def _codes(placed: Iterable[Placed], parts: tuple[Part, ...]) -> dict[str, Codes]:
    codes = {
        one.column.name: codes_ticked(one.column, dict(one.ticked))
        if one.ticked
        else codes_of(one.column, one.looks)
        for one in placed
    }
    return codes | ({"setting_code": codes_together(parts)} if parts else {})


def _remarks(
    columns: _Columns, decimal: str, sites: SitesFound | None
) -> Iterator[str]:
    """Yield what is not read, and what a person should know of the columns."""
    header, looks, placed = columns.header, columns.looks, columns.placed
    parted = unnamed_pieces(header, decimal)
    yield from unread_above(header)
    yield from unread_beside(header)
    yield from parted
    yield from unfigured_said(header, looks, placed, parted)
    yield from answers_said(header, looks)
    yield from counts_said(header, looks, placed)
    yield from ranges_said(placed)
    yield from sites_said(header, looks, placed, sites)


def _sheets_said(path: Path, sheet: Said[str] | None) -> Iterable[str]:
    """Say that the sheets of a workbook may each be of a site."""
    is_each = sheet is not None and sheet.value == "*"
    return sheets_said(sheets_of(path)) if is_each else ()


def _with_names(
    path: Path, header: Header, placed: list[Placed], sheet: Said[str] | None
) -> tuple[Header, str, Said[str] | None]:
    """Add columns for what only the names of the file and of its sheets say.

    Returns the header with them, the pattern for the file's name, and the sheet's.
    """
    missing = missing_said_once(header, placed)
    if sheet is not None and sheet.value == "*":
        names = sheets_of(path)
        column = kept_in_sheets(names, missing)
        if column is not None:
            reason = f"{sheet.reason}; its name is the {CALLED[column]}"
            sheet = Said(f"{{{CALLED[column]}}}", "likely", reason)
            header = with_told(header, CALLED[column], names[0])
            missing = missing - {column}
    stem = path.name.removesuffix(".gz").rpartition(".")[0]
    kept = kept_in_name(stem, missing)
    for column, text in kept.items():
        header = with_told(header, CALLED[column], text)
    return header, match_of(with_braces(path.name, kept)), sheet


def match_of(name: str) -> str:
    """Return the pattern for a file's name: a date in it may be any other."""
    escaped = re.sub(r"([*?[])", r"[\1]", name)
    if period_in_name(name) is None:
        return escaped
    dated = r"20\d\d[-_]?K?W\d\d|20\d\d[-_.]?\d\d(?:[-_.]?\d\d)?|\d\d\.\d\d\.20\d\d"
    return re.sub(rf"(?<!\d)(?:{dated})(?!\d)", "*", escaped, flags=re.IGNORECASE)
