"""Whose a log is: of the one site that [site] names, or of those under [sites].

A company keeps one log of many sites; which of them a row is of, one of its columns
says, or a title, or the name of the file or the sheet.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from etl.site_map.faults import Faults, key_shown, shown
from etl.site_map.model import Site, SitesWithin
from etl.site_map.tables import LONGEST_NAME, Table, nearest, too_long
from etl.spelling import code_key

# These are in the tables of some computers, but mean another zone on each, or none.
_NO_PLACES = ("localtime", "posix", "right/", "Factory")
_ZONE = "an IANA name such as Europe/Lisbon"
_CODE = "a short code such as HARBOUR"
_KEYS = ("code", "name", "time_zone")
_SITE = '"HARBOUR", its code, or {code = "HARBOUR", name = "Harbour sheds"}'


@dataclass(frozen=True)
class _Line:
    """What a line under [sites] says of a site: its code, and the rest if at all."""

    word: str
    code: str
    name: str
    time_zone: str


def read_sites(
    site: Table, sites: Table, faults: Faults
) -> tuple[Site, SitesWithin | None]:
    """Return whose a log is; faults are added.

    Of a log of several sites there is no one site: its code and its name are blank.
    """
    is_of_several = "from" in site.values or bool(sites.values)
    zone = ""
    if "time_zone" in site.values or not is_of_several:
        where = ("site", "time_zone")
        zone = _time_zone(where, site.text("time_zone", _ZONE), faults)
    if is_of_several:
        return Site("", "", zone), _several(site, sites, zone, faults)
    if "fill_down" in site.values:
        faults.add(
            ("site", "fill_down"),
            "[site] fill_down without from: expected both, of a log of several sites",
        )
    code = site.name_text("code", _CODE).strip().upper()
    return Site(code, site.name_text("name", "the site's name"), zone), None


def _several(site: Table, sites: Table, zone: str, faults: Faults) -> SitesWithin:
    for key in ("code", "name"):
        if key in site.values:
            faults.add(
                ("site", key),
                f"[site] {key} = {shown(site.values[key])} is that of one site, and "
                "from and [sites] are of several: expected either",
            )
    header = site.text("from", "what says whose a row is, a header such as Project")
    if not sites.values:
        faults.add(
            ("site", "from"),
            f"[site] from = {shown(header)} without [sites]: expected a line there for "
            'each word, as "Harbour hall" = "HARBOUR"',
        )
    lines = [
        line
        for word, value in sites.values.items()
        if (line := _line(word, value, faults)) is not None
    ]
    _check_words(lines, faults)
    return SitesWithin(
        header=" ".join(header.split()),
        fill_down=site.yes_or_no("fill_down"),
        sites=_each_once(lines, zone, faults),
        words=tuple((line.word, line.code) for line in lines),
    )


def _line(word: str, value: object, faults: Faults) -> _Line | None:
    where = ("sites", word)
    said = f"[sites] {key_shown(word)} = {shown(value)}"
    spec = {"code": value} if isinstance(value, str) else value
    if not isinstance(spec, dict):
        faults.add(where, f"{said}: expected {_SITE}")
        return None
    for key in spec.keys() - set(_KEYS):
        faults.add(
            (*where, key),
            f"{said} has no key {shown(key)}, expected {nearest(key, _KEYS)}",
        )
    texts = {key: spec.get(key, "") for key in _KEYS}
    for key, text in texts.items():
        is_blank = isinstance(text, str) and not text.strip()
        if not isinstance(text, str) or (is_blank and (key == "code" or key in spec)):
            faults.add((*where, key), f"{said}: expected a text as {key}, of {_SITE}")
            return None
        if len(text) > LONGEST_NAME:
            faults.add((*where, key), f"{said}: {key} {too_long(text)}")
            return None
    zone = texts["time_zone"]
    return _Line(
        word,
        texts["code"].strip().upper(),
        texts["name"],
        _time_zone((*where, "time_zone"), zone, faults) if zone else "",
    )


def _check_words(lines: list[_Line], faults: Faults) -> None:
    """A word says something, and says it once."""
    seen: dict[str, str] = {}
    for line in lines:
        plain = plain_word(line.word)
        said = f"[sites] {key_shown(line.word)} = {shown(line.code)}"
        if not plain:
            faults.add(
                ("sites", line.word),
                f"{said}: a blank cell names no site, expected a word",
            )
        elif plain in seen:
            faults.add(
                ("sites", line.word),
                f"{said}: is the same word as {key_shown(seen[plain])} (capitals and "
                "spaces do not count), expected it once",
            )
        seen.setdefault(plain, line.word)


def _each_once(lines: list[_Line], zone: str, faults: Faults) -> tuple[Site, ...]:
    """Return the sites: what one of a site's lines says holds, two must agree."""
    sites = []
    for code in dict.fromkeys(line.code for line in lines):
        of_site = [line for line in lines if line.code == code]
        for key in ("name", "time_zone"):
            given = [line for line in of_site if getattr(line, key)]
            others = [
                line for line in given if getattr(line, key) != getattr(given[0], key)
            ]
            for other in others:
                faults.add(
                    ("sites", other.word, key),
                    f"[sites] {key_shown(other.word)} {key} = "
                    f"{shown(getattr(other, key))}: is {shown(getattr(given[0], key))} "
                    f"of the same site, {code}, on another line, expected it once",
                )
        zones = [line.time_zone for line in of_site if line.time_zone]
        names = [line.name for line in of_site if line.name]
        if not zones and not zone:
            faults.add(
                ("sites", of_site[0].word),
                f"[sites] {code} has no time_zone, and [site] has none for all: "
                f"expected {_ZONE}",
            )
        sites.append(
            Site(code, (names or [of_site[0].word.strip()])[0], (zones or [zone])[0])
        )
    return tuple(sites)


def places_of(within: SitesWithin, cells: Iterable[str]) -> dict[str, int]:
    """Return which of the sites each cell names, from 0; cells that name none are not.

    Capitals and blanks do not count; nor do separators and leading zeros, where the
    words of no two sites differ in nothing else. A site's code is one of its words.
    """
    codes = [site.code for site in within.sites]
    exact: dict[str, set[str]] = {}
    loose: dict[str, set[str]] = {}
    for word, code in [*within.words, *((code, code) for code in codes)]:
        exact.setdefault(plain_word(word), set()).add(code)
        loose.setdefault(code_key(word), set()).add(code)
    found = {}
    for cell in cells:
        plain = plain_word(cell)
        named = exact.get(plain) or loose.get(code_key(cell), set())
        if plain and len(named) == 1:
            [code] = named
            found[cell] = codes.index(code)
    return found


def plain_word(text: str) -> str:
    """Return a word without what does not count in it."""
    return " ".join(text.split()).casefold()


def _time_zone(where: tuple[str, ...], name: str, faults: Faults) -> str:
    if not name:
        return name
    try:
        if name.startswith(_NO_PLACES):
            raise ValueError
        ZoneInfo(name)
    except (KeyError, OSError, ValueError):
        said = f"[{where[0]}] {' '.join(map(key_shown, where[1:]))} = {shown(name)}"
        faults.add(where, f"{said}: expected {_ZONE}")
    return name
