"""Site maps: how one site's files, columns, units and codes become ours.

A site map is a TOML file; README shows one. Every fault of a map is reported at once,
each with its table and key.
"""

import hashlib
import tomllib
from dataclasses import dataclass, field
from fnmatch import fnmatch
from pathlib import Path
from zoneinfo import ZoneInfo

from etl.units import FACTORS, units_of
from queries.columns import COLUMN_BY_NAME, Column
from queries.errors import FirmsetError

ENCODINGS = ("utf-8", "utf-16", "latin-1", "windows-1252")
TABLES = {
    "site": {"code", "name", "time_zone"},
    "files": {"match", "encoding", "delimiter", "decimal", "header_row", "sheet"},
    "dates": {"format"},
    "columns": set(COLUMN_BY_NAME),
    "codes": set(COLUMN_BY_NAME),
}


@dataclass(frozen=True)
class MappedColumn:
    """Where a canonical column stands in a site's file.

    `factor` turns the site's unit into ours. `fill_down` repeats a value until the
    next one: for merged cells, which hold it in their first row only.
    """

    column: Column
    header: str
    unit: str | None
    factor: float
    fill_down: bool


@dataclass(frozen=True)
class SiteMap:
    """One site's map. `codes` holds, per column, the site's words in lower case."""

    path: Path
    sha256: str
    site_code: str
    site_name: str
    time_zone: str
    match: str
    columns: tuple[MappedColumn, ...]
    codes: dict[str, dict[str, str]] = field(default_factory=dict)
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    header_rows: tuple[int, ...] = (1,)
    sheet: str | None = None
    date_format: str | None = None

    @property
    def header_row(self) -> int:
        """The last row of the header; data begin in the next."""
        return self.header_rows[-1]

    def fits(self, path: Path) -> bool:
        """Say whether this map is the one for a file, by the file's name."""
        return fnmatch(path.name, self.match)


