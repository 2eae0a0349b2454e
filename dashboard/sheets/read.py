"""Read everything that a sheet says, for the page and the terminal alike."""

from dataclasses import replace
from datetime import UTC
from typing import Any

import duckdb

from dashboard import words
from dashboard.kept import read_kept_found_out
from dashboard.sheets.content import Part, Sheet, file_name, shortened
from dashboard.sheets.crew import (
    crew_cautions,
    crew_lead,
    crew_parts,
    read_crew_retraining,
)
from dashboard.sheets.figures import check_line, counted_words, read_figures
from dashboard.sheets.site import site_cautions, site_lead, site_parts
from dashboard.unit_words import unit_lines
from dashboard.wrench_words import found_out_lines
from queries.readers.choices import Choices
from queries.readers.edition import read_edition
from queries.readers.rates import require_known
from queries.readers.sheet_figures import read_span
from queries.selection import Selection

KINDS = ("site", "crew")
KEY = (
    "Rate: nonconforming of judged, with its 95 % interval. Others: all other {kind}s "
    "together. Missing: checks due without an answer. Range of truth: the rate if all "
    "missing answers conformed, to the rate if none did. Drawn: interval (thick), "
    "range of truth (thin; an arrow where it leaves the scale), the others' rate "
    "(upright); the scale is stretched near 0."
)
AGAINST = (
    "For its own mix of sizes, methods and orientations: "
    "\N{BLACK UP-POINTING TRIANGLE} nonconforming so many times as often as expected "
    "at the others' rates, beyond chance; else the true rate from which on that would "
    "have been seen 8 times of 10."
)


def read_sheet(
    con: duckdb.DuckDBPyConnection,
    kind: str,
    code: str,
    selection: Selection,
    choices: Choices,
) -> Sheet:
    """Return the sheet of one site or crew (`kind`), named by its code.

    Dates, sizes and the filter of the other kind hold; the checks of the selection
    choose nothing: a sheet has all. Raises FirmsetError for another kind.
    """
    require_known("sheet", [kind], KINDS)
    own: dict[str, Any] = {f"{kind}_codes": (code,), "check_names": ()}
    asked = replace(selection, **own)
    names = {name: shortened(said) for name, said in choices.sites}
    figures, any_check = read_figures(con, kind, code, asked)
    name, lead, parts, cautions = _said(con, kind, code, asked, names, figures)
    edition = read_edition(con)
    published_at = edition.published_at.astimezone(UTC)
    return Sheet(
        kind=f"{kind.capitalize()} sheet",
        name=name,
        scope=_scope(con, asked, names),
        edition=(
            f"Edition {edition.edition_id} of the data, published "
            f"{words.instant(published_at)}"
        ),
        lead=" ".join([*_of_units(con, kind, code, asked, names), lead]),
        counted=" ".join(
            [
                counted_words(any_check),
                *found_out_lines(read_kept_found_out(con, asked), names),
            ]
        ).strip(),
        checks=tuple(check_line(each) for each in figures),
        key=f"{KEY.format(kind=kind)} {AGAINST}",
        parts_before=parts[0],
        parts_after=parts[1],
        cautions=cautions,
        file_name=file_name(kind, code, asked, edition.edition_id),
        published_at=published_at,
    )


_Said = tuple[str, str, tuple[tuple[Part, ...], tuple[Part, ...]], tuple[str, ...]]


def _said(
    con: duckdb.DuckDBPyConnection,
    kind: str,
    code: str,
    asked: Selection,
    names: dict[str, str],
    figures: Any,
) -> _Said:
    """Return the name, the lead, the parts and the cautions of a sheet."""
    if kind == "site":
        name = names.get(code, code)
        return (
            name if name == code else f"{name} ({shortened(code)})",
            site_lead(name, figures),
            site_parts(con, name, figures, asked),
            site_cautions(figures),
        )
    name = f"Crew {shortened(code)}"
    found = read_crew_retraining(con, code, asked)
    return (
        name,
        crew_lead(name, figures, found),
        crew_parts(con, code, figures, found, asked),
        crew_cautions(),
    )


def _of_units(
    con: duckdb.DuckDBPyConnection,
    kind: str,
    code: str,
    asked: Selection,
    names: dict[str, str],
) -> list[str]:
    """Return what is to be asked about units first: at the site, or of the crew."""
    lines = unit_lines(con, asked, names)
    return [line for line in lines if kind == "site" or f" of crew {code} " in line]


def _scope(
    con: duckdb.DuckDBPyConnection, asked: Selection, names: dict[str, str]
) -> str:
    """Return the days with installations and the filters, in words."""
    short = replace(asked, crew_codes=tuple(map(shortened, asked.crew_codes)))
    span = read_span(con, asked)
    if span is not None:
        return words.scope(short, *span, names)
    days = [
        *([f"from {asked.from_on}"] if asked.from_on else []),
        *([f"up to {asked.to_on}"] if asked.to_on else []),
    ]
    return " ".join(["No installation is logged", *days, "with these filters"])
