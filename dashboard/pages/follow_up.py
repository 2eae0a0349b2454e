"""The nonconforming anchors to look at first, as a section of Sites."""

from dataclasses import replace

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search, record_href, records_href
from dashboard.kept import kept
from dashboard.pages.common import site_column, site_names
from dashboard.parts import Cell, Column, Row, csv_link, link, section, table
from queries.readers.choices import Choices
from queries.readers.follow_up import read_lowest_ratios
from queries.readers.records import RATIO_CAUTION

HEADING = "Anchors to look at first"
LONGEST = 10


def follow_up_section(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return the anchors of lowest indicative ratio, whatever check is chosen."""
    selection = replace(view.selection, check_names=())
    found = kept(
        con,
        ("lowest ratios", selection),
        lambda: read_lowest_ratios(con, selection, LONGEST),
    )
    if found.is_empty():
        return section(
            HEADING,
            "No nonconforming anchor of these filters has lost any of its indicative "
            "cone, as far as the logs tell. That says nothing of what was not logged.",
        )

    def record(row: Row) -> Cell:
        href = record_href(row["site_code"], row["record_id"], view.selection)
        return Cell(row["record_id"], href=href)

    def checks(row: Row) -> str:
        return ", ".join(words.title(name) for name in row["nonconforming_checks"])

    return section(
        HEADING,
        f"The {words.plural(len(found), 'nonconforming anchor')} of lowest indicative "
        f"ratio, on any check. {RATIO_CAUTION} Open until a revision of the record "
        "says otherwise: the logs tell of nothing else that was put right.",
        table(
            found.to_dicts(),
            [
                Column("Record", record),
                site_column(site_names(choices)),
                Column("Installed", lambda row: words.day(row["installed_on"])),
                Column("Crew", lambda row: row["crew_code"]),
                Column("Size", lambda row: row["anchor_size"]),
                Column("Nonconforming on", checks, is_prose=True),
                Column(
                    "Indicative cone ratio",
                    lambda row: words.cone_percent(row["cone_ratio"]),
                    is_number=True,
                ),
                Column("File", lambda row: row["file_name"]),
                Column("Row", lambda row: str(row["source_row"]), is_number=True),
            ],
            caption=HEADING,
            look="cards",
        ),
        html.P(link("All of them on Records", records_href(selection))),
        csv_link("/csv/records" + format_search(selection), "nonconforming anchors"),
    )
