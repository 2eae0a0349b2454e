"""Several sites in one file, which says of each row whose it is."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from etl.draft.columns import Placed
from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import is_site
from etl.draft.said import Said
from etl.spelling import code_key

_MOST_NAMED = 3
# Where nearly every value is another, they are no sites.
_MOST_DISTINCT = 0.5
# As of merged cells: in fewer rows of a site nothing stands.
_LEAST_BLANK = 0.2
_NO_OTHER = {"work_area"}


@dataclass(frozen=True)
class SitesFound:
    """The column that names sites, and for each of its words a site's code.

    `of_rows` has the code of each row that was looked at, "" for none.
    """

    header: str
    words: dict[str, str]
    fill_down: Said[bool] | None
    of_rows: tuple[str, ...]


def sites_of(
    header: Header, looks: Sequence[Looks], placed: Sequence[Placed]
) -> SitesFound | None:
    """Return the first column that seems to name several sites; None: there is none."""
    place = next(iter(_places(header, looks, placed)), None)
    if place is None:
        return None
    its, fill = looks[place], None
    if _is_merged(its):
        reason = f"{its.blank_share:.0%} of its cells are blank, as of merged cells"
        fill = Said(True, "likely", reason)
    codes = _with_codes(its.filled)
    of_rows = _of_rows(its.cells, codes, fill)
    return SitesFound(header.names[place], codes, fill, of_rows)


def _is_merged(looks: Looks) -> bool:
    return bool(looks.cells and looks.cells[0]) and looks.blank_share >= _LEAST_BLANK


def _of_rows(
    cells: Sequence[str], codes: dict[str, str], fill: Said[bool] | None
) -> tuple[str, ...]:
    found, last = [], ""
    for cell in cells:
        last = cell or (last if fill else "")
        found.append(codes.get(last, ""))
    return tuple(found)


def _with_codes(cells: Sequence[str]) -> dict[str, str]:
    """Return a code for each word; two that are spellings of one code share it."""
    codes: dict[str, str] = {}
    by_key: dict[str, str] = {}
    for word in dict.fromkeys(cells):
        parts = re.findall(r"[^\W_]+", word.upper())
        code = by_key.setdefault(code_key(word), "-".join(parts) or word)
        codes[word] = code
    return codes


def sites_said(
    header: Header,
    looks: Sequence[Looks],
    placed: Sequence[Placed],
    taken: SitesFound | None,
) -> list[str]:
    """Say which other columns may name several sites, with some of their words."""
    said = []
    for place in _places(header, looks, placed):
        name = header.names[place]
        if taken is not None and name == taken.header:
            continue
        words = list(dict.fromkeys(looks[place].filled))
        listed = ", ".join(map(repr, words[:_MOST_NAMED]))
        more = ", ..." if len(words) > _MOST_NAMED else ""
        said.append(
            f"{name!r} holds {len(words)} words ({listed}{more}): if these are sites, "
            f"say so: [site] from = {name!r}, and a line for each under [sites]"
        )
    return said


def _places(
    header: Header, looks: Sequence[Looks], placed: Sequence[Placed]
) -> list[int]:
    """Return the columns that may name several sites."""
    taken = {one.header for one in placed if one.column.name not in _NO_OTHER}
    return [
        place
        for place, its in enumerate(looks)
        if header.names[place] not in taken
        and any(map(is_site, header.spoken(place)))
        and len(set(its.filled)) > 1
        and len(set(its.filled)) < _MOST_DISTINCT * _row_count(its)
    ]


def _row_count(looks: Looks) -> int:
    """Return for how many rows a column says something, those below a value too."""
    return len(looks.cells) if _is_merged(looks) else len(looks.filled)
