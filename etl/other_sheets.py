"""Sheets of a workbook that are not read: a question whether these are logs too.

A sheet is added each week, and a map that names the sheets of the weeks before leaves
it out without a word.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from etl.choose_map import lacks
from etl.draft.layout import sheets_of
from etl.draft.names import pattern_of_sheets
from etl.draft.sample import kind_of
from etl.site_map import SiteMap
from etl.site_map.names import meant_by, sheets_meant

_NAMED = 5
# Each is parsed in a process of its own, and new ones stand at either end.
_LOOKED_AT_END = 4


def words_of_sheets(path: Path, site_map: SiteMap) -> list[str]:
    """Say which sheets were not read and may be logs: once, with the first that was.

    `site_map` is that of one part of the file (etl/file_parts.py).
    """
    is_later_anchor = site_map.beside is not None and site_map.beside.place > 1
    if kind_of(path) != "workbook" or is_later_anchor:
        return []
    if site_map.sheet is None:
        # Corrected rows have no sheets, whatever the map of their log takes.
        return [] if site_map.sheets else list(_words_of_first(sheets_of(path)))
    names = sheets_of(path)
    patterns = site_map.sheets or (site_map.sheet,)
    meant = list(sheets_meant(names, patterns, site_map.not_sheets))
    if site_map.sheet != meant[0]:
        return []
    others = [
        name
        for name in names
        if name not in meant and meant_by(name, site_map.not_sheets) is None
    ]
    ends = (*others[:_LOOKED_AT_END], *others[-_LOOKED_AT_END:])
    alike = [
        name
        for name in dict.fromkeys(ends)
        if not lacks(path, replace(site_map, sheet=name))
    ]
    return list(_words_of_alike(meant, alike, names))


def _words_of_first(names: Sequence[str]) -> Iterator[str]:
    first, *others = names
    if others:
        yield (
            f"read was the first sheet, {first!r}, and not {_listed(others)}: a "
            'question whether these are logs too (sheet = ["..."] in the site map)'
        )


def _words_of_alike(
    meant: Sequence[str], alike: Sequence[str], names: Sequence[str]
) -> Iterator[str]:
    if not alike:
        return
    logs = [name for name in names if name in meant or name in alike]
    pattern = pattern_of_sheets(logs, [name for name in names if name not in logs])
    taken = json.dumps(pattern or logs, ensure_ascii=False)
    one = len(alike) == 1
    have, is_no_log = ("has", "it is none") if one else ("have", "they are none")
    yield (
        f"not read was sheet {_listed(alike)}, which the site map does not name and "
        f"which {have} the columns of this log: a question whether there are more "
        f"logs in the file (sheet = {taken} in the site map; not_sheets = "
        f"{json.dumps(alike, ensure_ascii=False)} if {is_no_log})"
    )


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return ", ".join(map(repr, names[:_NAMED])) + more
