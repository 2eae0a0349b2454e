"""Find out what a file is and stage it by the reader for its kind."""

import tempfile
from pathlib import Path

import duckdb

from etl.site_map import SiteMap
from etl.staging.as_above import with_as_above
from etl.staging.delimited import stage_delimited
from etl.staging.header_order import require_one_order
from etl.staging.json_lines import stage_json_lines
from etl.staging.json_records import write_as_lines
from etl.staging.listed import with_listed
from etl.staging.no_rows import mark_no_rows
from etl.staging.parquet import stage_parquet
from etl.staging.recognise import TEXT_SUFFIXES, recognise
from etl.staging.staged_file import StagedFile
from etl.staging.text import encoding_of
from etl.staging.told import with_told
from etl.staging.unpack import unpack_gzip
from etl.staging.workbook import stage_workbook
from queries.errors import FirmsetError


def stage_file(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap
) -> StagedFile:
    """Fill staged_row with a file's rows; FirmsetError where it cannot be read."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            staged = _stage(con, path, site_map, Path(folder))
            require_one_order(con, staged, site_map)
            staged = with_told(con, staged, site_map)
            staged = with_as_above(con, staged, site_map)
            mark_no_rows(con, staged, site_map)
            staged = with_listed(con, staged, site_map)
            if site_map.listed is not None:
                # Its rows are made anew.
                mark_no_rows(con, staged, site_map)
        except OSError as error:
            raise FirmsetError(f"{path}: cannot be read: {error}") from error
    _require_no_more(staged, site_map)
    missing = [
        f"{name} from {header!r}"
        for header, name in site_map.headers_read.items()
        if header not in staged.headers
    ]
    if missing:
        raise FirmsetError(
            f"{path}: row {site_map.header_row}: the site map {site_map.path.name} "
            f"takes {'; '.join(missing)}, but the file has the columns "
            f"{', '.join(staged.headers)}"
        )
    return staged


def _require_no_more(staged: StagedFile, site_map: SiteMap) -> None:
    """A row's anchors are all in the map: of one more nothing would be loaded."""
    beyond = site_map.beside.beyond if site_map.beside else ()
    if found := [header for header in beyond if header in staged.headers]:
        raise FirmsetError(
            f"{staged.path}: row {site_map.header_row}: has {found[0]!r} too, of an "
            f"anchor more than [files] anchors of the site map {site_map.path.name}; "
            "expected it there"
        )


def _stage(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap, folder: Path
) -> StagedFile:
    is_utf16 = site_map.encoding == "utf-16"
    kind = recognise(path, is_utf16=is_utf16)
    source = path
    if kind == "gzip":
        # log.csv.gz holds log.csv; of log.gz or log.csv, the name itself must tell.
        name = path.stem if path.suffix.lower() == ".gz" else path.name
        source = folder / Path(name).name
        unpack_gzip(path, source)
        kind = _kind_inside(path, source, is_utf16)
    if site_map.sideways and kind not in ("csv", "xlsx"):
        raise FirmsetError(
            f"{path}: names its columns itself and cannot lie on its side; expected "
            f"[files] sideways = false in the site map {site_map.path.name}"
        )
    if site_map.as_above and kind in ("json", "json lines"):
        raise FirmsetError(
            f"{path}: its records have none above them; expected no [files] as_above "
            f"in the site map {site_map.path.name}"
        )
    match kind:
        case "csv":
            return stage_delimited(con, path, source, site_map, folder)
        case "json":
            lines = folder / "lines.jsonl"
            encoding = encoding_of(source, site_map)
            write_as_lines(path, source, lines, encoding, site_map)
            return stage_json_lines(con, path, lines, site_map, folder)
        case "json lines":
            return stage_json_lines(con, path, source, site_map, folder)
        case "xlsx":
            return stage_workbook(con, path, site_map, folder)
        case _:
            return stage_parquet(con, path, site_map, folder)


def _kind_inside(path: Path, source: Path, is_utf16: bool) -> str:
    try:
        kind = recognise(source, is_utf16=is_utf16)
    except FirmsetError as error:
        reason = str(error).removeprefix(f"{source}: ")
        raise FirmsetError(f"{path}: what is packed in it {reason}") from error
    if kind not in TEXT_SUFFIXES.values():
        raise FirmsetError(
            f"{path}: packs another packed file ({kind}); send that one itself"
        )
    return kind
