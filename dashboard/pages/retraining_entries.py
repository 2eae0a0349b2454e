"""The entries of the retraining list: as a picture, and as sentences to act on."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dash import html

from dashboard import words
from dashboard.address import records_href, sheet_href
from dashboard.figures.retraining import retraining_figure
from dashboard.parts import Child, Row, graph, key, link
from dashboard.retraining_words import entry_words
from queries.readers.retraining import RetrainingList
from queries.selection import Selection

# One dot alone says nothing that its sentence does not.
FEWEST_PICTURED = 2


def entries_part(
    found: RetrainingList,
    clear: Sequence[Row],
    selection: Selection,
    site_names: Mapping[str, str],
    risen: Sequence[str],
) -> html.Div | None:
    """Return the entries `clear` of chance, the picture and the list of them.

    `risen`: since when each has been so, in words. None where nothing is clear.
    """
    if not clear:
        return None
    linked = [row | {"href": _anchors_href(found, row, selection)} for row in clear]
    listed = html.Ol(
        [
            html.Li(_entry(row, selection, entry_words(row, site_names, since)))
            for row, since in zip(linked, risen, strict=True)
        ]
    )
    return html.Div([_picture(linked), listed], className="beside")


def _picture(rows: Sequence[Row]) -> html.Div | None:
    if len(rows) < FEWEST_PICTURED:
        return None
    says = (
        "Nonconforming anchors that retraining could spare, with their 95 % interval, "
        f"of {words.count(len(rows))} crews and checks in the order of the list."
    )
    return html.Div(
        [
            key(("interval", "could be spared, with its 95 % interval")),
            graph(retraining_figure(rows), name="retraining", says=says),
        ],
        className="picture",
    )


def _entry(row: Row, selection: Selection, sentence: str) -> list[Child]:
    sheet = sheet_href(
        "crew", replace(selection, crew_codes=(row["crew"],), check_names=())
    )
    return [
        sentence,
        html.Div(
            [
                link("Its nonconforming anchors", row["href"]),
                html.A(f"Sheet of crew {row['crew']} (PDF)", href=sheet),
            ],
            className="links",
        ),
    ]


def _anchors_href(found: RetrainingList, row: Row, selection: Selection) -> str:
    """Return the address of the anchors that an entry counts as nonconforming."""
    return records_href(
        replace(
            selection,
            crew_codes=(row["crew"],),
            check_names=(row["check"],),
            from_on=found.from_on,
            to_on=found.to_on,
        )
    )
