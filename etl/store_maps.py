"""The site maps that a store has: sent to it, or kept from its loads.

Those sent are files in `maps/` of the store, their predecessors in `maps/former/`. A
load keeps the text of the maps it used in the ledger. Of both, the newest for a site,
a pattern of names and a first day is in force; all others are former.
"""

import hashlib
import secrets
import shutil
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

from etl.lock import hold_store
from etl.site_map import SiteMap, read_site_map
from etl.upload import clean_name
from queries.errors import FirmsetError
from queries.readers.intake import read_used_maps
from queries.store import Store

WAIT_S = 10.0


@dataclass(frozen=True)
class StoredMap:
    """A site map of a store. `since` is when it was sent, or last used (UTC).

    `site_map` is None where it cannot be read; `fault` then says why.
    """

    name: str
    text: str
    since: datetime
    was_sent: bool
    in_force: bool
    site_map: SiteMap | None
    fault: str = ""

    @property
    def sha256(self) -> str:
        """The SHA-256 of its text, by which it is asked for."""
        return hashlib.sha256(self.text.encode()).hexdigest()

    @property
    def place(self) -> tuple[str, str, date | None] | None:
        """What only one map in force may have: site, names it matches, first day."""
        found = self.site_map
        return (found.whose, found.match, found.valid_from) if found else None


def maps_of(store: Store) -> list[StoredMap]:
    """Return all site maps of a store, those in force first, by site and name."""
    sent = _in_folder(store.folder / "maps", in_force=True)
    former = _in_folder(store.folder / "maps" / "former", in_force=False)
    known = {found.sha256 for found in (*sent, *former)}
    taken = {found.place for found in sent}
    names = {(found.name, found.site_map and found.site_map.whose) for found in sent}
    used = []
    for found in _used(store):
        whose = found.site_map and found.site_map.whose
        if found.sha256 in known:
            continue
        is_open = found.place is not None and found.place not in taken
        if is_open and (found.name, whose) not in names:
            taken.add(found.place)
            found = replace(found, in_force=True)
        used.append(found)
    return sorted(
        [*sent, *former, *used],
        key=lambda one: (not one.in_force, one.place is None, str(one.place), one.name),
    )


def _in_folder(folder: Path, *, in_force: bool) -> list[StoredMap]:
    found = []
    for path in sorted(folder.glob("*.toml")):
        # One that is being replaced under another name goes meanwhile.
        with suppress(FileNotFoundError):
            text = path.read_text("utf-8", "replace")
            since = datetime.fromtimestamp(path.stat().st_mtime, UTC)
            found.append(
                _stored(path.name, text, since, was_sent=True, in_force=in_force)
            )
    return found


def _used(store: Store) -> Iterable[StoredMap]:
    """Yield the maps that loads used, the last used first."""
    if store.current_edition_id() is None:
        return
    with store.reader() as con:
        rows = read_used_maps(con).to_dicts()
    for row in rows:
        yield _stored(
            row["file_name"],
            row["text"],
            row["last_used_at"],
            was_sent=False,
            in_force=False,
        )


def _stored(
    name: str, text: str, since: datetime, *, was_sent: bool, in_force: bool
) -> StoredMap:
    site_map, fault = _read(name, text)
    usable = in_force and site_map is not None
    return StoredMap(name, text, since, was_sent, usable, site_map, fault)


@lru_cache(maxsize=256)
def _read(name: str, text: str) -> tuple[SiteMap | None, str]:
    """Return the map that a text is, or its faults; the path of it is of no use."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / clean_name(name)
        path.write_text(text, "utf-8", newline="")
        try:
            return read_site_map(path), ""
        except FirmsetError as error:
            return None, str(error).replace(str(path), name)


def map_of_sha256(store: Store, sha256: str) -> StoredMap | None:
    """Return the stored map with this SHA-256, None where there is none."""
    return next((one for one in maps_of(store) if one.sha256 == sha256), None)


def keep_map(store: Store, name: str, content: bytes) -> StoredMap:
    """Put a sent site map in force and return it; its predecessors become former.

    Stored only where it has no fault: FirmsetError lists all of them. A predecessor
    has the same site and name, or the same site, pattern and first day. Sending what
    is in force already changes nothing. Where a load runs, its end is awaited for up
    to WAIT_S seconds.
    """
    shown = clean_name(name)
    shown = shown if shown.lower().endswith(".toml") else f"{shown}.toml"
    try:
        text = content.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise FirmsetError(f"{shown}: not a TOML file in UTF-8: {error}") from error
    now = datetime.now(UTC)
    wanted = _stored(shown, text, now, was_sent=True, in_force=True)
    if wanted.site_map is None:
        raise FirmsetError(wanted.fault)
    with hold_store(store, WAIT_S):
        in_force = _in_folder(store.folder / "maps", in_force=True)
        same = [one for one in in_force if one.sha256 == wanted.sha256]
        if same:
            return same[0]
        _replace(store, in_force, wanted, wanted.site_map.whose)
    return wanted


def _replace(
    store: Store, in_force: list[StoredMap], wanted: StoredMap, whose: str
) -> None:
    folder = store.folder / "maps"
    (folder / "former").mkdir(parents=True, exist_ok=True)
    for one in in_force:
        held = one.site_map.whose if one.site_map else whose
        if one.name == wanted.name and held != whose:
            raise FirmsetError(
                f"{wanted.name}: a map of this name is in force for {held}; "
                f"expected another name for the map of {whose}"
            )
    replaced = [
        one for one in in_force if one.name == wanted.name or one.place == wanted.place
    ]
    former = {
        folder / "former" / f"{Path(one.name).stem}.{one.sha256[:12]}.toml": one.text
        for one in replaced
    }
    # The former ones are kept before the new one is there, and go afterwards: no
    # moment is without a map.
    _write_whole(folder, {**former, folder / wanted.name: wanted.text})
    for one in replaced:
        if one.name != wanted.name:
            (folder / one.name).unlink()


def _write_whole(folder: Path, texts: dict[Path, str]) -> None:
    """Write files by their texts; on a full disk none of them, nor a part of one."""
    partials = {path: folder / f"{secrets.token_hex(4)}.partial" for path in texts}
    try:
        for path, text in texts.items():
            partials[path].write_text(text, "utf-8", newline="")
        for path, partial in partials.items():
            partial.replace(path)
    finally:
        for partial in partials.values():
            partial.unlink(missing_ok=True)


def stage_maps(store: Store, folder: Path) -> dict[str, Path]:
    """Write the maps in force to a folder, each under a name of its own; by SHA-256.

    What stood in the folder before goes: it was in force when it was written.
    """
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True, exist_ok=True)
    staged: dict[str, Path] = {}
    for one in maps_of(store):
        if not one.in_force:
            continue
        path = folder / clean_name(one.name)
        if path.exists():
            path = folder / clean_name(f"{path.stem}.{one.sha256[:12]}.toml")
        path.write_text(one.text, "utf-8", newline="")
        staged[one.sha256] = path
    return staged


def staged_maps(folder: Path) -> dict[str, Path]:
    """Return the maps that stand in such a folder, by SHA-256."""
    return {read_site_map(path).sha256: path for path in folder.glob("*.toml")}
