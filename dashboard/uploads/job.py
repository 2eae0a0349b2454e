"""The process that tries or loads one upload, so that the pages need not wait.

`python -m dashboard.uploads.job STORE TOKEN try|load`. What it finds goes into the
upload's state; that a job still runs is seen by the lock it holds on the upload.
"""

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from dashboard.terminal.drafting import findings
from dashboard.terminal.receipts import REASONS_SHOWN, receipt_row
from dashboard.uploads.run import may_be_kept
from etl.batch import is_log as is_log_name
from etl.corrected_rows import is_corrections
from etl.draft.draft import draft_of
from etl.draft.held import read_held
from etl.draft.write import toml_of
from etl.intake import IntakeResult, load_paths
from etl.lock import hold_store
from etl.rehearse import rehearse
from etl.sheets.registry import sheet_of_file
from etl.site_map import read_site_map
from etl.store_maps import stage_maps, staged_maps
from etl.upload import (
    Upload,
    drop_file,
    find_upload,
    require_same_bytes,
    save_upload,
)
from queries.errors import FirmsetError
from queries.store import Store

WAIT_FOR_STORE_S = 60.0
WAIT_FOR_JOB_S = 5.0
LONGEST_TEXT = 300
_INSTEAD = "a site map (.toml) is sent under Site maps, below"


def main(arguments: Sequence[str]) -> int:
    """Do a step of an upload and keep what it found; 0 whatever it was."""
    folder, token, step = arguments
    store = Store(Path(folder))
    upload = find_upload(store, token)
    if upload is None:
        return 1
    with hold_store(Store(upload.folder), WAIT_FOR_JOB_S):
        if step == "try":
            save_upload(upload, step="tried", outcome=try_upload(store, upload))
        else:
            load_upload(store, upload)
    return 0


def try_upload(store: Store, upload: Upload) -> dict[str, Any]:
    """Return what a load of an upload would do, as JSON; the store stays as it is."""
    try:
        require_same_bytes(upload)
        if not is_log_name(upload.path):
            return {"failures": [f"{upload.name}: is no log; {_INSTEAD}"]}
        staged = stage_maps(store, upload.map_folder)
        is_log = not _is_no_log(upload.path)
        chosen = _chosen_map(upload, staged) if is_log else None
        if is_log and chosen is None and not _fits_any(upload.path, staged.values()):
            return _without_map(upload, store)
        rehearsal = rehearse(
            store, [upload.path], map_folder=upload.map_folder, only_map=chosen
        )
    except FirmsetError as error:
        return {"failures": [_told(upload, store, str(error))]}
    found = _result(upload, store, rehearsal.result)
    if found["failures"] and not found["receipts"] and is_log:
        with suppress(FirmsetError):  # It is among the failures.
            found["draft"] = _draft(upload, store)
    reasons = rehearsal.by_reason()
    found["rejected_rows"] = rehearsal.rejects.height
    found["reasons"] = reasons.height
    found["rejects"] = [
        row | {"raw_text": row["raw_text"][:LONGEST_TEXT]}
        for row in reasons.head(REASONS_SHOWN).to_dicts()
    ]
    return found


def load_upload(store: Store, upload: Upload) -> Upload:
    """Load an upload that was tried; where nothing is, it stays to be loaded again.

    Of a workbook, a sheet that fails keeps no other out, as in the terminal.
    """
    try:
        require_same_bytes(upload)
        staged = staged_maps(upload.map_folder)
        chosen = None if _is_no_log(upload.path) else _chosen_map(upload, staged)
        result = load_paths(
            store,
            [upload.path],
            map_folder=upload.map_folder,
            only_map=chosen,
            wait_s=WAIT_FOR_STORE_S,
        )
    except FirmsetError as error:
        failed = upload.outcome | {"load_failure": _told(upload, store, str(error))}
        return save_upload(upload, step="tried", outcome=failed)
    found = _result(upload, store, result)
    if found["failures"] and not may_be_kept(found):
        failed = upload.outcome | {"load_failure": "; ".join(found["failures"])}
        return save_upload(upload, step="tried", outcome=failed)
    done = save_upload(upload, step="loaded", outcome=found)
    drop_file(done)
    return done


def _is_no_log(path: Path) -> bool:
    """Say whether a file is read without a site map: a sheet, or corrected rows."""
    return sheet_of_file(path) is not None or is_corrections(path)


def _chosen_map(upload: Upload, staged: dict[str, Path]) -> Path | None:
    if upload.map_sha256 is None:
        return None
    if upload.map_sha256 not in staged:
        raise FirmsetError(
            f"{upload.name}: the site map chosen for it is not in force any more; "
            "choose another"
        )
    return staged[upload.map_sha256]


def _fits_any(path: Path, maps: Any) -> bool:
    return any(read_site_map(found).fits(path) for found in maps)


def _without_map(upload: Upload, store: Store) -> dict[str, Any]:
    """Return that no map is for the file, with a draft, or why there can be none."""
    no_map = (
        f"{upload.name}: no site map of this store is for a file of this name; choose "
        "one from the list, or send the site's map below"
    )
    try:
        return {"failures": [no_map], "draft": _draft(upload, store)}
    except FirmsetError as error:
        return {"failures": [_told(upload, store, str(error))]}


def _draft(upload: Upload, store: Store) -> dict[str, Any]:
    """Return what `firmset map FILE` would say; FirmsetError as there."""
    found = draft_of(upload.path, held=read_held(store))
    return findings(found) | {"toml": toml_of(found, None)}


def _result(upload: Upload, store: Store, result: IntakeResult) -> dict[str, Any]:
    failures = [*result.failures, *([result.fault] if result.fault else [])]
    return {
        "receipts": [receipt_row(one) for one in result.receipts],
        "failures": [_told(upload, store, line) for line in failures],
        "edition_id": result.edition_id,
        "is_cut_off": result.fault is not None,
    }


def _told(upload: Upload, store: Store, text: str) -> str:
    """Return an error without the folders of this machine."""
    for folder in (upload.path.parent, upload.map_folder, store.folder):
        for written in (folder, folder.resolve()):
            text = text.replace(f"{written}{os.sep}", "")
    return text.replace(str(store.folder), "the store")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
