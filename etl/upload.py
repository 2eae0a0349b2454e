"""A file that came over the network: staged in the store, until it is loaded.

Each is a folder `uploads/RANDOM/` of the store: `file/` with the one file, `maps/` with
the site maps it is tried with, `state.json`. Nothing of it is trusted: the name is
cleaned, and only says which reader and which site map to try.
"""

import hashlib
import json
import re
import secrets
import shutil
import unicodedata
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

from etl.receipt import sha256_of
from queries.errors import FirmsetError
from queries.store import Store

MOST_BYTES = 200 * 1024**2
MOST_STAGED = 20
KEPT_FOR = timedelta(hours=1)
LONGEST_NAME_BYTES = 150

Step = Literal["received", "trying", "tried", "loading", "loaded"]
RUNNING: tuple[Step, ...] = ("trying", "loading")

_TOKEN = re.compile(r"[0-9a-f]{32}")
# What Windows allows in no name, and names that it takes for devices.
_FORBIDDEN = frozenset('<>:"|?*')
_DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)


@dataclass(frozen=True)
class Upload:
    """A staged file and how far it is.

    `map_sha256` is the site map that was chosen by hand, None where the file's name
    and columns choose. `outcome` is what the last step found, as JSON.
    """

    folder: Path
    name: str
    sha256: str
    byte_count: int
    step: Step = "received"
    started_at: str = ""
    map_sha256: str | None = None
    outcome: dict[str, Any] = field(default_factory=dict)

    @property
    def token(self) -> str:
        """The random name by which it is asked for."""
        return self.folder.name

    @property
    def path(self) -> Path:
        """The file itself, as long as it is staged."""
        return self.folder / "file" / self.name

    @property
    def map_folder(self) -> Path:
        """The site maps it was tried with, and will be loaded with."""
        return self.folder / "maps"


def clean_name(name: str) -> str:
    """Return a file's name without folders, control characters or leading dots.

    At most LONGEST_NAME_BYTES long; the end, which says the format, is kept.
    """
    last = re.split(r"[/\\]", unicodedata.normalize("NFC", name))[-1]
    kept = "".join(
        sign if sign.isprintable() and sign not in _FORBIDDEN else "_" for sign in last
    ).strip(" .")
    kept = f"_{kept}" if _DEVICE.match(kept) or not kept else kept
    suffix = "".join(Path(kept).suffixes[-2:])[-20:]
    stem = kept.removesuffix(suffix).encode()
    room = LONGEST_NAME_BYTES - len(suffix.encode())
    return stem[:room].decode("utf-8", "ignore") + suffix


def stage_upload(
    store: Store, chunks: Iterable[bytes], name: str, now: datetime | None = None
) -> Upload:
    """Write a file's bytes under a random name in the store; return it, "received".

    FirmsetError where it is empty or over MOST_BYTES, or too many are staged; nothing
    of it stays then. Uploads of over an hour ago are removed first.
    """
    clock = now or datetime.now(UTC)
    sweep(store, clock)
    shown = clean_name(name)
    if sum(1 for _ in _folder(store).glob("*/file")) >= MOST_STAGED:
        raise FirmsetError(
            f"{shown}: {MOST_STAGED} files wait to be loaded already; load those, or "
            "try again in an hour"
        )
    folder = _folder(store) / secrets.token_hex(16)
    (folder / "file").mkdir(parents=True)
    try:
        digest, byte_count = _write(folder / "file" / shown, chunks, shown)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    upload = Upload(folder, shown, digest, byte_count)
    return save_upload(upload)


def _write(path: Path, chunks: Iterable[bytes], shown: str) -> tuple[str, int]:
    """Write the chunks; return their SHA-256 and how many bytes they were."""
    digest, byte_count = hashlib.sha256(), 0
    with path.open("xb") as file:
        for chunk in chunks:
            byte_count += len(chunk)
            if byte_count > MOST_BYTES:
                raise FirmsetError(too_large(shown))
            digest.update(chunk)
            file.write(chunk)
    if byte_count == 0:
        raise FirmsetError(f"{shown}: the file is empty; save it anew, send that")
    return digest.hexdigest(), byte_count


def too_large(shown: str) -> str:
    """Say that a file is over the limit, and what to do."""
    return (
        f"{shown}: is over {MOST_BYTES // 1024**2} MB, the most that the page takes; "
        "pack it with gzip (.csv.gz), or load it in the terminal: firmset load FILE"
    )


def find_upload(store: Store, token: str) -> Upload | None:
    """Return a staged upload; None where there is none, or none any more."""
    if not _TOKEN.fullmatch(token):
        return None
    folder = _folder(store) / token
    try:
        values = json.loads((folder / "state.json").read_text("utf-8"))
        return Upload(folder=folder, **values)
    except (OSError, ValueError, TypeError):
        # TypeError: of another version of firmset, with other fields.
        return None


def save_upload(upload: Upload, **changes: Any) -> Upload:
    """Write an upload's state, whole or not at all, and return it."""
    changed = replace(upload, **changes)
    values = asdict(changed)
    del values["folder"]
    partial = changed.folder / f"{secrets.token_hex(4)}.partial"
    partial.write_text(json.dumps(values), "utf-8")
    partial.replace(changed.folder / "state.json")
    return changed


def require_same_bytes(upload: Upload) -> None:
    """Raise FirmsetError unless the staged file is what was received."""
    if not upload.path.is_file() or sha256_of(upload.path) != upload.sha256:
        raise FirmsetError(
            f"{upload.name}: is not there any more as it was received; send it again"
        )


def drop_file(upload: Upload) -> None:
    """Remove the staged bytes and maps; what became of them stays for an hour."""
    shutil.rmtree(upload.path.parent, ignore_errors=True)
    shutil.rmtree(upload.map_folder, ignore_errors=True)


def drop_upload(upload: Upload) -> None:
    """Remove an upload and all that is known of it."""
    shutil.rmtree(upload.folder, ignore_errors=True)


def sweep(store: Store, now: datetime) -> None:
    """Remove the uploads whose last step is over an hour ago, whatever they came to."""
    oldest = (now - KEPT_FOR).timestamp()
    for folder in _folder(store).glob("*"):
        # Another request may be sweeping too.
        with suppress(FileNotFoundError):
            if _TOKEN.fullmatch(folder.name) and folder.stat().st_mtime < oldest:
                shutil.rmtree(folder, ignore_errors=True)


def _folder(store: Store) -> Path:
    return store.folder / "uploads"
