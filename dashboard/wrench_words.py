"""What to say of anchors whose wrench was found out of tolerance later."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboard import words

# So many have a line of their own; the others are named in one.
NAMED = 3
ALSO = "Also found out of tolerance: "


def found_out_lines(
    rows: Sequence[Mapping[str, Any]], names: Mapping[str, str]
) -> list[str]:
    """Return the lines on wrenches found out of tolerance; none where none was.

    `rows`: of found_out_by_wrench; `names`: of sites by code.
    """
    lines = [found_out_words(row, names) for row in rows[:NAMED]]
    others = "; ".join(map(also_words, rows[NAMED:]))
    return [*lines, f"{ALSO}{others}."] if others else lines


def found_out_words(row: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """Say of how many anchors the torque is not known, and since when, for one wrench.

    `row`: of found_out_by_wrench. Verdicts stay, so how many conform by them is said.
    """
    crews, sites = row["crew_codes"], row["site_codes"]
    who = f"crew{'' if len(crews) == 1 else 's'} {words.and_list(crews)}"
    where = words.and_list([names.get(code, code) for code in sites])
    since = (
        f"since {words.day(row['calibrated_on'])}"
        if row["calibrated_on"]
        else "before, with no earlier calibration known,"
    )
    of_all = row["anchors_of_all"]
    # Of the selection are fewer than since its calibration.
    more = (
        f"; the wrench set {words.count(of_all)} in all"
        if of_all > row["anchors"]
        else ""
    )
    again = row["rechecked"]
    checked = (
        f" A later torque is logged of {words.count(again)} of them." if again else ""
    )
    return (
        f"Wrench {row['wrench_code']} was found out of tolerance on "
        f"{words.day(row['found_on'])}: the torque of "
        f"{words.plural(row['anchors'], 'anchor')} that {who} set with it at {where} "
        f"{since} ({words.count(row['conforming'])} judged conforming{more}) is not "
        "known."
        f"{checked} The engineer responsible decides what to check or retest."
    )


def also_words(row: Mapping[str, Any]) -> str:
    """Name a wrench, when it was found out, and of how many anchors."""
    return (
        f"{row['wrench_code']} on {words.day(row['found_on'])} "
        f"({words.plural(row['anchors'], 'anchor')})"
    )


def record_words(found: Mapping[str, Any]) -> str:
    """Say of one anchor that its torque is not known. `found`: Record.found_out."""
    before = (
        f"calibrated on {words.day(found['calibrated_on'])}"
        if found["calibrated_on"]
        else "with no earlier calibration known"
    )
    return (
        f"Wrench {found['wrench_code']}, {before}, was found out of tolerance on "
        f"{words.day(found['found_on'])}: the torque of this anchor is not known, "
        "whatever was logged. The engineer responsible decides whether to check or "
        "retest it."
    )
