"""Where files come in, and where site maps and drafts go out, over HTTP."""

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import quote

from flask import Flask, Response, jsonify, request

from dashboard.file_answers import plain_words
from dashboard.guard import refusal
from dashboard.uploads.run import start_trying
from dashboard.workbook import XLSX_TYPE
from etl.sheets.empty_lists import NAMES, empty_list
from etl.site_map.toml_text import MAX_BYTES
from etl.store_maps import keep_map, map_of_sha256
from etl.upload import (
    MOST_BYTES,
    Upload,
    clean_name,
    drop_upload,
    find_upload,
    stage_upload,
    too_large,
)
from queries.errors import FirmsetError
from queries.store import Store

CHUNK_BYTES = 1 << 20
MOST_MAP_BYTES = MAX_BYTES
UPLOADS = "/intake/uploads"
MAPS = "/intake/maps"
SHEETS = "/intake/sheets"


@dataclass(frozen=True)
class Writing:
    """Whether readers may send files, and under which names the server is reached.

    `off_because` ends the sentence "This server takes no files: ..."; "" where it does.
    """

    off_because: str = "it was not started to take any"
    names: tuple[str, ...] = ()

    def refusal(self, store: Store) -> str | None:
        """Say why the request at hand may not write; None where it may.

        Nor may it begin a new store where the folder of this one was.
        """
        if store.is_gone():
            return f"{store.folder}: the store's folder is gone; nothing is kept there."
        if self.off_because:
            return f"This server takes no files: {self.off_because}."
        return refusal(dict(request.headers), self.names)


def add_routes(server: Flask, store: Store, writing: Writing) -> None:
    """Take logs and site maps, and give out site maps, drafts and empty sheets."""
    server.add_url_rule(
        UPLOADS, "send_log", lambda: _take_log(store, writing), methods=["POST"]
    )
    server.add_url_rule(
        MAPS, "send_map", lambda: _take_map(store, writing), methods=["POST"]
    )
    server.add_url_rule(
        f"{MAPS}/<sha256>.toml", "get_map", lambda sha256: _give_map(store, sha256)
    )
    server.add_url_rule(
        f"{UPLOADS}/<token>/draft.toml",
        "get_draft",
        lambda token: _give_draft(store, token),
    )
    server.add_url_rule(
        f"{SHEETS}/<name>.<any(csv, xlsx):kind>", "get_sheet", _give_sheet
    )


def _take_log(store: Store, writing: Writing) -> Response:
    """Stage the request's body and begin to try it; the answer says where to look."""
    refused = writing.refusal(store)
    if refused:
        return _problems(403, refused)
    name = request.args.get("name", "")
    if (request.content_length or 0) > MOST_BYTES:
        return _problems(413, too_large(clean_name(name)))
    try:
        upload = stage_upload(store, _body(), name)
        _try_or_drop(store, upload)
    except FirmsetError as error:
        return _problems(422, str(error))
    except OSError as error:
        return _problems(507, f"The file cannot be kept: {error.strerror}.")
    return jsonify(address=f"/intake?upload={upload.token}")


def _try_or_drop(store: Store, upload: Upload) -> None:
    """Begin to try an upload; of one that is refused nothing stays."""
    try:
        start_trying(store, upload)
    except BaseException:
        drop_upload(upload)
        raise


def _take_map(store: Store, writing: Writing) -> Response:
    """Put the request's body in force as a site map, or name all of its faults."""
    refused = writing.refusal(store)
    if refused:
        return _problems(403, refused)
    content = b"".join(_body(MOST_MAP_BYTES + 1))
    name = request.args.get("name", "")
    if len(content) > MOST_MAP_BYTES:
        return _problems(413, f"{clean_name(name)}: over 1 MB, which no site map is")
    try:
        kept = keep_map(store, name, content)
    except FirmsetError as error:
        return _problems(422, *str(error).split("\n"))
    except OSError as error:
        return _problems(507, f"The site map cannot be kept: {error.strerror}.")
    token = request.args.get("upload", "")
    upload = f"upload={token}&" if find_upload(store, token) else ""
    return jsonify(address=f"/intake?{upload}map={kept.sha256}")


def _body(most: int = MOST_BYTES + 1) -> Iterator[bytes]:
    """Yield the request's body as it comes; no more than `most` bytes of it."""
    left = most
    while left and (chunk := request.stream.read(min(CHUNK_BYTES, left))):
        left -= len(chunk)
        yield chunk


def _give_map(store: Store, sha256: str) -> Response:
    found = map_of_sha256(store, sha256)
    if found is None:
        return plain_words("No such site map.", 404)
    return _toml(found.text, found.name)


def _give_draft(store: Store, token: str) -> Response:
    upload = find_upload(store, token)
    draft = upload and upload.outcome.get("draft")
    if not upload or not draft:
        return plain_words("No such draft; a file is kept for an hour.", 404)
    return _toml(str(draft["toml"]), draft_name(upload))


def _give_sheet(name: str, kind: str) -> Response:
    """Give out a sheet of master data without rows, under the name it is known by."""
    if name not in NAMES:
        return plain_words("No such sheet.", 404)
    return Response(
        empty_list(name, f".{kind}"),
        content_type=XLSX_TYPE if kind == "xlsx" else "text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.{kind}"'},
    )


def draft_name(upload: Upload) -> str:
    """Return the file name of the site map that is drafted for an upload."""
    return f"{upload.name.partition('.')[0]}.toml"


def _toml(text: str, name: str) -> Response:
    shown = f"attachment; filename*=UTF-8''{quote(clean_name(name), safe='')}"
    return Response(
        text,
        content_type="text/plain; charset=utf-8",
        headers={"Content-Disposition": shown},
    )


def _problems(status: int, *problems: str) -> Response:
    answer = jsonify(problems=list(problems))
    answer.status_code = status
    return answer
