"""What the page Drilling is asked, read from its address; and what is shown of it."""

from dataclasses import dataclass

import duckdb
import polars as pl

from dashboard import words
from dashboard.address import View
from dashboard.kept import kept
from dashboard.units import COMPARED_DECIMALS
from dashboard.whole_number import whole_number
from dashboard.wish import INCH, wish
from queries.errors import FirmsetError
from queries.readers.drilling_model import DrillingData, read_drilling_data
from queries.readers.drilling_options import (
    Comparison,
    compare_embedments,
    read_holes_per_shift,
)
from queries.readers.drilling_support import Asked, Offered, read_offered
from queries.units import INCH_MM

MOST_EMBEDMENTS = 6
MOST_HOLES_PER_SHIFT = 9999


@dataclass(frozen=True)
class Question:
    """What an estimator asks. `given`: what the address says of each, else None.

    `embedments_mm` in order; `site_code` None is a new site, `holes_per_shift` None the
    logs' median. `problems` says in words what was not understood and left out.
    """

    anchor_size: str
    embedments_mm: tuple[float, ...]
    site_code: str | None
    drill_method: str | None
    orientation: str | None
    vibration_m_s2: float | None
    holes_per_shift: int | None
    given: dict[str, str]
    problems: tuple[str, ...]


def drilling_data(con: duckdb.DuckDBPyConnection) -> DrillingData:
    """Return the edition's model and data, read once an edition."""
    return kept(con, "drilling data", lambda: read_drilling_data(con))


def offered_of(con: duckdb.DuckDBPyConnection) -> Offered:
    """Return what the setting data offer, read once an edition."""
    return kept(con, "drilling offered", lambda: read_offered(con))


def read_question(view: View, data: DrillingData, offered: Offered) -> Question:
    """Return what the address asks; what it asks in vain goes into `problems`.

    Without a size it asks of the one that the filters leave, else of the most drilled.
    """
    values = dict(view.asked)
    given = {name: ",".join(items) for name, items in values.items()}
    problems: list[str] = []

    def known(name: str, allowed: list[str]) -> str | None:
        value = given.get(name)
        if value is None or value in allowed:
            return value
        problems.append(
            f"The address asks for {name} “{value[:60]}”; expected one of "
            f"{', '.join(allowed)}. It was left out."
        )
        del given[name]
        return None

    def whole(name: str) -> int | None:
        value = given.get(name)
        number = whole_number(value or "", MOST_HOLES_PER_SHIFT)
        if value is None or number is not None:
            return number
        problems.append(
            f"The address asks for {name} “{value[:60]}”; expected a whole number of "
            f"holes from 1 to {MOST_HOLES_PER_SHIFT}. It was left out."
        )
        del given[name]
        return None

    model = data.model
    sizes = offered.sizes()
    filtered = [size for size in view.selection.anchor_sizes if size in sizes]
    size = known("size", sizes) or (
        filtered[0] if len(filtered) == 1 else _most_drilled(data, sizes)
    )
    numbers = [_embedment_mm(item) for item in values.get("embedment", ())]
    embedments = sorted({number for number in numbers if number is not None})
    if None in numbers or len(embedments) > MOST_EMBEDMENTS:
        problems.append(
            f"Embedments “{given['embedment'][:60]}”: expected up to {MOST_EMBEDMENTS} "
            "numbers of mm, such as 60, 80, or of inches, such as 2.5in. Taken are "
            f"{_taken(embedments)}."
        )
    return Question(
        anchor_size=size,
        embedments_mm=tuple(embedments[:MOST_EMBEDMENTS] or offered.embedments(size)),
        site_code=known("at", list(model.labels.sites) if model else []),
        drill_method=known("method", list(model.terms.methods) if model else []),
        orientation=known(
            "orientation", list(model.terms.orientations) if model else []
        ),
        vibration_m_s2=_number(given.get("vibration", "")),
        holes_per_shift=whole("shift"),
        given=given,
        problems=tuple(problems),
    )


def _taken(embedments: list[float]) -> str:
    """Say which embedments of an address are compared."""
    if not embedments:
        return "those that the setting data offer"
    kept = [words.quantity(mm, "mm") for mm in embedments[:MOST_EMBEDMENTS]]
    return words.and_list(kept)


def logged_per_shift(con: duckdb.DuckDBPyConnection) -> float:
    """Return the median of a crew's holes a day in the logs, read once an edition."""
    return kept(con, "holes per shift", lambda: read_holes_per_shift(con))


def _most_drilled(data: DrillingData, sizes: list[str]) -> str:
    """Return the size with most timed holes, of those with setting data; else any."""
    used = data.depths.group_by("anchor_size").agg(pl.col("used").sum())
    counts = dict(used.iter_rows())
    return max(sizes, key=lambda size: counts.get(size, 0), default="")


def _embedment_mm(text: str) -> float | None:
    """Return an embedment of the address: mm, unless it says 2.5in."""
    is_inch = text.endswith("in")
    number = _number(text.removesuffix("in").removesuffix("mm"))
    if number is None or not is_inch:
        return number
    return round(number * float(INCH_MM), COMPARED_DECIMALS)


def typed_embedments(given: str) -> str:
    """Return the address's embedments as the reader types them (assets/firmset.js).

    A plain number is of the reader's unit; one of the other unit names it, so that the
    length in the address stays exactly what was typed.
    """
    items = [item for item in given.split(",") if item]
    if wish().units == INCH:
        items = [
            item.removesuffix("in") if item.endswith("in") else f"{item}mm"
            for item in items
        ]
    return ", ".join(items)


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if 0 < number < 10_000 else None


def read_options(
    con: duckdb.DuckDBPyConnection, question: Question
) -> Comparison | str:
    """Return the embedments compared, or in words why they cannot be."""
    data, offered = drilling_data(con), offered_of(con)
    per_shift = question.holes_per_shift or logged_per_shift(con)
    asked = [
        Asked(question.anchor_size, mm, question.drill_method, question.orientation)
        for mm in question.embedments_mm
    ]

    def compare() -> Comparison | str:
        try:
            return compare_embedments(
                data,
                offered,
                asked,
                site_code=question.site_code,
                holes_per_shift=per_shift,
                vibration_m_s2=question.vibration_m_s2,
            )
        except FirmsetError as error:
            return str(error)

    places = (question.site_code, question.vibration_m_s2, per_shift)
    return kept(con, ("drilling options", tuple(asked), places), compare)
