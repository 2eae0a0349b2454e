"""The line above every page: which edition it shows, and in which units."""

from dash import html
from dash.development.base_component import Component

from dashboard import words
from dashboard.parts import Child, aria, link, page
from dashboard.wish import INCH, METRIC, other_address, wish
from queries.readers.edition import Edition

UNIT_NAMES = {METRIC: "mm, Nm", INCH: "in, ft·lbf"}


def standing_line(
    edition: Edition, newest: int | None, pathname: str, search: str
) -> html.Div:
    """Return the line of an address; `newest`: the number of the newest edition.

    A pinned edition is said to be pinned, with the way back to the newest.
    """
    return html.Div(
        [
            html.P(_edition(edition, newest, pathname, search)),
            html.P(["Units ", *_units(pathname, search)], className="units"),
        ],
        className="standing" + ("" if wish().edition_id is None else " pinned"),
        role="group",
        **aria(label="Edition and units"),
    )


def not_kept(reason: str, newest: int | None, pathname: str, search: str) -> html.Div:
    """Return the page of a pinned edition that is not there: words, and the way on."""
    number = wish().edition_id
    return page(
        f"Edition {number}",
        words.sentence(reason),
        "Its figures are not shown from another edition in its place.",
        html.P(_newest(newest, pathname, search)),
    )


def _edition(
    edition: Edition, newest: int | None, pathname: str, search: str
) -> list[Child]:
    said = f"Edition {edition.edition_id} of {words.instant(edition.published_at)}"
    if wish().edition_id is None:
        pin = other_address(pathname, search, edition=str(edition.edition_id))
        shown = link("Pin this edition", pin, **{"data-pin": ""})
        return [f"{said}. ", shown]
    if newest == edition.edition_id:
        return [
            html.Strong(f"{said}, pinned"),
            "; it is the newest. ",
            link("Unpin", other_address(pathname, search, edition=None)),
        ]
    return [
        html.Strong(f"{said}, pinned"),
        f"; the newest is {newest}. " if newest else ". ",
        _newest(newest, pathname, search),
    ]


def _newest(newest: int | None, pathname: str, search: str) -> Component:
    text = "Show the newest edition" + (f", {newest}" if newest else "")
    return link(text, other_address(pathname, search, edition=None))


def _units(pathname: str, search: str) -> list[Child]:
    shown: list[Child] = []
    for units, name in UNIT_NAMES.items():
        is_chosen = units == wish().units
        shown.append(
            link(
                name,
                other_address(
                    pathname, search, units=None if units == METRIC else units
                ),
                **(aria(current="true") if is_chosen else {}),
            )
        )
        shown.append(" ")
    return shown[:-1]
