"""One record, down to its file and row."""

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, records_href
from dashboard.pages.common import site_names
from dashboard.pages.quantities import (
    REQUIRED_FOR,
    column_title,
    shown_requirement,
    shown_value,
)
from dashboard.parts import Cell, Column, Row, facts, link, page, section, table
from queries.columns import LOGGED_COLUMNS
from queries.columns import Column as LoggedColumn
from queries.readers.choices import Choices
from queries.readers.records import Record, read_record

VERDICT_MARKS = {
    "conforming": "\N{CHECK MARK}",
    "nonconforming": "\N{BLACK UP-POINTING TRIANGLE}",
    "unrecorded": "?",
    "unreadable": "?",
    "inapplicable": "\N{EN DASH}",
}


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the record that the address names, or say that there is none."""
    site_code, record_id = view.site_code or "", view.record_id or ""
    found = read_record(con, site_code, record_id)
    back = link("Back to the list", records_href(view.selection), className="back")
    if found is None:
        return page(
            "Record not found",
            f"This store has no record “{record_id[:80]}” of site “{site_code[:80]}”.",
            None,
            back,
        )
    site = site_names(choices).get(site_code, site_code)
    return page(
        f"Record {record_id}",
        _lead(found, site),
        None,
        back,
        _verdicts(found),
        _logged(found),
        _faults(found),
        _origin(found),
    )


def _lead(found: Record, site: str) -> str:
    rows = found.verdicts.to_dicts()
    outside = [words.title(row["check"]) for row in rows if _is(row, "nonconforming")]
    open_checks = [
        words.title(row["check"])
        for row in rows
        if row["verdict"] in ("unrecorded", "unreadable")
    ]
    said = [_who(found, site)]
    if found.logged["outcome"] == "abandoned":
        said.append("an abandoned attempt, not judged.")
    elif outside:
        said.append(f"nonconforming on {words.and_list(outside).lower()}.")
    else:
        said.append("no recorded check is nonconforming.")
    if open_checks:
        said.append(f"Not known: {words.and_list(open_checks).lower()}.")
    return " ".join(said)


def _who(found: Record, site: str) -> str:
    logged = found.logged
    return (
        f"{site}, {logged['installed_on']}, crew {logged['crew_code']}, "
        f"{found.required['anchor_size']}:"
    )


def _is(row: Row, verdict: str) -> bool:
    return bool(row["verdict"] == verdict)


def _verdicts(found: Record) -> html.Section:
    def verdict(row: Row) -> Cell:
        word = row["verdict"]
        return Cell(f"{VERDICT_MARKS.get(word, '')} {word}", look=f"verdict {word}")

    return section(
        "Verdicts",
        "The margin is how far inside (+) or outside (\N{MINUS SIGN}) the limit.",
        table(
            found.verdicts.to_dicts(),
            [
                Column("Check", lambda row: words.title(row["check"])),
                Column("Verdict", verdict),
                Column("In words", lambda row: row["words"] or "", is_prose=True),
                Column(
                    "Margin",
                    lambda row: words.signed(row["margin"], row["unit"]),
                    is_number=True,
                ),
                Column("Direction", lambda row: row["direction"] or ""),
            ],
            caption="Verdict of each check",
        ),
    )


def _logged(found: Record) -> html.Section:
    """What the setting data have a word on, then whatever else was logged."""
    beside = [column for column in LOGGED_COLUMNS if column.name in REQUIRED_FOR]
    others = [
        column
        for column in LOGGED_COLUMNS
        if column not in beside and found.logged[column.name] is not None
    ]

    def logged(column: LoggedColumn) -> str:
        return shown_value(column, found.logged[column.name])

    def required(column: LoggedColumn) -> str:
        return shown_requirement(column, found.required.get(REQUIRED_FOR[column.name]))

    return section(
        "Logged beside required",
        f"Setting data {found.required['setting_code']} "
        f"({found.required['document']}). Spacing and edge distance are judged as a "
        "pair, torque by its band; a dash is what the log left blank.",
        html.Div(
            [
                table(
                    [
                        {
                            "name": column_title(column),
                            "logged": logged(column),
                            "required": required(column),
                        }
                        for column in beside
                    ],
                    [
                        Column("Quantity", lambda row: row["name"]),
                        Column("Logged", lambda row: row["logged"], is_number=True),
                        Column(
                            "Setting data", lambda row: row["required"], is_number=True
                        ),
                    ],
                    caption="Logged beside required",
                ),
                table(
                    [
                        {"name": column_title(column), "logged": logged(column)}
                        for column in others
                    ],
                    [
                        Column("Also logged", lambda row: row["name"]),
                        Column("Value", lambda row: row["logged"], is_prose=True),
                    ],
                    caption="Whatever else was logged",
                ),
            ],
            className="side-by-side",
        ),
    )


def _faults(found: Record) -> html.Section | None:
    if found.faults.is_empty():
        return None
    return section(
        "Values that could not be read",
        "The row was kept; these values were not.",
        table(
            found.faults.to_dicts(),
            [
                Column("Column", lambda row: row["column_name"]),
                Column("As written", lambda row: row["raw_value"]),
                Column("Why", lambda row: row["reason"], is_prose=True),
            ],
            caption="Unreadable values",
        ),
    )


def _origin(found: Record) -> html.Section:
    return section(
        "Where it comes from",
        [
            f"Row {found.source_row} of ",
            html.Code(found.file_name),
            f", loaded {words.instant(found.loaded_at)}.",
        ],
        table(
            found.revisions.to_dicts(),
            [
                Column("Revision", lambda row: str(row["revision"])),
                Column(
                    "In force", lambda row: "yes" if row["is_current"] else "superseded"
                ),
                Column("File", lambda row: row["file_name"]),
                Column("Row", lambda row: str(row["source_row"]), is_number=True),
                Column("Loaded", lambda row: words.instant(row["loaded_at"])),
            ],
            caption="Revisions of this record",
        )
        if found.revisions.height > 1
        else facts([("Revision", str(found.logged["revision"]))]),
    )
