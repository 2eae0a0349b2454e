"""Cells and columns that several pages share."""

from collections.abc import Callable

from dash import html

from dashboard import words
from dashboard.parts import Cell, Column, Row, aria, link
from dashboard.sentences import MUCH_MISSING
from queries.judgement import RATE_NAMES
from queries.readers.choices import Choices

OUT_OF_LINE = "\N{BLACK UP-POINTING TRIANGLE}"
ONLY_ABOVE = "\N{WHITE UP-POINTING TRIANGLE}"


def site_names(choices: Choices) -> dict[str, str]:
    """Return the name of each site by its code."""
    return dict(choices.sites)


def site_column(names: dict[str, str]) -> Column:
    """Return the column with the site's name, empty where a row has no site."""

    def name(row: Row) -> str:
        code = row["site_code"] or ""
        return names.get(code, code)

    return Column("Site", name)


def count_column(head: str, name: str) -> Column:
    """Return the column of the counts `name` of the rows."""
    return Column(head, lambda row: words.count(row[name]), is_number=True)


def check_links(chosen: str, href: Callable[[str], str]) -> html.Nav:
    """Return the checks as links; the chosen one is marked."""
    return html.Nav(
        [
            link(
                words.title(name),
                href(name),
                **(aria(current="true") if name == chosen else {}),
            )
            for name in RATE_NAMES
        ],
        className="checks",
        **aria(label="Check shown"),
    )


def rate_cell(row: Row | None, *, look: str = "") -> Cell:
    """Return rate and counts of one check; the words where nothing was judged.

    The cell leads to `row["href"]` where there is something to see.
    """
    if row is None or not row["judged"]:
        missing = 0 if row is None else row["unrecorded"] + row["unreadable"]
        small = f"{words.count(missing)} not recorded" if missing else ""
        return Cell(words.NOTHING, small=small, look=look)
    return Cell(
        _mark(row) + words.percent(row["rate"]),
        small=words.share(row["nonconforming"], row["judged"]) + _missing(row),
        href=row["href"] if row["nonconforming"] else "",
        look=look,
    )


def _mark(row: Row) -> str:
    """Mark what is out of line for like work, and what is only above the others."""
    if row.get("flagged"):
        return f"{OUT_OF_LINE}{words.SPACE}"
    return f"{ONLY_ABOVE}{words.SPACE}" if row["position"] == "above" else ""


def _missing(row: Row) -> str:
    """Say so where over a tenth of the answers are missing."""
    missing = row["unrecorded"] + row["unreadable"]
    share = missing / (row["judged"] + missing)
    return f", {100 * share:.0f}{words.SPACE}% missing" if share >= MUCH_MISSING else ""


def counted(row: Row) -> Cell:
    """Return the number of nonconforming anchors, leading to them."""
    number = row["nonconforming"]
    return Cell(words.count(number), href=row["href"] if number else "")


def rate_columns() -> list[Column]:
    """Return the columns of a rate with all that belongs to it; rows have an href."""

    return [
        count_column("Judged", "judged"),
        Column("Nonconforming", counted, is_number=True),
        Column("Rate", lambda row: words.percent(row["rate"]), is_number=True),
        Column(
            "95 % interval",
            lambda row: words.interval(row["low"], row["high"]),
            is_number=True,
        ),
        count_column("Unrecorded", "unrecorded"),
        count_column("Unreadable", "unreadable"),
        Column(
            "Range of truth",
            lambda row: words.interval(
                row["rate_if_unrecorded_conform"], row["rate_if_unrecorded_not"]
            ),
            is_number=True,
        ),
    ]
