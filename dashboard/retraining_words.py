"""What the retraining list says, in sentences: pure."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from types import MappingProxyType
from typing import Any

from dashboard import words
from dashboard.comparison_words import few_days_words
from queries.readers.retraining import PACE, RetrainingList
from queries.readers.trainings import RegisteredTraining
from queries.statistics.retraining import chance_alarms

# How a direction is said of anchors.
SIDES = {
    "under": "under the band",
    "over": "over the band",
    "short": "too short",
    "long": "too long",
    "close": "too close",
    "shallow": "too shallow",
}


# From this share of missing answers on, an entry says so.
MUCH_MISSING = 0.2
# What training cannot mend: the tools, and what a crew was given to set anchors in.
# Common practice, no source.
GIVEN = {
    "base_material": "the concrete beside the drawings",
    "member_thickness": "the member beside the drawings",
}
TOOLS = {
    "drill_bit": "a sound bit",
    "torque_tool": "a calibrated wrench of the right range",
}
UNTAUGHT = TOOLS | GIVEN
WEEKS = PACE // timedelta(weeks=1)
# So many entries are named on top of the page beside the first.
NAMED = 3
NO_NAMES: Mapping[str, str] = MappingProxyType({})


def first_words(
    found: RetrainingList,
    clear: Sequence[Mapping[str, Any]],
    since: Sequence[RegisteredTraining],
) -> str:
    """Return whom to retrain first, of the entries `clear` of chance.

    And which of them were trained on it `since` the evidence began.
    """
    if found.to_on is None:
        return "No installation matches these filters."
    if not clear:
        return "Nothing here is clear of chance, which is no clearance."
    first = (taught(clear) or clear)[0]
    said = (
        f"See to {UNTAUGHT[first['check']]} for crew {first['crew']} first."
        if first["check"] in UNTAUGHT
        else f"Retrain crew {first['crew']} on {_topic(first)} first."
    )
    trained = [
        f"crew {each.crew_code} on {words.title(each.check_name).lower()} on "
        f"{words.day(each.trained_on)}"
        for each in since
    ]
    if not trained:
        return said
    return (
        f"{said} Trained since: {words.and_list(trained)}; see below what came of it."
    )


def lead_words(
    found: RetrainingList,
    clear: Sequence[Mapping[str, Any]],
    site_names: Mapping[str, str],
) -> list[str]:
    """Return what Crews begins with, of the entries `clear` of chance, a line each."""
    if not clear:
        nobody = (
            "No crew stands out to be retrained first: of what was logged from "
            f"{words.day(found.from_on)} to {words.day(found.to_on)} nothing on any "
            "check is clear of chance, which is no clearance."
        )
        return [nobody, *_unlike(found), *common_words(found)]
    first, *others = taught(clear) or clear
    few = "" if found.has_days else f" {few_days_words('crew')}"
    low, high = first["avoidable_low"], first["avoidable_high"]
    said = (
        f"{_asked(first, site_names)} first: to work there as the better quarter of "
        "crews does "
        f"would spare about {words.count(round(first['avoidable']))} "
        f"({words.fixed(low, 0)}{words.DASH}{words.fixed(high, 0)}) nonconforming "
        "anchors in its next "
        f"{words.plural(first['planned'], 'check')}."
        f"{missing_words(first)}{few}"
    )
    tools = [row for row in clear if row["check"] in UNTAUGHT and row is not first]
    others = [row for row in others if row not in tools]
    told = [
        f"{row['crew']} on {_topic(row)} "
        f"(about {words.count(round(row['avoidable']))} of "
        f"{words.count(row['planned'])})"
        for row in others[:NAMED]
    ]
    if len(others) > NAMED:
        told.append(f"{len(others) - NAMED} more")
    then = f"Then {words.and_list(told)}. " if told else ""
    seen = f"{words.day(found.from_on)} to {words.day(found.to_on)}"
    pace = f"{words.day(found.pace_from_on)} to {words.day(found.to_on)}"
    planned = f" (where planned, those of {WEEKS} weeks)" if found.planned_sites else ""
    return [
        said,
        *_tools_words(tools),
        (
            f"{then}By what was logged from {seen}; next are as many as were due from "
            f"{pace}{planned}. It is where to look first, not a finding against a crew."
        ),
    ]


def taught(clear: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Return the entries that training can mend; the others need a tool."""
    return [entry for entry in clear if entry["check"] not in UNTAUGHT]


def _asked(entry: Mapping[str, Any], site_names: Mapping[str, str]) -> str:
    who = f"crew {entry['crew']}{_whereabouts(entry, site_names)}"
    if entry["check"] in UNTAUGHT:
        return f"See to {UNTAUGHT[entry['check']]} for {who}"
    return f"Retrain {who} on {_topic(entry)}"


def _tools_words(tools: Sequence[Mapping[str, Any]]) -> list[str]:
    """Say what may cure checks of tools sooner than training."""
    if not tools:
        return []
    told = [
        f"{UNTAUGHT[row['check']]} for crew {row['crew']} ({_topic(row)}, about "
        f"{words.count(round(row['avoidable']))} of {words.count(row['planned'])})"
        for row in tools[:NAMED]
    ]
    if len(tools) > NAMED:
        told.append(f"{len(tools) - NAMED} more")
    return [f"See to these before anybody is taught: {words.and_list(told)}."]


def common_words(found: RetrainingList) -> list[str]:
    """Return what the crews have in common, which a comparison of them cannot show."""
    told = [
        f"{words.title(one.check).lower()} "
        f"{words.percent(one.nonconforming / one.judged)} "
        f"({words.share(one.nonconforming, one.judged)})"
        for one in found.totals[:NAMED]
    ]
    if not told:
        return []
    said = (
        "Crews are compared with one another, which cannot show what they have in "
        f"common. Most often nonconforming over all of them: {words.and_list(told)}."
    )
    return [said]


