"""The sheets for paper at their addresses, with the filters of the page."""

import duckdb
from flask import Flask, Response

from dashboard.address import View
from dashboard.file_answers import (
    UnclearQuestion,
    asked_file,
    or_words,
    plain_words,
)
from dashboard.sheets.content import Sheet
from queries.readers.choices import Choices
from queries.store import Store


def add_sheets(server: Flask, store: Store) -> None:
    """Serve `/pdf/site?sites=CODE` and `/pdf/crew?crews=CODE`, filters besides.

    As with /csv/, an address that is not wholly understood gives 400 and the reason,
    an unknown sheet 404.
    """

    @server.get("/pdf/<kind>")
    @or_words
    def download_sheet(kind: str) -> Response:
        if kind not in ("site", "crew"):
            return plain_words("No such sheet; there are: site, crew.", 404)
        # What draws a sheet is loaded when one is asked for.
        from dashboard.sheets.draw import draw_sheet

        with asked_file(store) as (con, view, choices):
            sheet = _read(con, kind, view, choices)
        content = draw_sheet(sheet)
        return Response(
            content,
            content_type="application/pdf",
            headers={
                "Content-Disposition": f'attachment; filename="{sheet.file_name}"'
            },
        )


def _read(
    con: duckdb.DuckDBPyConnection, kind: str, view: View, choices: Choices
) -> Sheet:
    from dashboard.sheets.read import read_sheet

    chosen = view.selection
    codes = chosen.site_codes if kind == "site" else chosen.crew_codes
    if len(codes) != 1:
        raise UnclearQuestion(f"Expected one {kind}: a sheet is of one.")
    return read_sheet(con, kind, codes[0], chosen, choices)
