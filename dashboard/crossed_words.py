"""What telling crews from inspectors says, and where it cannot: pure."""

from typing import Any

from dashboard import words
from queries.readers.crossed import CrossedCrews
from queries.statistics.crossed import FEWEST_SHARED

CAUTION = (
    "Fitted on what was logged: who is strict and who is lax is relative to the others "
    "of the group, and none need be right. Mix of sizes and methods is not taken out "
    "here; the comparison of each crew for its own mix does that."
)
SEPARATE = "Crews and inspectors cannot be separated"
# Odds by so much or more are worth a sentence.
STRICT_ODDS = 1.25
NAMED = 6


def crossed_words(found: CrossedCrews, where_all: str = "") -> list[str]:
    """Return the sentences of a crossed comparison, the most important first.

    `where_all` ends the sentence on the pairs of groups that are not named.
    """
    if found.crews.is_empty():
        return ["No judged anchor of this selection names its inspector."]
    said = _groups(found)
    said += [_bridge(row) for row in found.bridges.head(NAMED).iter_rows(named=True)]
    if found.bridges.height > NAMED:
        left = found.bridges.height - NAMED
        more = words.plural(left, "more pair")
        said.append(f"{more} of groups cannot be separated{where_all}.")
    said += _alone(found) + _strict(found)
    if found.unnamed:
        unnamed = words.plural(
            found.unnamed,
            "judged anchor names no inspector and is",
            "judged anchors name no inspector and are",
        )
        said.append(f"{unnamed} left out.")
    return [*said, CAUTION]


def _groups(found: CrossedCrews) -> list[str]:
    # Those of the crews shown, and those that a bridge would lead to.
    sides = (found.crews["group"], found.bridges["group"], found.bridges["other_group"])
    groups = len({group for side in sides for group in side})
    connected = (
        "Within a group crews share inspectors, so rates under an average inspector "
        "compare."
    )
    if not found.bridges.height:
        if found.crews["adjusted_rate"].is_null().all():
            return []
        return [f"All crews and inspectors are connected. {connected}"]
    said = (
        f"{SEPARATE} between {words.plural(groups, 'group')}: of no two do "
        f"the inspectors of one judge more than {FEWEST_SHARED} anchors of the other's "
        "crews (bad days counted for what they tell), so that a higher rate may be the "
        "crew or a stricter inspector."
    )
    return [f"{said} {connected}"]


def _bridge(row: dict[str, Any]) -> str:
    return (
        f"Groups {row['group']} and {row['other_group']}: to connect them best, have "
        f"{row['inspector']} re-inspect anchors of crew {row['crew']}, and "
        f"{row['other_inspector']} anchors of crew {row['other_crew']}, more than "
        f"{FEWEST_SHARED} together."
    )


def _alone(found: CrossedCrews) -> list[str]:
    crews = found.crews.filter(found.crews["adjusted_rate"].is_null())["crew"]
    if crews.is_empty():
        return []
    named = words.and_list(list(crews))
    return [f"{SEPARATE} at all: {named}, with one inspector who judged no other crew."]


def _strict(found: CrossedCrews) -> list[str]:
    """Name the inspectors furthest from the average of their group."""
    rows = [
        row
        for row in found.inspectors.sort("odds", descending=True).to_dicts()
        if row["odds"] is not None and not 1 / STRICT_ODDS < row["odds"] < STRICT_ODDS
    ]
    return [
        f"Inspector {row['inspector']} finds anchors nonconforming at "
        f"{words.fixed(row['odds'], 2)} times the odds of an average inspector of "
        "group "
        f"{row['group']}."
        for row in rows[:NAMED]
    ]
