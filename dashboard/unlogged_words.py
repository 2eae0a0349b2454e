"""Planned holes without an anchor logged, in sentences for pages, sheets, terminal."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from dashboard import words
from queries.selection import Selection

NONE = (
    "No sheet of planned holes speaks of these filters, so nothing shows what the logs "
    "leave out."
)
CAUTION = (
    "A plan is no proof: it may have been changed, another anchor may have been set, "
    "or a file was never sent. Ask what was set there, and who wrote it down."
)
IN_NO_RATE = "Whatever was set there is in no rate here."


def unlogged_words(
    by_site: pl.DataFrame, names: Mapping[str, str], selection: Selection
) -> list[str]:
    """Return sentences on planned holes by site, as unlogged_by_site gives them.

    `names` are those of the sites by code, `selection` is what was asked for.
    """
    if by_site.is_empty():
        return [NONE]
    [sums] = by_site.select(pl.col(pl.Int64).sum()).to_dicts()
    if not sums["planned"]:
        return _others(sums, "", selection)
    said = [f"Of {_due(sums)}, {_missing(sums)}."]
    if sums["unlogged"]:
        said.append(IN_NO_RATE)
    short = by_site.filter(pl.col("unlogged") > 0)
    if short.height and by_site.height > 1:
        first = short.row(0, named=True)
        name = names.get(first["site_code"], first["site_code"])
        said.append(
            f"Most are {name}'s: {words.percent(first['unlogged_rate'])} "
            f"({words.share(first['unlogged'], first['planned'])})."
        )
    if beyond := int(short["beyond"].sum()):
        of = "that site" if short.height == 1 else "the same sites"
        said.append(
            f"At {of} {words.plural(beyond, 'anchor')} of other setting data "
            f"{_be(beyond)} logged beyond the plan."
        )
    elif beyond := sums["beyond"]:
        said.append(
            f"{words.plural(beyond, 'anchor')} {_be(beyond)} logged beyond the plan."
        )
    said += _others(sums, "more ", selection)
    return [*said, CAUTION] if sums["unlogged"] else said


def much_unlogged_words(row: Mapping[str, Any], name: str) -> str:
    """Return the sentence on a site's row of much_unlogged."""
    return f"{name}: of {_due(row)}, {_missing(row)}. {IN_NO_RATE}"


def _due(sums: Mapping[str, Any]) -> str:
    holes = words.plural(sums["planned"], "hole")
    return f"{holes} planned for days that the log has passed"


def _missing(sums: Mapping[str, Any]) -> str:
    missing, planned = sums["unlogged"], sums["planned"]
    if not missing:
        return "none is without an anchor logged"
    have = "has" if missing == 1 else "have"
    share = words.percent(missing / planned)
    return f"{words.count(missing)} ({share}) {have} no anchor logged"


def _others(sums: Mapping[str, Any], more: str, selection: Selection) -> list[str]:
    """Return sentences on the planned holes that nothing is compared with."""
    said = []
    if sums["ahead"]:
        said.append(_ahead_words(sums["ahead"], more, selection))
    if unknown := sums["unknown"]:
        said.append(
            f"{words.plural(unknown, f'{more}planned hole')} {_be(unknown)} of setting "
            "data that are not loaded."
        )
    return said


def _ahead_words(holes: int, more: str, selection: Selection) -> str:
    its = "its" if holes == 1 else "their"
    cut = (
        ", or only some of them are chosen"
        if selection.from_on or selection.to_on
        else ""
    )
    return (
        f"{words.plural(holes, f'{more}planned hole')} {_be(holes)} not compared: the "
        f"log has not passed the last of {its} days{cut}."
    )


def _be(number: int) -> str:
    return "is" if number == 1 else "are"
