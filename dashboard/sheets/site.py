"""The sheet of one site, for the site meeting."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import duckdb
import polars as pl

from dashboard import words
from dashboard.change_words import changed_words, month_name, silence_words
from dashboard.comparison_words import CAUTION as FLAG_CAUTION
from dashboard.comparison_words import against_words
from dashboard.kept import read_kept_changes, read_kept_revised, read_kept_unlogged
from dashboard.mix_words import mix_words
from dashboard.near_zero import near_zero_words, read_near_zero
from dashboard.retraining_words import side_words
from dashboard.revised_words import mended_words
from dashboard.sheets.content import Part, shortened
from dashboard.sheets.figures import CheckFigures, lower_list, shown_times
from dashboard.unlogged_words import CAUTION as UNLOGGED_CAUTION
from dashboard.unlogged_words import much_unlogged_words
from dashboard.who_and_when import (
    WhoAndWhen,
    crews_words,
    months_words,
    read_who_and_when,
)
from queries.judgement import HEADLINE_NAMES
from queries.readers.directions import read_directions
from queries.readers.follow_up import read_lowest_ratios
from queries.readers.records import RATIO_CAUTION, read_nonconforming_by_ratio
from queries.readers.revised import read_much_mended
from queries.readers.unlogged import much_unlogged, unlogged_by_site
from queries.selection import Selection

RAISED = 3
LISTED = 5
# The bound of nonconforming_by_ratio.sql below which an anchor comes first.
LOW = f"70{words.SPACE}%"
NO_MORE_MIX = 2
NEAR_ZERO = 2
MENDED = 2
NOTHING_CHANGED = (
    "nothing that these counts could show, bad days and the number of looks allowed "
    "for. That is no clearance."
)


def site_lead(name: str, figures: Sequence[CheckFigures]) -> str:
    """Say whether a site is out of line, its mix of work considered."""
    compared = [each for each in figures if each.compares]
    flagged = by_excess(figures)
    if not any(each.judged for each in figures):
        return (
            f"{name}: {words.NOTHING}. No installation that matches has a recorded "
            "result for any check."
        )
    if not compared:
        alone = (
            f"Nothing compares with {name}: no other site set the same sizes by the "
            "same method and orientation."
        )
        return " ".join(filter(None, (alone, _plain_rates(figures))))
    unanswered = _unanswered(figures)
    if not flagged:
        said = (
            f"{name} is not out of line for its mix of sizes, methods and orientations "
            f"on any of the {len(compared)} checks that compare, which is no clearance."
        )
        return f"{said} {unanswered}".rstrip()
    told = [f"{each.title.lower()} ({shown_times(each)})" for each in flagged]
    said = (
        f"{name} is out of line for its mix of sizes, methods and orientations on "
        f"{words.count(len(flagged))} of {words.plural(len(compared), 'check')}: "
        f"{words.and_list(told)}."
    )
    return f"{said} {unanswered}".rstrip()


def _unanswered(figures: Sequence[CheckFigures]) -> str:
    """Name the checks on which nothing can be judged: there anything can be."""
    silent = [each for each in figures if each.missing and not each.judged]
    if not silent:
        return ""
    told = [
        f"{each.title.lower()} ({words.plural(each.missing, 'anchor')})"
        for each in silent
    ]
    return f"Nothing can be judged on {words.and_list(told)}."


def _plain_rates(figures: Sequence[CheckFigures]) -> str:
    """Name the checks that are most often nonconforming, where nothing tells more."""
    rates = [each.rate for each in figures if each.rate and each.rate["nonconforming"]]
    told = [
        f"{words.title(rate['check']).lower()} {words.percent(rate['rate'])} "
        f"({words.share(rate['nonconforming'], rate['judged'])})"
        for rate in sorted(rates, key=lambda rate: -rate["rate"])[:RAISED]
    ]
    return f"Most often nonconforming: {words.and_list(told)}." if told else ""


def by_excess(figures: Sequence[CheckFigures]) -> list[CheckFigures]:
    """Return the flagged checks, those with most beyond the expected first."""
    flagged = [each for each in figures if each.is_flagged]
    return sorted(flagged, key=lambda each: -each.excess)


def site_parts(
    con: duckdb.DuckDBPyConnection,
    name: str,
    figures: Sequence[CheckFigures],
    selection: Selection,
) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    """Return what stands above and below the table; `selection` names the site."""
    every = replace(selection, check_names=())
    ratios = read_nonconforming_by_ratio(con, every).to_dicts()
    ratio = ratios[0] if ratios else None
    raised = _to_raise(con, figures, ratio, every)[:RAISED]
    if not any(each.judged or each.missing for each in figures):
        return (), ()
    nothing = "The figures name nothing to raise. That is no clearance."
    before = Part("What to raise", tuple(raised) or (nothing,), bool(raised))
    changed = _changed(con, name, every)
    after = [_anchors(con, ratio, every)]
    mixed = _mix(name, figures)
    if mixed:
        after.insert(0, Part("Owed to the work more than to the site", mixed))
    revised = _revised(con, every)
    below = (*_near_zero(con, name, every), *revised, *_unlogged(con, name, every))
    return (before, *changed), (*below, *after)


def _changed(
    con: duckdb.DuckDBPyConnection, name: str, every: Selection
) -> tuple[Part, ...]:
    """Return what changed at the site since last month, of all looks at all sites."""
    code = every.site_codes[0]
    found = read_kept_changes(con, "site", replace(every, site_codes=()))
    if found.later is None or found.earlier is None:
        return ()
    own = replace(
        found,
        looks=found.looks.filter(pl.col("group") == code),
        groups=found.groups.filter(pl.col("group") == code),
    )
    said = changed_words(own, {code: name}) + silence_words(own, {code: name})
    if not said:
        months = f"{month_name(found.later)} beside {month_name(found.earlier)}"
        said = [f"{months}: {NOTHING_CHANGED}"]
    return (Part("What changed since last month", tuple(said)),)


def _near_zero(
    con: duckdb.DuckDBPyConnection, name: str, every: Selection
) -> tuple[Part, ...]:
    """Return which rates near nothing rest on records worth a look: the clearest."""
    found = read_near_zero(con, every, HEADLINE_NAMES)
    if found.is_empty():
        return ()
    said = [
        near_zero_words(row, {row["site"]: name})
        for row in found.head(NEAR_ZERO).iter_rows(named=True)
    ]
    said[-1] += " Crews lists them under “Records worth a look”."
    return (Part("Near nothing, and worth a look", tuple(said)),)


def _revised(con: duckdb.DuckDBPyConnection, every: Selection) -> tuple[Part, ...]:
    """Return the checks that revisions mended most, with why that may be right."""
    found = read_much_mended(con, every, read_kept_revised(con))
    if found.is_empty():
        return ()
    said = [mended_words(row) for row in found.head(MENDED).to_dicts()]
    asked = "Ask what was done: a figure was mistyped, or the anchor was set again."
    return (Part("Mended by revisions", (*said[:-1], f"{said[-1]} {asked}")),)


def _unlogged(
    con: duckdb.DuckDBPyConnection, name: str, every: Selection
) -> tuple[Part, ...]:
    """Return how many planned holes have no anchor logged, where that is much."""
    found = much_unlogged(unlogged_by_site(read_kept_unlogged(con, every)))
    if found.is_empty():
        return ()
    said = much_unlogged_words(found.row(0, named=True), name)
    return (Part("Planned, and not logged", (f"{said} {UNLOGGED_CAUTION}",)),)


def _to_raise(
    con: duckdb.DuckDBPyConnection,
    figures: Sequence[CheckFigures],
    ratio: Mapping[str, Any] | None,
    selection: Selection,
) -> list[str]:
    """Return what to raise, most pressing first.

    Two checks out of line, then the anchors that the engineer should see, then what is
    not recorded, then the other checks out of line.
    """
    (code,) = selection.site_codes
    pressing = by_excess(figures)
    pairs = {each.check_name: (code, each.check_name) for each in pressing}
    made = read_who_and_when(con, pairs.values(), selection)
    flagged = [
        _flagged(con, each, made[pairs[each.check_name]], selection)
        for each in pressing
    ]
    return [*flagged[:2], *_low_ratios(ratio), *_unrecorded(figures), *flagged[2:]]


def _flagged(
    con: duckdb.DuckDBPyConnection,
    figures: CheckFigures,
    made: WhoAndWhen,
    selection: Selection,
) -> str:
    assert figures.compared is not None
    sides = read_directions(con, [figures.check_name], selection, "site").to_dicts()
    side = (
        side_words(sides[0]["direction"], sides[0]["direction_share"]) if sides else ""
    )
    against = against_words({**figures.compared, "name": figures.title})
    return f"{against}{side}. {crews_words(made)} {months_words(made)}"


def _low_ratios(ratio: Mapping[str, Any] | None) -> list[str]:
    if ratio is None or not ratio["below_070"]:
        return []
    number = ratio["below_070"]
    anchors = words.plural(number, "nonconforming anchor")
    verb, these = ("has", "this one") if number == 1 else ("have", "these")
    said = (
        f"{anchors} {verb} an indicative cone ratio below {LOW}: show the engineer "
        f"responsible {these} first."
    )
    return [said]


def _unrecorded(figures: Sequence[CheckFigures]) -> list[str]:
    never = [each for each in figures if each.missing and not each.judged]
    partly = sorted(
        (each for each in figures if each.judged and each.is_much_missing),
        key=lambda each: -each.missing_share,
    )
    told = []
    if never:
        told.append(
            f"Nothing to judge, unrecorded or not readable: {lower_list(never)}."
        )
    if partly:
        shares = [
            f"{each.title.lower()} ({words.percent(each.missing_share)} missing)"
            for each in partly
        ]
        told.append(f"Recorded in part: {words.and_list(shares)}.")
    return [" ".join([*told, "Agree who logs it, and how."])] if told else []


def _mix(name: str, figures: Sequence[CheckFigures]) -> tuple[str, ...]:
    """Return the checks whose higher rate the site's mix explains more than its doing.

    At most two, the largest difference first.
    """
    said = [
        (each, mix_words([{**each.compared, "name": name}]))
        for each in figures
        if each.compared is not None
    ]
    owed = sorted(
        ((each, text) for each, text in said if text),
        key=lambda one: -_difference(one[0]),
    )
    return tuple(f"{each.title}: {text}" for each, text in owed[:NO_MORE_MIX])


def _difference(figures: CheckFigures) -> float:
    row = figures.compared
    assert row is not None
    return float(row["rate"] - row["others_rate"])


def _anchors(
    con: duckdb.DuckDBPyConnection,
    ratio: Mapping[str, Any] | None,
    selection: Selection,
) -> Part:
    heading = "Nonconforming anchors by indicative cone ratio"
    if ratio is None:
        none = (
            "None is logged as nonconforming, which says nothing of checks that were "
            "not recorded."
        )
        return Part(heading, (none,))
    counted = (
        f"{words.plural(ratio['nonconforming'], 'anchor')}: "
        f"{words.count(ratio['below_070'])} below {LOW}, "
        f"{words.count(ratio['below_085'])} from there to below 85{words.SPACE}%, "
        f"{words.count(ratio['below_1'])} from there to below 100{words.SPACE}%, "
        f"{words.count(ratio['nothing_lost'])} that lose nothing, "
        f"{words.count(ratio['not_known'])} not known. {RATIO_CAUTION}"
    )
    lowest = read_lowest_ratios(con, selection, LISTED)
    return Part(heading, (counted, *map(_anchor, lowest.iter_rows(named=True))))


def _anchor(row: Mapping[str, Any]) -> str:
    checks = [words.title(name).lower() for name in row["nonconforming_checks"]]
    return (
        f"{words.cone_percent(row['cone_ratio'])}: record "
        f"{shortened(row['record_id'], 30)}, {row['installed_on']}, crew "
        f"{shortened(row['crew_code'], 30)}, {row['anchor_size']}; "
        f"{words.and_list(checks)} ({shortened(row['file_name'], 50)}, row "
        f"{row['source_row']})"
    )


def site_cautions(figures: Sequence[CheckFigures]) -> tuple[str, ...]:
    """Return what a reader of the sheet must bear in mind."""
    said = [FLAG_CAUTION] if any(each.is_flagged for each in figures) else []
    silent = [each for each in figures if each.judged and not each.compares]
    if silent and any(each.compares for each in figures):
        said.append(
            f"Nothing compares on {lower_list(silent)}: no other site set the same "
            "sizes by the same method and orientation."
        )
    without = [each for each in figures if each.compares and each.without]
    if without:
        said.append(
            f"Compared without {without[0].without}, which this site or the others do "
            f"not log: {lower_list(without)}."
        )
    return (*([" ".join(said)] if said else []), words.CAUTION)
