"""One record, down to its file and row."""

from datetime import date
from typing import cast

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, records_href
from dashboard.anchor_section import Section, section_of
from dashboard.figures.cross_section import cross_section
from dashboard.pages.common import site_names
from dashboard.pages.quantities import (
    REQUIRED_FOR,
    column_title,
    shown_requirement,
    shown_value,
)
from dashboard.parts import (
    Cell,
    Column,
    Row,
    at,
    contents,
    facts,
    graph,
    key,
    link,
    page,
    section,
    table,
)
from dashboard.units import in_reader_units
from dashboard.wrench_words import record_words
from queries.columns import LOGGED_COLUMNS
from queries.columns import Column as LoggedColumn
from queries.readers.choices import Choices
from queries.readers.records import RATIO_CAUTION, Record, read_record

_CONTENTS = (
    ("cut", "The anchor cut through"),
    ("verdicts", "Verdicts"),
    ("beside", "Beside the verdicts"),
    ("logged", "Logged beside required"),
    ("origin", "Where it comes from"),
)
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
    back = link(
        "Back to the list", records_href(view.selection, view.asked), className="back"
    )
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
        contents(_CONTENTS[1:] if _is_abandoned(found) else _CONTENTS),
        # Of an abandoned attempt no anchor is left to be drawn.
        None if _is_abandoned(found) else at("cut", _drawing(found)),
        at("verdicts", _verdicts(found)),
        at("beside", _beside(found)),
        at("logged", _logged(found)),
        _faults(found),
        at("origin", _origin(found)),
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
    if _is_abandoned(found):
        said.append("an abandoned attempt, not judged.")
    elif outside:
        said.append(f"nonconforming on {words.and_list(outside).lower()}.")
    else:
        said.append("no recorded check is nonconforming.")
    if open_checks:
        said.append(f"Not known: {words.and_list(open_checks).lower()}.")
    if found.found_out is not None:
        said.append("Its wrench was found out of tolerance later.")
    return " ".join(said)


def _is_abandoned(found: Record) -> bool:
    return found.logged["outcome"] == "abandoned"


def _who(found: Record, site: str) -> str:
    logged = found.logged
    on = words.day(cast(date, logged["installed_on"]))
    return f"{site}, {on}, crew {logged['crew_code']}, {found.required['anchor_size']}:"


def _is(row: Row, verdict: str) -> bool:
    return bool(row["verdict"] == verdict)


def _drawing(found: Record) -> html.Section:
    drawn = section_of(found.logged, found.required, found.verdicts)
    says = _drawing_says(drawn)
    return section(
        "The anchor cut through",
        says,
        key(
            ("hammer", "as logged"),
            ("others", "as the setting data ask"),
            ("short", "\N{BLACK UP-POINTING TRIANGLE} too little"),
        ),
        graph(cross_section(drawn), name="cross-section", says=says),
    )


def _drawing_says(drawn: Section) -> str:
    is_mm, asked_mm = drawn.embedment_mm, drawn.required_embedment_mm
    if is_mm is None:
        said = "How deep the anchor sits is not known; it is drawn dotted, as specified"
    else:
        said = (
            "The expansion element ends "
            f"{words.quantity(is_mm, 'mm', beside=(asked_mm,))} below the surface, "
            f"{words.quantity(asked_mm, 'mm', beside=(is_mm,))} required"
        )
    hole = (
        f"the hole is {words.quantity(drawn.hole_mm, 'mm')} deep"
        if drawn.hole_mm is not None
        else "the hole's depth was not logged"
    )
    packing = (
        f" {words.quantity(drawn.packing_mm, 'mm')} of packing count as fixture."
        if drawn.packing_mm
        else ""
    )
    return f"To scale, from the log: {said[0].lower()}{said[1:]}; {hole}.{packing}"


def _beside(found: Record) -> html.Section:
    """What is known beside the verdicts, and judges nothing."""
    pairs: list[tuple[str, str]] = [
        ("Indicative cone ratio", _ratio(found)),
        ("Re-check torque", _recheck(found)),
    ]
    if found.found_out is not None:
        pairs.append(("Torque wrench", record_words(found.found_out)))
    pairs += [
        ("Question to the site", in_reader_units(question))
        for question in found.questions
    ]
    return section("Beside the verdicts", RATIO_CAUTION, facts(pairs))


def _ratio(found: Record) -> str:
    if _is_abandoned(found):
        return "none: an abandoned attempt carries nothing"
    whole = found.ratio["cone_ratio"]
    if whole is None:
        return "not known: neither embedment nor edge was logged"
    parts = [
        f"{name} {words.cone_percent(found.ratio[key])}"
        for name, key in (("embedment", "embedment_ratio"), ("edge", "edge_ratio"))
        if found.ratio[key] is not None
    ]
    return f"{words.cone_percent(whole)} ({', '.join(parts)})"


def _recheck(found: Record) -> str:
    if found.recheck is None:
        return "none logged"
    torque, share, age = (
        found.recheck[name]
        for name in ("recheck_torque_nm", "recheck_share", "age_days")
    )
    whole = (
        "required, as none was logged at setting"
        if found.recheck["is_of_required"]
        else "at setting"
    )
    said = words.quantity(torque, "Nm")
    if share is not None:
        said += f", {words.known_percent(share)} of the torque {whole}"
    if age is not None:
        said += f", {words.quantity(age, 'days')} after it"
    return f"{said}. Preload relaxes: not judged."


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
                    "In words",
                    lambda row: in_reader_units(row["words"] or "", row["unit"]),
                    is_prose=True,
                ),
                Column(
                    "Margin",
                    lambda row: words.signed(row["margin"], row["unit"] or ""),
                    is_number=True,
                ),
                Column("Direction", lambda row: row["direction"] or ""),
            ],
            caption="Verdict of each check",
            look="stacked",
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

    def asked(column: LoggedColumn) -> object:
        return found.required.get(REQUIRED_FOR.get(column.name, ""))

    def logged(column: LoggedColumn) -> str:
        return shown_value(column, found.logged[column.name], asked(column))

    def required(column: LoggedColumn) -> str:
        return shown_requirement(column, asked(column), found.logged[column.name])

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
