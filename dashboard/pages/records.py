"""Records: a search among all installations, or one record."""

from collections.abc import Mapping

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search, record_href, records_href
from dashboard.kept import kept
from dashboard.later import later
from dashboard.pages import record
from dashboard.pages.common import count_column, site_column, site_names
from dashboard.pages.records_form import search_form
from dashboard.parts import (
    Cell,
    Column,
    Row,
    aria,
    csv_link,
    file_link,
    link,
    notice,
    page,
    section,
    table,
)
from dashboard.records_asked import (
    DEFAULT_VERDICT,
    RecordsQuestion,
    has_place,
    read_asked_page,
    read_records_question,
    with_place,
)
from dashboard.records_words import asked_words, found_words
from dashboard.units import in_reader_units
from dashboard.workbook import MOST_ROWS
from queries.readers.choices import Choices
from queries.readers.record_page import ORDERS, RecordPage
from queries.readers.records import RATIO_CAUTION, read_nonconforming_by_ratio


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the list of one search, or the record that the address names."""
    if view.record_id:
        return record.render(con, view, choices)
    question = read_records_question(view)
    found, days, reason = read_asked_page(con, question)
    names = site_names(choices)
    search = question.search
    order = ORDERS[0] if reason else question.order
    scope = words.scope(view.selection, choices.first_on, choices.last_on, names)
    problems = [*question.problems, *([reason] if reason else [])]
    return page(
        "Records",
        found_words(search, days.total, order),
        f"{scope} · {asked_words(search)}",
        search_form(question),
        notice(problems),
        _list(found, days.total, question, view, names)
        if days.total
        else html.P(_what_to_try(question), className="says"),
        later(con, "records by ratio", view)
        if days.total and _is_plain(question)
        else None,
    )


def _is_plain(question: RecordsQuestion) -> bool:
    """Say whether only the filter bar chooses: what the counts by ratio know of."""
    search = question.search
    beside = (search.outcome, search.record_id, search.begins, search.wrench_code)
    return search.verdict == DEFAULT_VERDICT and all(each is None for each in beside)


def _what_to_try(question: RecordsQuestion) -> str:
    search = question.search
    if search.record_id is not None or search.begins is not None:
        return (
            "A number is searched as its site wrote it, capitals and small letters "
            "apart. Try its beginning, or another verdict: only records of the verdict "
            "asked for are listed. Where nothing is chosen that is any for a number in "
            "full, and else nonconforming."
        )
    return "Try other dates, fewer filters above, or another verdict."


def _list(
    found: RecordPage,
    total: int,
    question: RecordsQuestion,
    view: View,
    names: Mapping[str, str],
) -> html.Section:
    pages = _pages(found, view)
    if found.rows.is_empty():
        return section("Records", "Here the list is at its end.", pages)
    files = format_search(view.selection, asked=with_place(view))
    return section(
        "Records",
        f"{words.count(found.rows.height)} of {words.count(total)}, an exact count. "
        f"{RATIO_CAUTION}",
        pages,
        table(
            found.rows.to_dicts(),
            _columns(question, view, dict(names)),
            caption="Records that match",
            look="records",
        ),
        pages,
        html.Div(
            [
                csv_link(
                    "/csv/records" + files, f"all {words.plural(total, 'record')}"
                ),
                _workbook_link("/xlsx/records" + files, total),
                html.Span(
                    "All rows of this search with every logged column, newest first, "
                    "and the file, row and edition each comes from.",
                    className="scope",
                ),
            ],
            className="behind",
        ),
    )


def _workbook_link(href: str, total: int) -> html.A | html.Span:
    if total > MOST_ROWS:
        return html.Span(
            f"A worksheet holds {words.count(MOST_ROWS)} records: take the CSV.",
            className="scope",
        )
    return file_link("XLSX", href, f"all {words.plural(total, 'record')}")


def _columns(
    question: RecordsQuestion, view: View, names: dict[str, str]
) -> list[Column]:
    def record_cell(row: Row) -> Cell:
        href = record_href(
            row["site_code"], row["record_id"], view.selection, view.asked
        )
        outcome = row["outcome"] or ""
        return Cell(
            row["record_id"], small="" if outcome == "set" else outcome, href=href
        )

    return [
        Column("Record", record_cell),
        site_column(names),
        Column("Installed", lambda row: words.day(row["installed_on"])),
        Column("Crew", lambda row: row["crew_code"]),
        Column("Size", lambda row: row["anchor_size"]),
        *_verdict_columns(question),
        Column(
            "Nonconforming on",
            lambda row: ", ".join(map(words.title, row["nonconforming_checks"])),
            is_prose=True,
        ),
        Column(
            "Cone ratio",
            lambda row: words.cone_percent(row["cone_ratio"]),
            is_number=True,
        ),
        Column("Setting data", lambda row: row["setting_code"]),
        Column("File", lambda row: row["file_name"]),
        Column("Row", lambda row: str(row["source_row"]), is_number=True),
    ]


def _verdict_columns(question: RecordsQuestion) -> list[Column]:
    """Return the margin of the only check named, with its verdict where it varies."""
    check = question.search.one_check
    if check is None:
        return []

    def margin(row: Row) -> Cell:
        shown = words.signed(row["margin"], row["margin_unit"] or "")
        said = in_reader_units(row["words"] or "", row["margin_unit"])
        return Cell(f"{shown} {row['direction'] or ''}".strip(), full=said)

    verdict = Column(
        words.title(check),
        lambda row: Cell(row["verdict"], look=f"verdict {row['verdict']}"),
    )
    shown = [verdict] if question.search.verdict is None else []
    return [*shown, Column(f"Margin, {words.title(check)}", margin, is_number=True)]


def _pages(found: RecordPage, view: View) -> html.Nav | None:
    """Return links to the pages beside this one; each says from which record on."""
    links = []
    if found.previous or (found.rows.is_empty() and has_place(view)):
        links.append(link("First", records_href(view.selection, with_place(view))))
    for word, name, key in (
        ("Previous", "before", found.previous),
        ("Next", "after", found.next),
    ):
        if key:
            asked = with_place(view, name, key)
            links.append(link(word, records_href(view.selection, asked)))
    return (
        html.Nav(links, className="pager", **aria(label="Pages of the list"))
        if links
        else None
    )


def ratio_section(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return the nonconforming anchors of a selection by indicative ratio."""
    names = site_names(choices)
    # A look at every nonconforming anchor: kept, as long as the edition.
    frame = kept(
        con,
        ("by ratio", view.selection),
        lambda: read_nonconforming_by_ratio(con, view.selection),
    )

    return section(
        "Nonconforming anchors by indicative ratio",
        "Each anchor once, however many checks it fails. " + RATIO_CAUTION,
        table(
            frame.to_dicts(),
            [
                Column("Site", lambda row: str(names.get(row["site"], row["site"]))),
                count_column("Nonconforming anchors", "nonconforming"),
                count_column("Below 70 %", "below_070"),
                count_column("70 to under 85 %", "below_085"),
                count_column("85 to under 100 %", "below_1"),
                count_column("Nothing lost", "nothing_lost"),
                count_column("Not known", "not_known"),
                Column(
                    "Lowest",
                    lambda row: words.cone_percent(row["lowest"]),
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
