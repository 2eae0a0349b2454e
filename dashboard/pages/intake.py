"""Intake: what every site sent, and what could not be taken."""

from collections.abc import Mapping
from typing import Any

import duckdb
import polars as pl
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.pages.common import count_column, site_column, site_names
from dashboard.pages.last_sent import last_sent
from dashboard.parts import Cell, Column, at, contents, csv_link, page, section, table
from dashboard.shared_wrench_words import shared_wrench_lines
from dashboard.uploads.work import work_place
from queries.readers.choices import Choices
from queries.readers.intake import read_receipts, read_rejects
from queries.readers.shared_wrenches import read_shared_wrenches

REJECTS_SHOWN = 100
_CONTENTS = (
    ("last-sent", "When each site last sent"),
    ("send", "Send a file"),
    ("maps", "Site maps"),
    ("receipts", "Receipts"),
    ("rejects", "Rejected rows"),
)


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the page; it shows everything, whatever the filters say."""
    names = site_names(choices)
    receipts = read_receipts(con)
    return page(
        "Intake",
        [_lead(receipts), *shared_wrench_lines(read_shared_wrenches(con), names)],
        "All sites and dates: the filters do not apply here.",
        contents(_CONTENTS),
        at("last-sent", last_sent(con)),
        at("send", work_place(view)),
        at("receipts", _receipts(receipts, names)),
        at("rejects", lambda: _rejects(read_rejects(con), names)),
    )


FATES = ("loaded", "revised", "duplicate", "rejected")


def _lead(receipts: pl.DataFrame) -> str:
    # Rows of a company's log that are of no site have a receipt too.
    is_log = pl.col("content") == "installations"
    logs = receipts.filter(is_log & pl.col("unloaded_at").is_null())
    if logs.is_empty():
        return "No installation log has been loaded yet."
    sums = logs.select(pl.col("rows_read", *FATES, "field_faults").sum()).row(
        0, named=True
    )
    fates = words.and_list([f"{words.count(sums[fate])} {fate}" for fate in FATES])
    return (
        f"{words.plural(logs.height, 'log')} from "
        f"{words.plural(logs['site_code'].drop_nulls().n_unique(), 'site')}: "
        f"{words.plural(sums['rows_read'], 'row')} read = {fates}. "
        f"{_values_words(sums['field_faults'])}"
    )


def _values_words(faults: int) -> str:
    if not faults:
        return "Every value in the rows that were kept could be read."
    whose = "the check it belongs to counts" if faults == 1 else "their checks count"
    return (
        f"{words.plural(faults, 'value')} in rows that were kept could not be read; "
        f"{whose} as unreadable."
    )


def _receipts(receipts: pl.DataFrame, names: dict[str, str]) -> html.Section:
    return section(
        "Receipts",
        "One a file or sheet, newest first. Rows read = loaded + revised + duplicate + "
        "rejected, always: the ledger refuses a receipt that does not add up.",
        table(
            receipts.to_dicts(),
            [
                count_column("Receipt", "source_file_id"),
                Column("File", lambda row: row["file_name"]),
                Column("Content", lambda row: str(row["content"]).replace("_", " ")),
                site_column(names),
                Column("Loaded at", lambda row: words.instant(row["loaded_at"])),
                count_column("Rows read", "rows_read"),
                count_column("= loaded", "loaded"),
                count_column("+ revised", "revised"),
                count_column("+ duplicate", "duplicate"),
                count_column("+ rejected", "rejected"),
                count_column("Unreadable values", "field_faults"),
                Column("Remarks", _remarks, is_prose=True),
            ],
            caption="Receipts of all files",
            look="tall",
        ),
        csv_link("/csv/receipts" + format_search(), "receipts"),
    )


def _remarks(row: Mapping[str, Any]) -> str:
    remarks = list(row["remarks"])
    if row["unloaded_at"] is not None:
        remarks.append(f"taken back {words.instant(row['unloaded_at'])}")
    return "; ".join(remarks)


def _rejects(rejects: pl.DataFrame, names: dict[str, str]) -> html.Section:
    if rejects.is_empty():
        return section("Rejected rows", "No rejected row is open.")
    shown = rejects.head(REJECTS_SHOWN)
    more = (
        f" The first {len(shown)} are shown; the CSV has all."
        if len(rejects) > len(shown)
        else ""
    )
    return section(
        "Rejected rows",
        f"{words.plural(len(rejects), 'row')} could not be taken. Nothing is dropped "
        "silently; each is kept as it was written. Correct them in the CSV and send "
        f"that above: what can then be taken leaves this list.{more}",
        _reasons(rejects, names),
        html.A(
            "Rejected rows as CSV, to be corrected and sent again",
            href="/csv/rejects" + format_search(),
            download="",
            className="csv",
        ),
        table(
            shown.to_dicts(),
            [
                Column("File", lambda row: row["file_name"]),
                Column("Row", lambda row: str(row["source_row"]), is_number=True),
                site_column(names),
                Column("Reason", lambda row: row["reason"], is_prose=True),
                Column(
                    "As written",
                    lambda row: Cell(
                        _short(row["raw_text"]), look="code", full=row["raw_text"]
                    ),
                ),
            ],
            caption="Rejected rows with reasons",
            look="tall",
        ),
    )


def _reasons(rejects: pl.DataFrame, names: dict[str, str]) -> html.Div:
    """Return how many rows have which reason, and from which sites they are."""
    by_reason = (
        rejects.group_by("reason_code")
        .agg(pl.len().alias("rows"), pl.col("site_code").value_counts(sort=True))
        .sort("rows", "reason_code", descending=[True, False])
    )

    def sites(row: Mapping[str, Any]) -> str:
        listed = sorted(
            row["site_code"], key=lambda one: (-one["count"], one["site_code"] or "")
        )
        return words.and_list(
            [
                f"{names.get(one['site_code'], one['site_code'] or 'no site')} "
                f"({words.count(one['count'])})"
                for one in listed
            ]
        )

    return table(
        by_reason.to_dicts(),
        [
            Column("Reason", lambda row: row["reason_code"].replace("_", " ")),
            Column("Rows", lambda row: words.count(row["rows"]), is_number=True),
            Column("From", sites, is_prose=True),
        ],
        caption="Rejected rows by reason",
    )


def _short(text: str) -> str:
    return text if len(text) <= 160 else text[:159] + "…"
