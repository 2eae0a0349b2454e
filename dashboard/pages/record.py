"""One record, down to its file and row."""

from datetime import datetime

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, records_href
from dashboard.pages.common import site_names
from dashboard.parts import Cell, Column, Row, facts, link, page, section, table
from queries.columns import LOGGED_COLUMNS
from queries.columns import Column as LoggedColumn
from queries.readers.choices import Choices
from queries.readers.records import Record, read_record

# What was logged beside what the setting data ask for, where both have a word.
REQUIRED_FOR = {
    "anchor_type_code": "anchor_type_code",
    "anchor_length_mm": "anchor_length_mm",
    "length_mark": "length_mark",
    "hole_depth_mm": "hole_depth_mm",
    "embedment_mm": "embedment_mm",
    "setting_torque_nm": "setting_torque_nm",
    "edge_1_mm": "min_edge_mm",
    "edge_2_mm": "min_edge_mm",
    "spacing_mm": "min_spacing_mm",
    "brush_count": "brushes_required",
    "blow_count": "blows_required",
    "member_thickness_mm": "min_member_mm",
    "concrete_mpa": "min_concrete_mpa",
    "tilt_deg": "max_tilt_deg",
    "fixture_thickness_mm": "max_fixture_mm",
    "bit_diameter_mm": "drill_diameter_mm",
}
LIMIT_WORDS = {
    "hole_depth_mm": "at least ",
    "embedment_mm": "at least ",
    "edge_1_mm": "at least ",
    "edge_2_mm": "at least ",
    "spacing_mm": "at least ",
    "brush_count": "at least ",
    "blow_count": "at least ",
    "member_thickness_mm": "at least ",
    "concrete_mpa": "at least ",
    "tilt_deg": "at most ",
    "fixture_thickness_mm": "with packing at most ",
}
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
                Column(
                    "Margin",
                    lambda row: words.signed(row["margin"], row["unit"]),
                    is_number=True,
                ),
                Column("Direction", lambda row: row["direction"] or ""),
                Column("In words", lambda row: row["words"] or "", is_prose=True),
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
        return _value(column, found.logged[column.name])

    def required(column: LoggedColumn) -> str:
        return _required(column, found.required.get(REQUIRED_FOR[column.name]))

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
                        Column("", lambda row: row["logged"], is_prose=True),
                    ],
                    caption="Whatever else was logged",
                ),
            ],
            className="side-by-side",
        ),
    )


# Where the column's name alone would not do on a screen.
TITLES = {
    "installed_at": "Installed at",
    "installed_on": "Installed on",
    "recheck_at": "Re-checked at",
    "recheck_torque_nm": "Re-check torque",
    "setting_code": "Setting data",
    "drill_s": "Drilling time",
    "record_id": "Record",
}


def column_title(column: LoggedColumn) -> str:
    """Return a column's name in words: hole_depth_mm is Hole depth."""
    name = column.name
    for ending in ("_mm", "_nm", "_mpa", "_deg", "_code"):
        name = name.removesuffix(ending)
    return TITLES.get(column.name, name.replace("_", " ").capitalize())


def _value(column: LoggedColumn, value: object) -> str:
    if value is None:
        return words.DASH
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return words.instant(value)
    if isinstance(value, int | float) and column.unit:
        return words.quantity(float(value), column.unit, decimals=2)
    return str(value)


def _required(column: LoggedColumn, value: object) -> str:
    if value is None:
        return "not stated"
    return LIMIT_WORDS.get(column.name, "") + _value(column, value)


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
