"""The working part of the page Intake: send a file, see what it would do, load it."""

from datetime import UTC, datetime
from typing import Any

from dash import MATCH, Dash, Input, Output, State, dcc, html, no_update
from dash.development.base_component import Component
from flask import has_request_context

from dashboard.address import View, parse_view
from dashboard.parts import aria, at, notice, section
from dashboard.uploads.forms import file_form
from dashboard.uploads.maps import maps_section
from dashboard.uploads.outcome import outcome_of
from dashboard.uploads.routes import SHEETS, UPLOADS, Writing, add_routes
from dashboard.uploads.run import seen, start_loading, start_trying
from etl.sheets import registry
from etl.sheets.empty_lists import NAMES
from etl.store_maps import maps_of
from etl.upload import MOST_BYTES, RUNNING, Upload, sweep
from queries.errors import FirmsetError
from queries.readers.choices import Choices
from queries.store import Store

TICK_MS = 700
FORMATS = ".csv,.txt,.tsv,.jsonl,.ndjson,.json,.geojson,.xlsx,.parquet,.gz"
NO_CHOICES = Choices((), (), (), None, None)
Shown = tuple[Any, Any]


def work_place(view: View) -> html.Div:
    """Return the place of this part on the page; the address says which upload."""
    upload, kept = asked(view, "upload"), asked(view, "map")
    return html.Div(
        html.P("Being looked up …", className="says"),
        id={"type": "intake-work", "upload": upload, "map": kept},
    )


def asked(view: View, name: str) -> str:
    """Return a value of the address that this part is asked by; "" without."""
    return (dict(view.asked).get(name) or ("",))[0]


def add_work(app: Dash, store: Store, writing: Writing) -> None:
    """Fill the place, follow an upload until it is done, and load it when asked to."""
    add_routes(app.server, store, writing)
    place = {"type": "intake-work", "upload": MATCH, "map": MATCH}
    panel = Output("upload-panel", "children", allow_duplicate=True)
    ended = Output("upload-tick", "disabled", allow_duplicate=True)
    search = State("address", "search")

    @app.callback(Output(place, "children"), Input(place, "id"))
    def fill(told: dict[str, str]) -> list[Component | None]:
        return work(store, writing, str(told["upload"]), str(told["map"]))

    @app.callback(
        panel,
        ended,
        Input("upload-tick", "n_intervals"),
        search,
        prevent_initial_call=True,
    )
    def follow(_: int | None, search: str | None) -> Shown:
        return followed(store, _token(search), _kept(search))

    @app.callback(
        panel,
        ended,
        Input("upload-load", "n_clicks"),
        search,
        prevent_initial_call=True,
    )
    def load(clicks: int | None, search: str | None) -> Shown:
        if not clicks:
            return _unchanged()
        return loaded(store, writing, _token(search), _kept(search))

    @app.callback(
        panel,
        ended,
        Input("upload-again", "n_clicks"),
        State("upload-map", "value"),
        search,
        prevent_initial_call=True,
    )
    def again(clicks: int | None, chosen: str | None, search: str | None) -> Shown:
        if not clicks:
            return _unchanged()
        return tried_again(
            store, writing, _token(search), chosen or None, _kept(search)
        )


def work(
    store: Store, writing: Writing, token: str, map_sha256: str
) -> list[Component | None]:
    """Return the upload's section and that of the site maps."""
    if not writing.off_because:
        sweep(store, datetime.now(UTC))
    return [
        _upload_section(store, writing, token, map_sha256),
        at("maps", maps_section(store, writing, token, map_sha256)),
    ]


def followed(store: Store, token: str, kept_map: str = "") -> Shown:
    """Return what an upload came to, and that it need not be asked for any more.

    `kept_map`: the SHA-256 of the site map that was kept last, as the address has it.
    """
    upload = seen(store, token)
    if upload is not None and upload.step in RUNNING:
        return _unchanged()
    return _shown(store, upload, kept_map), True