def _tool_words(entry: Mapping[str, Any]) -> str:
    """Say what may cure a check that training cannot mend."""
    if given := GIVEN.get(entry["check"]):
        return f" No crew can be taught it: ask the engineer about {given}."
    cure = TOOLS.get(entry["check"])
    return f" Look to the tool first: {cure} may be all it takes." if cure else ""


def _topic(entry: Mapping[str, Any]) -> str:
    return words.title(entry["check"]).lower()


def entry_words(
    entry: Mapping[str, Any],
    site_names: Mapping[str, str] = NO_NAMES,
    since: str = "",
) -> str:
    """Return the sentence of one crew and check; `site_names` by code.

    `since`: since when, in words (since.py); nothing where it was not asked.
    """
    sided = side_words(entry["direction"], entry["direction_share"])
    doubt = (
        ""
        if entry["is_clear"]
        else " It is not clear of chance: look before you teach."
    )
    return (
        f"Crew {entry['crew']}{_whereabouts(entry, site_names)}, "
        f"{_topic(entry)}: "
        f"{words.share(entry['nonconforming'], entry['judged'])} nonconforming{sided}; "
        f"probably {words.percent(entry['eb_rate'])}, where on like work the better "
        f"quarter of crews is {quarter_words(entry['reachable_rate'])}. Reaching that "
        f"would spare about {words.about(entry['avoidable'])} "
        f"({words.about(entry['avoidable_low'])}"
        f"{words.DASH}{words.about(entry['avoidable_high'])}) of the next "
        f"{words.count(entry['planned'])}.{_tool_words(entry)}{missing_words(entry)}"
        f"{doubt}"
        f"{' ' + since if since else ''}"
    )


def _whereabouts(entry: Mapping[str, Any], site_names: Mapping[str, str]) -> str:
    """Return the crew's name and sites in brackets."""
    sites = [site_names.get(code, code) for code in entry["site_codes"] or ()]
    known = [*filter(None, [entry["crew_name"]]), *sites]
    return f" ({', '.join(known)})" if known else ""


def is_nothing(rate: float) -> bool:
    """Say whether a rate is 0 to two decimals of a per cent."""
    return rate < 0.00005


def quarter_words(rate: float) -> str:
    """Return where the better quarter of crews is: below a rate, or at 0."""
    if is_nothing(rate):
        return f"at 0{words.SPACE}%"
    return f"below {words.percent(rate)}"


def missing_words(entry: Mapping[str, Any]) -> str:
    """Return how many of the crew's checks have no answer, where that is many."""
    due = entry["judged"] + (entry["missing"] or 0)
    if not due or (entry["missing"] or 0) <= MUCH_MISSING * due:
        return ""
    return (
        f" {words.count(entry['missing'])} of its {words.count(due)} checks have no "
        "answer; the number spared takes them to be like the others."
    )


def side_words(side: str | None, share: float | None) -> str:
    """Return on which side of the limit how many lie; empty where there is no side."""
    if not side:
        return ""
    how_many = "all" if share == 1 else f"{words.percent(share)} of them"
    return f", {how_many} {SIDES.get(side, side)}"


def _plan(found: RetrainingList, site_names: Mapping[str, str]) -> str:
    if not found.planned_sites:
        return ""
    sites = words.and_list([site_names.get(one, one) for one in found.planned_sites])
    return (
        f"the {words.count(round(found.planned_holes))} holes that the sheet of "
        f"planned holes has for the 8 weeks after at {sites}; elsewhere "
    )


def _alarms(found: RetrainingList, budget: int) -> str:
    """Say how many pairs are weighed, and how many of them chance alone would raise."""
    if not found.pairs:
        return (
            "No crew can be told from another on any check: none compares, or in like "
            "work all anchors conform, or none. That is no clearance."
        )
    two, three = (chance_alarms(found.pairs, sigmas) for sigmas in (2, 3))
    return (
        f"{words.plural(found.pairs, 'pair')} of crew and check, those in whose like "
        "work something but not all is nonconforming, can tell something: were all "
        f"crews alike, chance alone would put {words.about(two)} or less of them two "
        f"standard errors or more off, and {words.expected(three)} three. The list "
        f"keeps to a budget of {budget}."
    )


def list_words(
    found: RetrainingList, budget: int, site_names: Mapping[str, str] = NO_NAMES
) -> list[str]:
    """Return what a reader must know of the list, a line each; `site_names` by code."""
    if found.to_on is None:
        return ["No installation matches these filters."]
    evidence = (
        f"Evidence: {words.day(found.from_on)} to {words.day(found.to_on)}. Plan: "
        f"{_plan(found, site_names)}the checks "
        f"due from {words.day(found.pace_from_on)} to {words.day(found.to_on)}, as "
        "if the next weeks were "
        "like them."
    )
    lines = [evidence, _alarms(found, budget)]
    if found.pairs and found.entries.is_empty():
        lines.append(
            "No pair has anything to gain: the crews do not differ more than chance "
            "explains, or none has work ahead. That is no clearance."
        )
    return [*lines, *_unlike(found), *common_words(found)]


def _unlike(found: RetrainingList) -> list[str]:
    """Say what is nonconforming in work in which no crew can be set beside another."""
    if not found.unlike:
        return []
    told = [
        f"crew {one.crew} on {words.title(one.check).lower()} "
        f"({words.share(one.nonconforming, one.judged)})"
        for one in found.unlike
    ]
    return [
        (
            "Nonconforming in work of sizes, methods and orientations that no other "
            "crew did, so that nothing tells the crew from the work: "
            f"{words.and_list(told)}."
        )
    ]
