"""The table of a comparison, shared by Sites and Crews."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from dash import html
from dash.development.base_component import Component

from dashboard import words
from dashboard.address import View, format_search, records_href
from dashboard.comparison_words import beside_words, compares, held_words
from dashboard.figures.funnel import funnel
from dashboard.parts import Cell, Column, Row, behind, counter, graph, section, table
from dashboard.tipping_words import plausible_tipping_words
from queries.readers.comparison import Compared

FEWEST_IN_FUNNEL = 3


def compared_section(
    weighed: Compared,
    view: View,
    group: str,
    names: Mapping[str, str] | None = None,
    against: str | None = None,
) -> html.Section:
    """Return each site or crew beside what the others would have made of its mix.

    `against`: the sentence where raw rates read otherwise (counter_headline.py).
    """
    check = words.title(view.check_name)
    named = names or {}
    rows = [
        row
        | {
            "name": named.get(row["group"], row["group"]),
            "href": group_href(view, group, row["group"], view.check_name),
        }
        for row in weighed.groups.to_dicts()
    ]
    return section(
        f"{check}: each {group} for its own mix",
        _columns_explained(group)
        if compares(weighed)
        else f"No other {group} has judged like work, so nothing is expected of any.",
        counter(against),
        *_funnel(rows, group),
        html.P(held_words(weighed, group, names), className="says"),
        behind(
            table(
                rows,
                [
                    Column(group.capitalize(), lambda row: row["name"]),
                    _number(
                        "Nonconforming", lambda row: words.count(row["nonconforming"])
                    ),
                    _number("Expected", _expected),
                    _number("Times expected", _times),
                    _number("q", _q),
                    Column("Flag", _flag),
                    _number("From mix", _points_of("mix_part")),
                    _number("From doing", _points_of("performance_part")),
                    _number("Probable rate", lambda row: _rate(row["eb_rate"])),
                    _number("Place", _place),
                    _number("Could see", lambda row: _rate(row["detectable_rate"])),
                    Column("Plain rate", _tips, is_prose=True),
                ],
                caption=f"{check}, each {group} for its own mix",
                look="tall",
            ),
            f"/csv/{group}-comparison" + format_search(view.one_check),
            what=f"{check.lower()} compared by {group}",
        ),
    )


def _columns_explained(group: str) -> str:
    return (
        f"Expected: nonconforming if the other {group}s' rates held for this "
        f"{group}'s own sizes, methods and orientations. q: chance of a false flag "
        f"among all {group}s flagged at least as clearly. From mix and from doing: the "
        "points between its plain rate and the others', each part at the mean of both "
        "sides (expected is at the others' rates alone, so that the part from mix may "
        "be more than what it shows). Probable rate and place: "
        "once luck is taken into account, at the average mix; places that overlap are "
        "ties. Could see: the true rate that would be flagged 8 times of 10. Plain "
        "rate: what its own missing answers would have to be for it to change sides, "
        "where fewer than all conforming or up to half nonconforming would do."
    )


def _funnel(rows: Sequence[Row], group: str) -> list[Component]:
    """Return the chart and its words; two groups or one have no spread to look at."""
    if sum(row["ratio"] is not None for row in rows) < FEWEST_IN_FUNNEL:
        return []
    says = _funnel_words(rows, group)
    chart = graph(funnel(rows, link="href"), name=f"funnel-{group}", says=says)
    return [chart, html.P(says, className="says")]


def group_href(view: View, group: str, code: str, check_name: str) -> str:
    """Return the address of one site's or crew's nonconforming anchors on a check."""
    own: dict[str, Any] = {f"{group}_codes": (code,), "check_names": (check_name,)}
    return records_href(replace(view.selection, **own))


def _funnel_words(rows: Sequence[Row], group: str) -> str:
    compared = [row for row in rows if row["p_value"] is not None]
    beyond = sum(bool(row["flagged"]) for row in compared)
    unplaced = [row["name"] for row in compared if row["ratio"] is None]
    without = (
        f" Without a place here, as none would be expected: {words.and_list(unplaced)}."
        if unplaced
        else ""
    )
    return (
        f"Each {group} by what is expected of it: where that is little, luck alone "
        f"makes large ratios, so the limits (dotted 95 %, solid {words.plain(99.8)} "
        "%, both with the median allowance for bad days and for the others' own luck) "
        "fan out. "
        f"{beyond} of "
        f"{words.plural(len(compared), group)} {'is' if beyond == 1 else 'are'} out of "
        f"line by its own test, which is what is named.{without}"
    )


def _points_of(name: str) -> Callable[[Row], str]:
    return lambda row: words.points(row[name])


def _number(head: str, cell: Callable[[Row], Cell | str]) -> Column:
    return Column(head, cell, is_number=True)


def _rate(fraction: float | None) -> str:
    return words.DASH if fraction is None else words.percent(fraction)


def _expected(row: Row) -> Cell | str:
    if row["expected"] is None:
        return words.DASH
    return Cell(words.about(row["expected"]), small=beside_words(row))


def _times(row: Row) -> str:
    if row["ratio"] is None:
        return words.DASH
    low, high = row["ratio_low"], row["ratio_high"]
    interval = f"{words.fixed(low, 2)}{words.DASH}{words.fixed(high, 2)}"
    return f"{words.fixed(row['ratio'], 2)} ({interval})"


def _q(row: Row) -> str:
    if row["q_value"] is None:
        return words.DASH
    return (
        f"< {words.fixed(0.001, 3)}"
        if row["q_value"] < 0.001
        else words.fixed(row["q_value"], 3)
    )


def _flag(row: Row) -> str:
    if row["p_value"] is None:
        return "nothing to compare"
    return "\N{BLACK UP-POINTING TRIANGLE} out of line" if row["flagged"] else ""


def _tips(row: Row) -> str:
    return plausible_tipping_words(row) or words.DASH


def _place(row: Row) -> str:
    if row["rank_low"] is None:
        return words.DASH
    if row["rank_low"] == row["rank_high"]:
        return str(row["rank_low"])
    return f"{row['rank_low']}{words.DASH}{row['rank_high']}"
