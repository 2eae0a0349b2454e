"""The site maps of a store, on the page: which are in force, as files, and new ones."""

from collections.abc import Sequence

from dash import html
from dash.development.base_component import Component

from dashboard import words
from dashboard.parts import Cell, Column, notice, section, table
from dashboard.uploads.forms import KEEP, file_form, text_form
from dashboard.uploads.outcome import map_label
from dashboard.uploads.routes import MAPS, MOST_MAP_BYTES, Writing
from etl.store_maps import StoredMap, maps_of
from queries.store import Store

# A longer list is folded away.
MOST_OPEN = 5


def maps_section(
    store: Store, writing: Writing, token: str, map_sha256: str
) -> html.Section:
    """Return the list of maps; `map_sha256` was just sent, for the upload `token`."""
    maps = maps_of(store)
    in_force = [one for one in maps if one.in_force]
    post = f"{MAPS}?upload={token}" if token else MAPS
    form = file_form(
        post,
        name="map",
        label="New or changed site map (TOML)",
        button=KEEP,
        most=MOST_MAP_BYTES,
        accept=".toml",
        then="maps-kept",
    )
    return section(
        "Site maps",
        "How each site's columns, units and codes are read. A map is kept only without "
        "a fault. One of the same site, pattern and first day, or of the same name, is "
        "then former: kept, but not used for new files. These are the maps sent here "
        "and those that loads used; in the terminal, firmset load --maps "
        "STORE/maps uses those sent here.",
        html.Div(notice(_kept(maps, map_sha256)), id="maps-kept", tabIndex="-1"),
        _in_force(in_force, can_send=not writing.off_because),
        html.Details(
            [
                html.Summary("Former site maps"),
                _table([one for one in maps if not one.in_force], "Former site maps"),
            ]
        )
        if any(not one.in_force for one in maps)
        else None,
        None if writing.off_because else form,
        _editor(post, in_force) if in_force and not writing.off_because else None,
    )


def _editor(post: str, maps: Sequence[StoredMap]) -> html.Details:
    """Return where a map in force is changed on the page."""
    form = text_form(
        post,
        name="map-text",
        label="Its text (TOML)",
        button=KEEP,
        then="maps-kept",
        texts=[
            {"label": map_label(one), "file": one.name, "href": _address(one)}
            for one in maps
        ],
    )
    return html.Details([html.Summary("Change a site map in force"), form])


def _address(one: StoredMap) -> str:
    return f"{MAPS}/{one.sha256}.toml"


def _in_force(maps: Sequence[StoredMap], *, can_send: bool) -> Component:
    if not maps:
        drafted = (
            " Send a log above: a map for it is drafted from its columns and values."
        )
        return html.P(
            "No site map is in force yet." + (drafted if can_send else ""),
            className="says",
        )
    return html.Details(
        [
            html.Summary(words.plural(len(maps), "site map") + " in force"),
            _table(maps, "Site maps in force"),
        ],
        open=len(maps) <= MOST_OPEN,
    )


def _kept(maps: Sequence[StoredMap], map_sha256: str) -> list[str]:
    """Say what became of the map that was just sent."""
    found = next((one for one in maps if one.sha256 == map_sha256), None)
    if found is None or not found.in_force:
        return []
    formers = [
        one
        for one in maps
        if not one.in_force
        and (one.place == found.place or _is_named_alike(one, found))
    ]
    former = (
        f" Former, and kept: {words.and_list([_dated(one) for one in formers])}."
        if formers
        else ""
    )
    return [f"{map_label(found)} has no fault and is in force.{former}"]


def _is_named_alike(one: StoredMap, other: StoredMap) -> bool:
    return bool(
        one.name == other.name
        and one.site_map
        and other.site_map
        and one.site_map.whose == other.site_map.whose
    )


def _dated(one: StoredMap) -> str:
    return f"{one.name} of {words.instant(one.since)}"


def _table(maps: Sequence[StoredMap], caption: str) -> html.Div:
    def said(one: StoredMap, name: str) -> str:
        return str(getattr(one.site_map, name) or "") if one.site_map else ""

    fault = Column("Fault", lambda row: row["map"].fault, is_prose=True)
    return table(
        [{"map": one} for one in maps],
        [
            Column(
                "Site map",
                lambda row: Cell(row["map"].name, href=_address(row["map"])),
            ),
            Column("Site", lambda row: _sites(row["map"], "name"), is_prose=True),
            Column("Code", lambda row: _sites(row["map"], "code"), is_prose=True),
            Column("For files named", lambda row: said(row["map"], "match")),
            Column("First day", lambda row: said(row["map"], "valid_from")),
            Column("Columns", lambda row: _columns(row["map"]), is_number=True),
            Column("Since", lambda row: _since(row["map"])),
            *([fault] if any(one.fault for one in maps) else []),
        ],
        caption=caption,
        look="tall",
    )


def _sites(one: StoredMap, name: str) -> str:
    sites = one.site_map.all_sites if one.site_map else ()
    return ", ".join(getattr(site, name) for site in sites)


def _columns(one: StoredMap) -> str:
    return words.count(len(one.site_map.columns)) if one.site_map else ""


def _since(one: StoredMap) -> str:
    done = "sent" if one.was_sent else "last used"
    return f"{done} {words.instant(one.since)}"
