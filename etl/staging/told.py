"""What a file says once for all its rows: above the column names, or in its name.

Each is a column more, after those of the file, with the same text in every row: so it
is read, counted within, given back and corrected as any other column is.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

import duckdb

from etl.site_map import SiteMap
from etl.staging.staged_file import StagedFile, trimmed, unique_headers
from queries.errors import FirmsetError

Rows = Sequence[Sequence[str]]


def with_told(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> StagedFile:
    """Add the columns to staged_row; FirmsetError where a title is not in the file."""
    told = [*site_map.told, *_titles(staged, site_map)]
    if not told:
        return staged
    width = len(staged.headers)
    for place, (_, text) in enumerate(told, start=width + 1):
        con.execute(f"alter table staged_row add column c{place} varchar")
        con.execute(
            f"update staged_row set c{place} = nullif($text, '')", {"text": text}
        )
    headers = unique_headers([*staged.headers, *(name for name, _ in told)])
    said = tuple(zip(headers[width:], (text for _, text in told), strict=True))
    return replace(staged, headers=headers, told=said)


def _titles(staged: StagedFile, site_map: SiteMap) -> list[tuple[str, str]]:
    found = [
        (title, title_in(staged.title_rows, title, site_map.titles))
        for title in site_map.titles
    ]
    missing = [repr(title) for title, text in found if text is None]
    if missing:
        above = [
            cell for row in staged.title_rows for cell in map(trimmed, row) if cell
        ]
        listed = ", ".join(map(repr, above)) or "nothing"
        raise FirmsetError(
            f"{staged.path}: the site map {site_map.path.name} expects the title "
            f"{', '.join(missing)} above row {site_map.header_rows[0]}, where {listed} "
            "stands"
        )
    return [(title, text or "") for title, text in found]


def title_in(rows: Rows, title: str, titles: Collection[str]) -> str | None:
    """Return what stands behind a title, "" where nothing does; None: no such title.

    Behind its colon in the same cell, else in the next filled cell to its right, else
    in the cell below. What is a title itself (`titles`, or ends in a colon) is none.
    """
    cells = [[trimmed(cell) for cell in row] for row in rows]
    for number, row in enumerate(cells):
        for place, cell in enumerate(row):
            name, colon, rest = cell.partition(":")
            if title not in (cell, name.rstrip()):
                continue
            if title != cell and colon and rest.strip():
                return rest.strip()
            right = next(filter(None, row[place + 1 :]), "")
            below = cells[number + 1][place : place + 1] if cells[number + 1 :] else []
            texts = (right, *below)
            return next((text for text in texts if _is_value(text, titles)), "")
    return None


def _is_value(text: str, titles: Collection[str]) -> bool:
    return text != "" and not text.endswith(":") and text not in titles
