"""What an upload came to, on the page: receipt, questions, rejected rows, draft."""

from collections.abc import Mapping, Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from dashboard import words
from dashboard.parts import Cell, Column, link, notice, table
from dashboard.terminal.receipts import rejected_words
from dashboard.uploads.forms import KEEP, text_form
from dashboard.uploads.routes import MAPS, draft_name
from dashboard.uploads.run import may_load
from etl.store_maps import StoredMap, staged_maps
from etl.upload import Upload

Part = Component | None

_MEND = "Mend that and send the file again: what is loaded by then counts as duplicate."


def outcome_of(
    upload: Upload, maps: Sequence[StoredMap], kept_map: str = ""
) -> list[Part]:
    """Return what is known of an upload, and what may be done with it next.

    `maps` are those in force, `kept_map` the SHA-256 of the one that was kept last.
    """
    if upload.step == "loaded":
        return _loaded(upload)
    if upload.step in ("trying", "loading"):
        doing = (
            "being tried; nothing is written"
            if upload.step == "trying"
            else "being loaded; the end of another load is awaited for a minute"
        )
        return [_head(upload, f"{doing} …")]
    outcome = upload.outcome
    failures = list(outcome.get("failures", []))
    is_with_kept = kept_map in staged_maps(upload.map_folder)
    answered = _answered(upload, maps, kept_map)
    said = "tried; nothing was written" if upload.step == "tried" else "received"
    return [
        _head(upload, f"{said}."),
        # What was wrong without the site map that is there now says nothing of it.
        notice([] if answered and not is_with_kept else failures),
        *_receipts(outcome),
        *_rejects(outcome),
        notice([outcome["load_failure"]] if outcome.get("load_failure") else []),
        *_load_button(upload),
        _map_choice(upload, maps) if _is_log(outcome) else None,
        *_draft(upload, answered, is_with_kept=is_with_kept),
    ]


def _head(upload: Upload, said: str) -> html.P:
    return html.P(
        [
            html.Strong(upload.name),
            f", {words.count(upload.byte_count)} bytes: {said}",
        ],
        className="answer",
        title=f"SHA-256 {upload.sha256}",
    )


def _loaded(upload: Upload) -> list[Part]:
    edition_id = upload.outcome["edition_id"]
    said = (
        f"loaded. Edition {edition_id} is published: pages show it from the next view "
        "on."
        if edition_id is not None
        else "brought nothing new: its content was loaded before. Nothing changed, "
        "no edition was published."
    )
    failures = list(upload.outcome.get("failures", []))
    return [
        _head(upload, said),
        notice(failures),
        html.P(f"This was left out. {_MEND}", className="says") if failures else None,
        *_receipts(upload.outcome),
        html.P(link("Show Intake as it is now", "/intake")),
    ]


def _receipts(outcome: dict[str, Any]) -> list[Part]:
    receipts = outcome.get("receipts") or []
    if not receipts:
        return []
    remarks = _remarks(receipts)
    return [
        table(receipts, _receipt_columns(), caption="Receipt", look="receipt"),
        html.Div([html.H3("Remarks and questions"), _list(remarks)], className="asks")
        if remarks
        else None,
    ]


def _remarks(receipts: Sequence[dict[str, Any]]) -> list[str]:
    """Return what is remarked of a file; of several parts, once, and of which."""
    parts: dict[str, list[str]] = {}
    for receipt in receipts:
        for remark in receipt["remarks"]:
            parts.setdefault(remark, []).append(receipt["file"])
    if len(receipts) == 1:
        return list(parts)
    return [
        f"{files[0]}{f' and {len(files) - 1} more' if len(files) > 1 else ''}: {remark}"
        for remark, files in parts.items()
    ]


def _receipt_columns() -> list[Column]:
    def number(head: str, name: str) -> Column:
        return Column(head, lambda row: words.count(row[name]), is_number=True)

    return [
        Column("File", lambda row: row["file"]),
        Column("Content", lambda row: str(row["content"]).replace("_", " ")),
        Column("Site", lambda row: row["site"] or ""),
        number("Rows read", "rows_read"),
        number("= loaded", "loaded"),
        number("+ revised", "revised"),
        number("+ duplicate", "duplicate"),
        number("+ rejected", "rejected"),
        number("Unreadable values", "field_faults"),
    ]


def _rejects(outcome: dict[str, Any]) -> list[Part]:
    rejects = outcome.get("rejects") or []
    if not rejects:
        return []
    receipts = outcome["receipts"]
    # Of several sheets each has rows of its own numbers.
    file = [Column("File", lambda row: row["file_name"])] if len(receipts) > 1 else []
    return [
        table(
            rejects,
            [
                *file,
                Column(
                    "Rows", lambda row: words.count(row["row_count"]), is_number=True
                ),
                Column("Reason", lambda row: row["reason"], is_prose=True),
                Column("First row", lambda row: str(row["source_row"]), is_number=True),
                Column("As written", lambda row: Cell(row["raw_text"], look="code")),
            ],
            caption=rejected_words(outcome["rejected_rows"], outcome["reasons"]),
        )
    ]


