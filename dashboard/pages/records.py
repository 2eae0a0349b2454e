"""Records: the nonconforming anchors behind a figure, or one record."""

import duckdb
import polars as pl
from dash import html

from dashboard import sentences, words
from dashboard.address import View, format_search, record_href, records_href
from dashboard.kept import kept
from dashboard.pages import record
from dashboard.pages.common import site_column, site_names
from dashboard.parts import Cell, Column, csv_link, page, pager, section, table
from queries.readers.choices import Choices
from queries.readers.records import (
    RATIO_CAUTION,
    read_nonconforming,
    read_nonconforming_by_ratio,
)

PAGE_LENGTH = 50


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the list of one selection, or the record that the address names."""
    if view.record_id:
        return record.render(con, view, choices)
    names = site_names(choices)
    frame, total = read_nonconforming(
        con, view.selection, PAGE_LENGTH, (view.page - 1) * PAGE_LENGTH
    )
    last_page = max(1, -(-total // PAGE_LENGTH))
    number = min(view.page, last_page)
    if number != view.page:
        frame, total = read_nonconforming(
            con, view.selection, PAGE_LENGTH, (number - 1) * PAGE_LENGTH
        )
    scope = words.scope(view.selection, choices.first_on, choices.last_on, names)
    checks = " · " + words.title(view.check_name) if view.selection.check_names else ""
    return page(
        "Records",
        sentences.nonconforming_list(total),
        scope + (checks or " · any check"),
        _list(frame, total, number, last_page, view, names) if total else None,
        (lambda: _by_ratio(con, view, names)) if total else None,
    )


def _list(
    frame: pl.DataFrame,
    total: int,
    number: int,
    last_page: int,
    view: View,
    names: dict[str, str],
) -> html.Section:
    first = (number - 1) * PAGE_LENGTH + 1
    pages = pager(
        number, last_page, lambda to_page: records_href(view.selection, to_page)
    )
    return section(
        "Nonconforming anchors",
        f"{words.count(first)} to {words.count(first + len(frame) - 1)} of "
        f"{words.count(total)}. {RATIO_CAUTION}",
        pages,
        table(
            frame.to_dicts(),
            [
                Column(
                    "Record",
                    lambda row: Cell(
                        row["record_id"],
                        href=record_href(
                            row["site_code"], row["record_id"], view.selection
                        ),
                    ),
                ),
                site_column(names),
                Column("Installed", lambda row: words.day(row["installed_on"])),
                Column("Crew", lambda row: row["crew_code"]),
                Column("Size", lambda row: row["anchor_size"]),
                Column("Setting data", lambda row: row["setting_code"]),
                Column(
                    "Nonconforming on",
                    lambda row: ", ".join(
                        words.title(name) for name in row["nonconforming_checks"]
                    ),
                ),
                Column(
                    "Indicative cone ratio",
                    lambda row: words.known_percent(row["cone_ratio"]),
                    is_number=True,
                ),
                Column("File", lambda row: row["file_name"]),
                Column("Row", lambda row: str(row["source_row"]), is_number=True),
            ],
            caption="Nonconforming anchors, newest first",
        ),
        pages,
        csv_link(
            "/csv/nonconforming" + format_search(view.selection),
            "nonconforming anchors",
        ),
    )


def _by_ratio(
    con: duckdb.DuckDBPyConnection, view: View, names: dict[str, str]
) -> html.Section:
    # A look at every nonconforming anchor: kept, as long as the edition.
    frame = kept(
        con,
        ("by ratio", view.selection),
        lambda: read_nonconforming_by_ratio(con, view.selection),
    )

    def count(head: str, name: str) -> Column:
        return Column(head, lambda row: words.count(row[name]), is_number=True)

    return section(
        "Nonconforming anchors by indicative ratio",
        "Each anchor once, however many checks it fails. " + RATIO_CAUTION,
        table(
            frame.to_dicts(),
            [
                Column("Site", lambda row: str(names.get(row["site"], row["site"]))),
                count("Nonconforming anchors", "nonconforming"),
                count("Below 70 %", "below_070"),
                count("70 to under 85 %", "below_085"),
                count("85 to under 100 %", "below_1"),
                count("Nothing lost", "nothing_lost"),
                count("Not known", "not_known"),
                Column(
                    "Lowest",
                    lambda row: words.known_percent(row["lowest"]),
                    is_number=True,
                ),
            ],
            caption="Nonconforming anchors by indicative ratio, site by site",
        ),
        csv_link(
            "/csv/nonconforming-by-ratio" + format_search(view.selection),
            "nonconforming anchors by indicative ratio",
        ),
    )
