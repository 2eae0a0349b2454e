"""The parts of a file that a site map takes, each a log of its own.

Many a site keeps a sheet a day, a week or a crew. Programs take no `*` and no `?` in a
sheet's name, so that these make a pattern of it. And where a row holds several anchors,
as of a plate, the rows are read for each of them.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from etl.draft.layout import sheets_of
from etl.draft.sample import kind_of
from etl.site_map import SiteMap
from etl.site_map.beside import anchor_names, one_anchor
from etl.site_map.names import names_kept, sheets_meant, told_by
from queries.errors import FirmsetError

# A sheet a day for a year, and some to spare. Each is parsed in a process of its own.
MAX_SHEETS = 400


def parts_of(path: Path, site_map: SiteMap) -> Iterator[tuple[str, SiteMap]]:
    """Yield what a map takes of a file: how it is named, and the map for it alone.

    Of a workbook of which the map takes several sheets each of them, as " [May]", the
    map with that `sheet` beside the `sheets` that are meant; else the file as it is,
    as "". Of rows that hold several anchors each of these, as " [anchor 2]".
    FirmsetError where no sheet is meant, or too many.
    """
    for name, its_map in _sheets_of(path, site_map):
        if not its_map.anchors:
            yield name, its_map
        for place, anchor in enumerate(anchor_names(its_map.anchors), start=1):
            yield f"{name}{anchor_part(anchor)}", one_anchor(its_map, place)


def anchor_part(anchor: str) -> str:
    """Return how the part of a file is named that is one of a row's anchors."""
    return f" [anchor {anchor}]"


def _sheets_of(path: Path, site_map: SiteMap) -> Iterator[tuple[str, SiteMap]]:
    site_map = replace(site_map, told=_told_by_name(path, site_map))
    if not site_map.sheets or kind_of(path) != "workbook":
        yield "", site_map
        return
    names = sheets_of(path)
    taken = sheets_meant(names, site_map.sheets, site_map.not_sheets)
    if not taken:
        raise FirmsetError(
            f"{path}: has no sheet {' or '.join(map(repr, site_map.sheets))}; it has "
            f"{', '.join(names)}"
        )
    if len(taken) > MAX_SHEETS:
        raise FirmsetError(
            f"{path}: {len(taken)} of its sheets are meant by {site_map.path.name}, "
            f"expected at most {MAX_SHEETS}"
        )
    for name, pattern in taken.items():
        told = (*site_map.told, *(told_by(pattern, name) or {}).items())
        yield f" [{name}]", replace(site_map, sheet=name, told=told)


def _told_by_name(path: Path, site_map: SiteMap) -> tuple[tuple[str, str], ...]:
    """Return what the file's name tells; FirmsetError where it does not fit."""
    names = names_kept(site_map.match)
    if not names:
        return ()
    told = told_by(site_map.match, path.name)
    if told is None:
        raise FirmsetError(
            f"{path}: expected a name as {site_map.match!r}, from which "
            f"{site_map.path.name} takes {', '.join(names)}"
        )
    return tuple(told.items())