def _load_button(upload: Upload) -> list[Part]:
    if not may_load(upload):
        return []
    is_part = bool(upload.outcome.get("failures"))
    said = f"What the receipt lists can be loaded; the rest stays out. {_MEND}"
    return [
        html.P(said, className="says") if is_part else None,
        html.Button(
            "Load what the receipt lists" if is_part else "Load this file",
            id="upload-load",
            type="button",
            className="choose strong",
        ),
    ]


def _is_log(outcome: dict[str, Any]) -> bool:
    """Say whether a site map has a say in it; also where it could not be read."""
    return bool(outcome.get("draft")) or any(
        receipt["content"] == "installations" for receipt in outcome.get("receipts", [])
    )


def _map_choice(upload: Upload, maps: Sequence[StoredMap]) -> html.Div:
    chosen = next((one for one in maps if one.sha256 == upload.map_sha256), None)
    return html.Div(
        [
            dmc.Select(
                id="upload-map",
                label="Site map",
                size="xs",
                data=[
                    {"value": "", "label": "The one that fits its name and columns"},
                    *({"value": one.sha256, "label": map_label(one)} for one in maps),
                ],
                value=chosen.sha256 if chosen else "",
                allowDeselect=False,
            ),
            html.Button(
                "Try again with this map",
                id="upload-again",
                type="button",
                className="choose",
            ),
        ],
        className="map-choice",
    )


def map_label(one: StoredMap) -> str:
    """Return a site map's name and what tells it from others of its site."""
    found = one.site_map
    if found is None:
        return one.name
    since = f", from {found.valid_from}" if found.valid_from else ""
    sites = found.all_sites
    whose = f"{sites[0].name} ({sites[0].code})"
    if len(sites) > 1:
        whose = f"{len(sites)} sites ({words.and_list([site.code for site in sites])})"
    return f"{whose}: {one.name}{since}"


def _found(name: str, draft: Mapping[str, Any]) -> str:
    return "only guessed" if name in draft["needed_only_guessed"] else "not found"


def _answered(
    upload: Upload, maps: Sequence[StoredMap], kept_map: str
) -> StoredMap | None:
    """Return the site map that an upload's draft became; None while it is a draft."""
    named = (one for one in maps if one.name == draft_name(upload))
    return next((one for one in named if one.sha256 == kept_map), None)


def _draft(
    upload: Upload, answered: StoredMap | None, *, is_with_kept: bool
) -> list[Part]:
    """Return the draft of a site map, where none fitted, and what it leaves open.

    `answered` is the map that it became, with which the file was tried or was not yet.
    """
    draft = upload.outcome.get("draft")
    if not draft:
        return []
    if answered is not None:
        next_step = (
            "The file was tried with it; change it here, and try again."
            if is_with_kept
            else "Try the file again with it, or change it here."
        )
        return [
            html.H3("Its site map"),
            html.P(f"{map_label(answered)} is in force. {next_step}", className="says"),
            _editor(upload, "The site map (TOML)", answered.text),
        ]
    placed = [one for one in draft["columns"] if one["is_active"]]
    guessed = [one for one in draft["columns"] if not one["is_active"]]
    open_points = [
        *(
            f"needed and {_found(name, draft)}: {name}"
            for name in draft["needed_not_found"]
        ),
        *(f"column not placed: {name!r}" for name in draft["unplaced_headers"]),
        *draft["remarks"],
        *draft["questions"],
    ]
    return [
        html.H3("A draft of its site map"),
        html.P(
            f"{words.plural(len(placed), 'column')} placed, {len(guessed)} guessed and "
            "left as comments. Read every line and answer what it asks, here or in the "
            "file, which is sent below.",
            className="says",
        ),
        html.A(
            "Draft (TOML)",
            href=f"/intake/uploads/{upload.token}/draft.toml",
            download="",
            className="csv",
        ),
        _list(open_points),
        _editor(upload, "The draft (TOML)", str(draft["toml"])),
    ]


def _editor(upload: Upload, label: str, text: str) -> Component:
    return text_form(
        f"{MAPS}?upload={upload.token}",
        name="draft",
        label=label,
        button=KEEP,
        then="maps-kept",
        text=text,
        file=draft_name(upload),
    )


def _list(lines: Sequence[str]) -> html.Ul:
    return html.Ul([html.Li(line) for line in lines], className="points")
