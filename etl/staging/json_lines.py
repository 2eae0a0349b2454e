"""Stage JSON Lines: an object a line, its values as the texts that stood there."""

import json
import re
from collections.abc import Iterator, Sequence
from contextlib import closing
from itertools import chain
from pathlib import Path

import duckdb

from etl.site_map import SiteMap
from etl.staging import limits
from etl.staging.batches import Row, stage_rows
from etl.staging.json_listed import Values, fault_within, listed_within
from etl.staging.staged_file import StagedFile
from etl.staging.text import decoded_chunks, encoding_of, lines_of, write_as_utf8
from queries.json_names import RepeatedKeyError, leaves

_WHOLE = re.compile(r"^(-?\d+)\.0+$")


def stage_json_lines(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    source: Path,
    site_map: SiteMap,
    folder: Path,
) -> StagedFile:
    """Stage the mapped keys of each line; a line that is no object keeps its text.

    What the file's name tells is no key of a line.
    """
    encoding = encoding_of(source, site_map)
    if encoding not in ("utf-8", "utf-8-sig"):
        decoded = folder / "decoded.txt"
        write_as_utf8(path, source, decoded, encoding)
        source = decoded
    told = dict(site_map.told)
    beside = site_map.beside.headers if site_map.beside else ()
    listed = site_map.listed.headers if site_map.listed else ()
    needed = dict.fromkeys(
        [*site_map.headers_read, *chain.from_iterable(beside), *listed]
    )
    headers = tuple(header for header in needed if header not in told)
    try:
        with closing(lines_of(source)) as lines:
            stage_rows(con, _rows(lines, headers, site_map), len(headers), str(path))
    except UnicodeDecodeError:
        for _ in decoded_chunks(path, source, "utf-8"):
            pass
        raise
    return StagedFile(path, headers, first_row=1, has_own_rows=True)


def _rows(
    lines: Iterator[tuple[str, int]], headers: tuple[str, ...], site_map: SiteMap
) -> Iterator[Row]:
    nothing = [None] * len(headers)
    beyond = site_map.beside.beyond if site_map.beside else ()
    for number, (line, length) in enumerate(lines, start=1):
        text = line.strip()
        if not text:
            yield number, None, None, nothing
            continue
        shown = text.replace("\x00", "\N{SYMBOL FOR NULL}")
        fault: str | None
        if length > len(line):
            fault = f"a line of {length} characters; its beginning is kept"
            yield number, fault, shown, nothing
            continue
        try:
            found = _object(text, site_map.decimal)
            fault = _further(found, beyond)
            listed: Sequence[Values] = [found]
            if site_map.listed is not None:
                listed = listed_within(found, site_map.listed)
                fault = fault or fault_within(listed, site_map.listed)
            rows = [[values.get(header) for header in headers] for values in listed]
            fault = fault or next(filter(None, map(_cell_fault, rows)), None)
            for cells in [nothing] if fault else rows:
                yield number, fault, shown, cells
        except (ValueError, RecursionError) as error:
            words = str(error) if isinstance(error, RepeatedKeyError) else ""
            yield number, words or "not a JSON object", shown, nothing


def _object(text: str, decimal: str) -> dict[str, str | None]:
    """Return a line's values by key, as text: numbers digit for digit, null as None.

    But 7.0 as 7. A number's point is written as `decimal`, as the site's texts have
    it: a file's numbers are the same whatever its texts look like. Lists and
    objects are given as their JSON text; what an object holds also by its own name,
    "hole.depth". Raises ValueError where the line is not one object,
    RepeatedKeyError where a key stands twice in it.
    """
    found = json.loads(
        text,
        # A record 7.0 is record 7: whole numbers are often written as fractions.
        parse_float=lambda digits: _WHOLE.sub(r"\1", digits).replace(".", decimal),
        parse_int=str,
        parse_constant=str,  # NaN and Infinity, which Python reads as numbers
        object_pairs_hook=_unrepeated,
    )
    if not isinstance(found, dict):
        raise ValueError(text)
    if any(isinstance(value, dict | list) for value in found.values()):
        exact = json.loads(text)
        whole = dict(leaves(exact)) | exact
        found |= {
            name: json.dumps(whole[name], ensure_ascii=False)
            if isinstance(value, dict | list)
            else value
            for name, value in (*found.items(), *leaves(found))
        }
    return {key: _value_text(value) for key, value in found.items()}


def _unrepeated(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        repeated = next(key for key in keys if keys.count(key) > 1)
        raise RepeatedKeyError(f"the key {repeated!r} stands twice")
    return found


def _value_text(value: object) -> str | None:
    if isinstance(value, bool):
        return "true" if value else "false"
    return None if value is None else str(value)


def _further(found: dict[str, str | None], beyond: tuple[str, ...]) -> str | None:
    """Say where a line has more anchors than the map: they would not be loaded."""
    for header in beyond:
        if found.get(header) is not None:
            return (
                f"has {header!r} too, of an anchor more than [files] anchors of the "
                "site map, expected it there"
            )
    return None


def _cell_fault(cells: list[str | None]) -> str | None:
    """Say what no cell can hold: a NUL, too many characters, half a character."""
    for cell in cells:
        if cell is None:
            continue
        if "\x00" in cell:
            return "a NUL character in a value"
        if len(cell) > limits.MAX_CELL_CHARACTERS:
            return (
                f"a value of {len(cell)} characters, expected at most "
                f"{limits.MAX_CELL_CHARACTERS}"
            )
        if not cell.isascii() and any("\ud800" <= sign <= "\udfff" for sign in cell):
            return "half a character (a lone surrogate) in a value"
    return None
