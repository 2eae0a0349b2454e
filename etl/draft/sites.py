"""Whose a file is, where it says so; of several sites, whose each row is."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from etl.draft.fill_down import is_gappy, said_merged
from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import is_site
from etl.draft.placed import Placed
from etl.draft.said import Said
from etl.month_names import is_of_calendar
from etl.spelling import code_key
from etl.staging import title_in

_MOST_NAMED = 3
# Where nearly every value is another, they are no sites.
_MOST_DISTINCT = 0.5
_NO_OTHER = {"work_area"}
# Sheets that are named by these are no sites. Common practice, no source.
_NO_SITES = {
    *("sheet", "tabelle", "blatt", "feuille", "feuil", "hoja", "folha", "planilha"),
    *("foglio", "blad", "log", "data", "daten", "page", "seite", "week", "wk", "woche"),
    *("kw", "semaine", "semana", "settimana", "day", "tag", "crew", "kolonne", "team"),
    *("copy", "kopie", "area", "level", "zone"),
}
# Nor do these words of a file's name say whose it is. Common practice, no source.
_OF_ANY_LOG = _NO_SITES | {
    *("logs", "logbook", "anchor", "anchors", "bolt", "bolts", "install", "installed"),
    *("installation", "installations", "installs", "record", "records", "register"),
    *("report", "reports", "export", "exported", "qa", "qc", "weekly", "daily"),
    *("monthly", "form", "forms", "checklist", "list", "liste", "final", "new", "rev"),
    *(
        "version",
        "protokoll",
        "protokolle",
        "setzprotokoll",
        "dübel",
        "duebel",
        "anker",
    ),
    *("montage", "montageprotokoll", "bericht", "journal", "registre", "relevé"),
    *("chevilles", "ancrages", "registro", "anclajes", "ancoragens", "ancoraggi"),
    *("site", "baustelle", "chantier", "obra", "cantiere"),
}
_MOST_WORDS = 4
NO_NAME = "SITE"


@dataclass(frozen=True)
class SitesFound:
    """The column that names sites, and for each of its words a site's code.

    `names` has a name for each word: that of another column, `named_by`, where it has
    one for each, else the word. `of_rows` has the code of each row that was looked at,
    "" for none.
    """

    header: str
    words: dict[str, str]
    fill_down: Said[bool] | None
    of_rows: tuple[str, ...]
    names: dict[str, str]
    named_by: str | None


def sites_of(
    header: Header,
    looks: Sequence[Looks],
    placed: Sequence[Placed],
    *,
    is_workbook: bool,
) -> SitesFound | None:
    """Return the first column that seems to name several sites; None: there is none."""
    places = _places(header, looks, placed)
    if not places:
        return None
    its, fill = looks[places[0]], None
    if is_gappy(its):
        fill = said_merged(its, is_workbook=is_workbook)
    codes = _with_codes(its.filled)
    named = [
        (place, names)
        for place in places[1:]
        if (names := _names_beside(its.cells, looks[place].cells)) is not None
    ]
    by, names = named[0] if named else (None, {word: word for word in codes})
    return SitesFound(
        header=header.names[places[0]],
        words=codes,
        fill_down=fill,
        of_rows=_of_rows(its.cells, codes, fill),
        names=names,
        named_by=None if by is None else header.names[by],
    )


def _names_beside(cells: Sequence[str], others: Sequence[str]) -> dict[str, str] | None:
    """Return what stands beside each word, where that is one name, and its own."""
    pairs = {pair for pair in zip(cells, others, strict=True) if pair[0]}
    names = dict(pairs)
    is_one_each = len(pairs) == len(names) == len(set(names.values()))
    return names if is_one_each and "" not in names.values() else None


def _of_rows(
    cells: Sequence[str], codes: dict[str, str], fill: Said[bool] | None
) -> tuple[str, ...]:
    found, last = [], ""
    for cell in cells:
        last = cell or (last if fill else "")
        found.append(codes.get(last, ""))
    return tuple(found)


def site_named(
    header: Header, looks: Sequence[Looks], placed: Sequence[Placed]
) -> tuple[str, str] | None:
    """Return what names the one site of a file, a column or a title, and its name."""
    for place in _columns(header, placed):
        if len(words := set(looks[place].filled)) == 1:
            return header.names[place], words.pop()
    titles = [
        title
        for row in header.above
        for cell in row
        if is_site(title := " ".join(cell.partition(":")[0].split()))
    ]
    for title in titles:
        if text := title_in(header.above, title, titles):
            return title, text
    return None


def sheets_said(names: Sequence[str]) -> list[str]:
    """Ask whether the sheets of a workbook, each a log, are of a site each."""
    words = [
        word.casefold() for name in names for word in re.findall(r"[^\W\d]+", name)
    ]
    named = all(re.search(r"[^\W\d]{2}", name) for name in names)
    if not named or any(word in _NO_SITES or is_of_calendar(word) for word in words):
        return []
    listed = ", ".join(map(repr, names[:_MOST_NAMED]))
    more = ", ..." if len(names) > _MOST_NAMED else ""
    said = (
        f"sheets {listed}{more}: if these are sites, say so: sheet = '{{site}}', "
        "[site] from = 'site', and a line for each under [sites]"
    )
    return [said]


def _with_codes(cells: Sequence[str]) -> dict[str, str]:
    """Return a code for each word; two that are spellings of one code share it."""
    codes: dict[str, str] = {}
    by_key: dict[str, str] = {}
    for word in dict.fromkeys(cells):
        code = by_key.setdefault(code_key(word), code_of(word))
        codes[word] = code
    return codes


def code_of(word: str) -> str:
    """Return a site's code made from its name."""
    return "-".join(re.findall(r"[^\W_]+", word.upper())) or word


def code_of_file(stem: str) -> str:
    """Return a site's code made from the words of a file's name that may be its name.

    Numbers are left out: they count weeks and files more often than sites.
    """
    words = [
        word
        for word in re.findall(r"[^\W\d_]+", stem)
        if word.casefold() not in _OF_ANY_LOG and not is_of_calendar(word.casefold())
    ]
    return code_of(" ".join(words[:_MOST_WORDS])) or NO_NAME


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
        if taken is not None and name in (taken.header, taken.named_by):
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
    return [
        place
        for place in _columns(header, placed)
        if len(set(looks[place].filled)) > 1
        and len(set(looks[place].filled)) < _MOST_DISTINCT * _row_count(looks[place])
    ]


def _columns(header: Header, placed: Sequence[Placed]) -> list[int]:
    """Return the columns whose header means a site, and nothing else."""
    taken = {one.header for one in placed if one.column.name not in _NO_OTHER}
    return [
        place
        for place, name in enumerate(header.names)
        if name not in taken and any(map(is_site, header.spoken(place)))
    ]


def _row_count(looks: Looks) -> int:
    """Return for how many rows a column says something, those below a value too."""
    return len(looks.cells) if is_gappy(looks) else len(looks.filled)