def loaded(store: Store, writing: Writing, token: str, kept_map: str = "") -> Shown:
    """Begin to load an upload that was tried; pressed again, nothing happens."""
    return _begun(store, writing, token, start_loading, kept_map)


def tried_again(
    store: Store,
    writing: Writing,
    token: str,
    map_sha256: str | None,
    kept_map: str = "",
) -> Shown:
    """Begin to try an upload with another site map (None: the one that fits)."""

    def start(of: Store, one: Upload) -> Upload:
        return start_trying(of, one, map_sha256)

    return _begun(store, writing, token, start, kept_map)


def _begun(
    store: Store, writing: Writing, token: str, start: Any, kept_map: str
) -> Shown:
    upload = seen(store, token)
    refused = writing.refusal(store) if has_request_context() else writing.off_because
    problem = refused or ""
    if upload is not None and not refused:
        try:
            upload = start(store, upload)
        except FirmsetError as error:
            problem = str(error)
    is_over = upload is None or upload.step not in RUNNING
    return [
        notice([problem] if problem else []),
        *_shown(store, upload, kept_map),
    ], is_over


def _upload_section(
    store: Store, writing: Writing, token: str, kept_map: str
) -> html.Section:
    upload = seen(store, token) if token else None
    body: list[Any] = []
    if writing.off_because:
        body.append(_off(writing))
    else:
        body.append(
            file_form(
                UPLOADS,
                name="log",
                label="Log, corrected rows or sheet of master data",
                button="Try it",
                most=MOST_BYTES,
                accept=FORMATS,
                then="upload-panel",
            )
        )
    body.append(_empty_lists())
    shown = _shown(store, upload, kept_map) if upload or token else []
    body.append(
        html.Div(shown, id="upload-panel", tabIndex="-1", **aria(live="polite"))
    )
    is_over = upload is None or upload.step not in RUNNING
    body.append(dcc.Interval(id="upload-tick", interval=TICK_MS, disabled=is_over))
    return section(
        "Send a file",
        "CSV, .xlsx, JSON or Parquet, also packed with gzip, of at most "
        f"{MOST_BYTES // 1024**2} MB. It is tried first: you see its receipt, what is "
        "asked about it and a rejected row of each reason, and nothing is written "
        "until you have it loaded. It is kept for an hour at most.",
        *body,
    )


def _empty_lists() -> html.P:
    """Return the log and the sheets of master data without rows, to be filled in."""
    called = {sheet.name: sheet.content for sheet in registry.SHEETS}
    listed: list[html.A | str] = []
    for name in NAMES:
        workbook, text = (f"{SHEETS}/{name}.{kind}" for kind in ("xlsx", "csv"))
        what = called.get(name, "a log, for a site that keeps none yet")
        listed += [
            html.A(what, href=workbook, download=""),
            " (",
            html.A("CSV", href=text, download="", **aria(label=f"CSV, {what}")),
            "), ",
        ]
    return html.P(
        [
            "Empty workbooks to fill in, which say what each column is: ",
            *listed[:-1],
            ").",
        ],
        className="says",
    )


def _off(writing: Writing) -> html.P:
    return html.P(
        f"This server takes no files: {writing.off_because}. Load them in the terminal "
        "with firmset load FILE.",
        className="caution",
    )


def _shown(
    store: Store, upload: Upload | None, kept_map: str
) -> list[Component | None]:
    if upload is None:
        return [
            notice(["No such upload; a file is kept for an hour. Send it once more."])
        ]
    in_force = [one for one in maps_of(store) if one.in_force]
    return outcome_of(upload, in_force, kept_map)


def _token(search: str | None) -> str:
    return asked(parse_view(search or "", NO_CHOICES), "upload")


def _kept(search: str | None) -> str:
    return asked(parse_view(search or "", NO_CHOICES), "map")


def _unchanged() -> Shown:
    return no_update, no_update
