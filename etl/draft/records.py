"""A JSON object: which of its lists holds the records, and what it says of each."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import is_site
from etl.draft.named import best_fit
from etl.draft.placed import Placed
from etl.draft.said import Said
from etl.draft.sample import Layout, json_document
from etl.draft.titles import column_said_once, missing_said_once, with_told
from etl.staging import WHOLE
from queries.errors import FirmsetError

_MOST_NAMED = 6
_MOST_LISTS = 8
_FITS = 0.9


def best_records(
    path: Path,
    header_of: Callable[[Layout], Header],
    count_of: Callable[[Header], int],
) -> tuple[Said[str] | None, Header]:
    """Return where the records are, and their header; None where there is no choice.

    Where most columns are found by `count_of`: in a list, else in the object itself, as
    of a form with a list of pictures.
    """
    document = json_document(path)
    if document is None or WHOLE in document.lists or not document.lists:
        return None, header_of(Layout())
    found: list[tuple[int, str, Header]] = []
    for pointer in (*document.lists[:_MOST_LISTS], WHOLE):
        try:
            header = header_of(Layout(records=pointer))
        except FirmsetError:  # Objects of nothing.
            continue
        found.append((count_of(header), pointer, header))
    if not found:
        raise FirmsetError(f"{path}: none of its lists holds records")
    count, pointer, header = max(found, key=lambda one: one[0])
    others = ", ".join(repr(one) for _, one, _ in found if one not in (pointer, WHOLE))
    if pointer == WHOLE:
        reason = f"the object is a record itself, by {count} of its names"
        return Said(WHOLE, "likely", f"{reason}; its lists: {others}"), header
    header = replace(header, beside=document.said)
    if not others:
        return Said(pointer, "sure", "its only list of objects"), header
    reason = f"{count} of its names were placed; other lists: {others}"
    return Said(pointer, "likely", reason), header


def with_said_beside(header: Header, placed: Sequence[Placed], decimal: str) -> Header:
    """Return the header with a column more for what is said beside the records.

    Of what may be said once (etl/draft/titles.py) and of the site.
    """
    missing = missing_said_once(header, placed)
    for pointer, said in header.beside.items():
        name = _last_name(pointer)
        looks = Looks((said,), decimal, header.held)
        column = column_said_once(name, looks, missing)
        if column is not None or is_site(name):
            missing -= {column or ""}
            header = with_told(header, pointer, said, name)
    return header


def unread_beside(header: Header) -> list[str]:
    """Say what names a column beside the records and is not read."""
    unread = [
        f"{pointer!r}"
        for pointer in header.beside
        if pointer not in header.said_once and best_fit(_last_name(pointer)) > _FITS
    ]
    listed = ", ".join(unread[:_MOST_NAMED])
    more = ", ..." if len(unread) > _MOST_NAMED else ""
    said = f"beside the records stands {listed}{more}, which is not read of each"
    return [said] if unread else []


def _last_name(pointer: str) -> str:
    return pointer.rpartition("/")[2].replace("~1", "/").replace("~0", "~")
