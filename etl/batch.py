"""What a load is made of: sheets, logs, and the site maps beside them."""

from dataclasses import dataclass, replace
from pathlib import Path

from etl.sheets.declaration import Sheet
from etl.sheets.registry import sheets_among
from etl.site_map import SiteMap, read_site_map, read_toml
from queries.errors import FirmsetError

# A site map has one of these at least, whatever is wrong with it.
_TABLES = {"site", "sites", "files", "columns"}


@dataclass(frozen=True)
class Batch:
    """Files to load, sheets of master data first, and the site maps found beside.

    `only_map` is for every log, whatever its name.
    """

    sheets: dict[Path, Sheet]
    logs: tuple[Path, ...]
    site_maps: tuple[SiteMap, ...]
    only_map: SiteMap | None = None

    @property
    def files(self) -> tuple[Path, ...]:
        """All files in the order in which they are loaded."""
        return (*self.sheets, *self.logs)


def gather(
    paths: list[Path], map_folder: Path | None, only_map: Path | None = None
) -> Batch:
    """Return what a load of these files and folders is made of.

    `only_map` is a site map for every log; others are not looked for then.
    FirmsetError where a path is not there, a folder or all of them hold nothing to
    load, or a site map is faulty; OSError where a folder may not be read.
    """
    if map_folder is not None and not map_folder.is_dir():
        raise FirmsetError(f"{map_folder}: no such folder; expected one of site maps")
    files: list[Path] = []
    for path in paths:
        if _may_be_file(path):
            files.append(path)
        elif path.is_dir():
            files += _files_in(path)
        else:
            raise FirmsetError(f"{path}: no such file or folder")
    sheets = sheets_among(files)
    logs = [path for path in files if path not in sheets and is_log(path)]
    if not sheets and not logs:
        # Beside others they are passed over, as a shell names all of a folder.
        raise FirmsetError(
            f"{', '.join(map(str, paths))}: is no log; expected a site log or a sheet "
            "of master data (a site map is read where its log is)"
        )
    if only_map is not None:
        chosen = read_site_map(only_map)
        reason = f"{only_map.name}: chosen by hand"
        return Batch(sheets, tuple(logs), (), replace(chosen, chosen_because=reason))
    folders = (
        [map_folder] if map_folder else dict.fromkeys(path.parent for path in logs)
    )
    # Not by a pattern: that finds nothing where a folder may not be read.
    maps = dict.fromkeys(
        found.resolve()
        for folder in folders
        for found in sorted(folder.iterdir())
        if found.suffix == ".toml" and may_be_map(found)
    )
    return Batch(
        sheets=sheets,
        logs=tuple(logs),
        site_maps=tuple(read_site_map(path) for path in maps),
    )


def _files_in(folder: Path) -> list[Path]:
    files = sorted(child for child in folder.iterdir() if _may_be_file(child))
    if not any(map(is_log, files)):
        raise FirmsetError(
            f"{folder}: holds no file to load; expected site logs or sheets of master "
            "data in it (folders within a folder are not read)"
        )
    return files


def _may_be_file(path: Path) -> bool:
    """Say whether this is a file; one that may not be looked at fails by its name."""
    try:
        return path.is_file()
    except OSError:
        return True


def may_be_map(path: Path) -> bool:
    """Say whether a TOML file may be a site map; other programs have theirs too."""
    try:
        _, tables = read_toml(path)
    except FirmsetError:
        return True  # Reading it says what is wrong.
    return not tables.keys().isdisjoint(_TABLES)


def is_log(path: Path) -> bool:
    """Everything that is not a sheet, a site map or hidden was sent as a log."""
    return path.suffix.lower() not in (".toml", ".md") and not path.name.startswith(".")
