"""The sheets for paper at their addresses, with the filters of the page."""

import duckdb
from flask import Flask, Response, request

from dashboard.address import View, parse_view
from dashboard.downloads import UnclearQuestion, plain_words
from dashboard.sheets.content import Sheet
from dashboard.wish import asked_wish, wishing
from queries.errors import FirmsetError
from queries.pinned import EditionNotKept
from queries.readers.choices import Choices, read_choices
from queries.store import Store


def add_sheets(server: Flask, store: Store) -> None:
    """Serve `/pdf/site?sites=CODE` and `/pdf/crew?crews=CODE`, filters besides.

    As with /csv/, an address that is not wholly understood gives 400 and the reason,
    an unknown sheet 404.
    """

    @server.get("/pdf/<kind>")
    def download_sheet(kind: str) -> Response:
        if kind not in ("site", "crew"):
            return plain_words("No such sheet; there are: site, crew.", 404)
        # What draws a sheet is loaded when one is asked for.
        from dashboard.sheets.draw import draw_sheet

        search = request.query_string.decode("latin-1")
        try:
            with (
                wishing(asked_wish(search)) as wanted,
                store.reader(wanted.edition_id) as con,
            ):
                choices = read_choices(con)
                view = parse_view(search, choices)
                problems = [*wanted.problems, *view.problems]
                if problems:
                    return plain_words("\n".join(problems), 400)
                sheet = _read(con, kind, view, choices)
            content = draw_sheet(sheet)
        except UnclearQuestion as error:
            return plain_words(str(error), 400)
        except EditionNotKept as error:
            return plain_words(f"{error}.", 410)
        except FirmsetError as error:
            return plain_words(str(error), 503)
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