def read_site_map(path: Path) -> SiteMap:
    """Read and validate a site map; FirmsetError lists all of its faults."""
    content = path.read_bytes()
    try:
        raw = tomllib.loads(content.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise FirmsetError(f"{path}: not a TOML file in UTF-8: {error}") from error
    faults: list[str] = []
    _check_names(raw, faults)
    site = _table(raw, "site", faults)
    files = _table(raw, "files", faults)
    columns = _mapped_columns(_table(raw, "columns", faults), faults)
    site_map = SiteMap(
        path=path,
        sha256=hashlib.sha256(content).hexdigest(),
        site_code=_text(site, "site", "code", faults).strip().upper(),
        site_name=_text(site, "site", "name", faults),
        time_zone=_time_zone(site, faults),
        match=_text(files, "files", "match", faults),
        columns=columns,
        codes=_codes(_table(raw, "codes", faults), faults),
        encoding=_one_of(files, "encoding", ENCODINGS, "utf-8", faults),
        delimiter=_delimiter(files, faults),
        decimal=_one_of(files, "decimal", (".", ","), ".", faults),
        header_rows=_header_rows(files, faults),
        sheet=_text(files, "files", "sheet", faults) if "sheet" in files else None,
        date_format=_text(raw["dates"], "dates", "format", faults)
        if "format" in _table(raw, "dates", faults)
        else None,
    )
    if faults:
        raise FirmsetError(f"{path}: {'; '.join(faults)}")
    return site_map


def _check_names(raw: dict[str, object], faults: list[str]) -> None:
    for name, value in raw.items():
        if name not in TABLES:
            faults.append(f"unknown table [{name}], expected {', '.join(TABLES)}")
        elif isinstance(value, dict):
            faults.extend(
                f"[{name}] has no key {key!r}, expected one of "
                f"{', '.join(sorted(TABLES[name]))}"
                for key in value
                if key not in TABLES[name]
            )


def _table(raw: dict[str, object], name: str, faults: list[str]) -> dict[str, object]:
    value = raw.get(name, {})
    if isinstance(value, dict):
        return value
    faults.append(f"[{name}] is not a table")
    return {}


def _text(
    table: dict[str, object], table_name: str, key: str, faults: list[str]
) -> str:
    value = table.get(key)
    if isinstance(value, str) and value.strip():
        return value
    faults.append(f"[{table_name}] {key} = {value!r}: expected a text")
    return ""


def _one_of(
    table: dict[str, object],
    key: str,
    allowed: tuple[str, ...],
    default: str,
    faults: list[str],
) -> str:
    value = table.get(key, default)
    if isinstance(value, str) and value in allowed:
        return value
    faults.append(f"[files] {key} = {value!r}: expected one of {', '.join(allowed)}")
    return default


def _time_zone(site: dict[str, object], faults: list[str]) -> str:
    name = _text(site, "site", "time_zone", faults)
    try:
        ZoneInfo(name)
    except (KeyError, OSError, ValueError):
        faults.append(
            f"[site] time_zone = {name!r}: expected an IANA name such as Europe/Lisbon"
        )
    return name


def _delimiter(files: dict[str, object], faults: list[str]) -> str:
    value = files.get("delimiter", ",")
    if isinstance(value, str) and len(value) == 1:
        return value
    faults.append(f"[files] delimiter = {value!r}: expected one character")
    return ","


def _header_rows(files: dict[str, object], faults: list[str]) -> tuple[int, ...]:
    """Return the header's rows: one number, or a list of consecutive ones."""
    value = files.get("header_row", 1)
    given = value if isinstance(value, list) else [value]
    rows = [row for row in given if type(row) is int and row >= 1]
    if rows and given == [*range(rows[0], rows[0] + len(rows))]:
        return tuple(rows)
    faults.append(
        f"[files] header_row = {value!r}: expected a row number from 1 on, or "
        "consecutive ones such as [3, 4]"
    )
    return (1,)


def _mapped_columns(
    table: dict[str, object], faults: list[str]
) -> tuple[MappedColumn, ...]:
    mapped = [
        found
        for name, value in table.items()
        if name in COLUMN_BY_NAME
        and (found := _mapped_column(COLUMN_BY_NAME[name], value, faults))
    ]
    names = {found.column.name for found in mapped}
    for required in ("record_id", "crew_code", "setting_code"):
        if required not in names:
            faults.append(f"[columns] lacks {required}, which every row needs")
    if not names & {"installed_on", "installed_at"}:
        faults.append("[columns] lacks installed_on or installed_at: a date is needed")
    return tuple(mapped)


def _mapped_column(
    column: Column, value: object, faults: list[str]
) -> MappedColumn | None:
    spec = {"from": value} if isinstance(value, str) else value
    if not isinstance(spec, dict) or not isinstance(spec.get("from"), str):
        faults.append(
            f"[columns] {column.name} = {value!r}: expected a header, "
            'or {from = "header", unit = "cm"}'
        )
        return None
    for key in set(spec) - {"from", "unit", "fill_down"}:
        faults.append(
            f"[columns] {column.name} has no key {key!r}: from, unit, fill_down"
        )
    unit = spec.get("unit", column.unit)
    if unit != column.unit and (
        column.unit is None or unit not in units_of(column.unit)
    ):
        expected = ", ".join(units_of(column.unit)) if column.unit else "no unit"
        faults.append(f"[columns] {column.name} unit = {unit!r}: expected {expected}")
        unit = column.unit
    return MappedColumn(
        column=column,
        header=spec["from"],
        unit=unit,
        factor=FACTORS[unit][1] if unit else 1.0,
        fill_down=spec.get("fill_down") is True,
    )


def _codes(table: dict[str, object], faults: list[str]) -> dict[str, dict[str, str]]:
    codes: dict[str, dict[str, str]] = {}
    for name, words in table.items():
        if not isinstance(words, dict):
            faults.append(f"[codes] {name} is not a table: write [codes.{name}]")
            continue
        codes[name] = {
            word.strip().lower(): str(ours).lower()
            if isinstance(ours, bool)
            else str(ours)
            for word, ours in words.items()
        }
        _check_choices(name, codes[name], faults)
    return codes


def _check_choices(name: str, words: dict[str, str], faults: list[str]) -> None:
    column = COLUMN_BY_NAME.get(name)
    if column is None or not column.choices:
        return
    for word, ours in words.items():
        if ours not in column.choices:
            faults.append(
                f"[codes.{name}] {word} = {ours!r}: expected one of "
                f"{', '.join(column.choices)}"
            )
