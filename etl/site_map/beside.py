"""Several anchors in a row of a log, as of a plate: each has columns of its own.

`"Torque {anchor}"` is a column for each of the map's `anchors`. The rows are read once
for each (etl/file_parts.py), by a map in which its columns have their own names.
"""

import re
from collections.abc import Iterable
from dataclasses import replace

from etl.site_map.faults import Faults, shown
from etl.site_map.model import Beside, MappedColumn, SiteMap
from etl.site_map.tables import Table

MARK = "{anchor}"
# The column that says which one it is.
ANCHOR = "anchor"
MOST_ANCHORS = 50


def anchor_names(anchors: Iterable[str]) -> list[str]:
    """Return what each anchor of a row is called, " (2)" by its number: never blank."""
    return [
        text.strip(" ()[]") or str(place) for place, text in enumerate(anchors, start=1)
    ]


def one_anchor(site_map: SiteMap, place: int) -> SiteMap:
    """Return the map of one of a row's anchors, counted from 1."""
    text = site_map.anchors[place - 1]
    name = anchor_names(site_map.anchors)[place - 1]
    following = _following(site_map.anchors[-1])
    return replace(
        site_map,
        columns=tuple(_of_anchor(found, text) for found in site_map.columns),
        told=(*site_map.told, (ANCHOR, name)),
        anchors=(),
        beside=Beside(
            place,
            tuple(_own_headers(site_map, one) for one in site_map.anchors),
            _own_headers(site_map, following) if following else (),
        ),
    )


def _following(text: str) -> str | None:
    """Return what would tell a further anchor apart; None where nothing says it."""
    if number := re.search(r"\d+(?=\D?$)", text):
        further = f"{int(number.group()) + 1:0{len(number.group())}}"
        return text[: number.start()] + further + text[number.end() :]
    return chr(ord(text) + 1) if re.fullmatch("[A-Ya-y]", text) else None


def _of_anchor(found: MappedColumn, text: str) -> MappedColumn:
    def filled(header: str) -> str:
        return header.replace(MARK, text)

    return replace(
        found,
        header=filled(found.header),
        within=tuple(map(filled, found.within)),
        parts=tuple(map(filled, found.parts)),
    )


def _own_headers(site_map: SiteMap, text: str) -> tuple[str, ...]:
    return tuple(header.replace(MARK, text) for header in _marked(site_map.columns))


def _marked(columns: Iterable[MappedColumn]) -> list[str]:
    """Return the headers, with the mark, of what is logged of each anchor."""
    return [
        header
        for found in columns
        if found.column.name != "record_id"
        for header in found.own_headers
        if MARK in header
    ]


def read_anchors(files: Table, faults: Faults) -> tuple[str, ...]:
    """Return what stands for the mark in the columns' names, for each anchor."""
    value = files.values.get("anchors", [])
    given = value if isinstance(value, list) else [value]
    texts = [str(one) for one in given if isinstance(one, str) or type(one) is int]
    names = {name.casefold() for name in anchor_names(texts)}
    is_list = isinstance(value, list) and len(texts) == len(given)
    if "anchors" in files.values and not (
        is_list and 2 <= len(texts) <= MOST_ANCHORS and len(names) == len(texts)
    ):
        faults.add(
            ("files", "anchors"),
            f"[files] anchors = {shown(value)}: expected a list of what tells the "
            f"anchors of a row apart, 2 to {MOST_ANCHORS} different texts such as "
            '["1", "2", "3", "4"]',
        )
        return ()
    return tuple(texts)


def read_anchor_count(files: Table, faults: Faults) -> str | None:
    """Return the header of how many anchors a row has."""
    if "anchor_count" not in files.values:
        return None
    header = files.text("anchor_count", 'a header such as "No. of anchors"')
    if "anchors" not in files.values:
        faults.add(
            ("files", "anchor_count"),
            f"[files] anchor_count = {shown(header)} without anchors: expected both",
        )
    return header or None


def check_anchors(site_map: SiteMap, faults: Faults) -> None:
    """The mark stands where there are anchors, and the record's number tells them."""
    columns = site_map.columns
    if not site_map.anchors:
        for found in columns:
            if any(MARK in header for header in found.headers):
                faults.add(
                    ("columns", found.column.name),
                    f"[columns] {found.column.name} takes {shown(found.header)}: "
                    'expected [files] anchors = ["1", "2"], what stands for {anchor}',
                )
        return
    if not _marked(columns):
        faults.add(
            ("files", "anchors"),
            "[files] anchors: no column is an anchor's own, expected {anchor} in the "
            'name of one, as setting_torque_nm = "Torque {anchor}"',
        )
    for found in columns:
        if found.column.name == "record_id" and not any(
            header == ANCHOR or MARK in header for header in found.headers
        ):
            header = shown(found.header)
            faults.add(
                ("columns", "record_id"),
                f"[columns] record_id = {header}: is that of all anchors of a row, "
                f'expected {{from = "anchor", within = [{header}]}}',
            )
