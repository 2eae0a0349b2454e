"""What a comparison's own calibration says: pure."""

from dashboard import words
from queries.statistics.shuffling import Shuffled


def calibration_words(found: Shuffled, flagged: int, groups: int, group: str) -> str:
    """Return the sentence; `flagged` of all `groups` were, `group` is the noun."""
    share = words.percent(found.any_share)
    return (
        f"With no real differences between {group}s this page would have flagged "
        f"{words.fixed(found.flags, 2)} of them on average, and any at all in "
        f"{share} of "
        f"{words.count(found.shuffles)} deals of the same days; of all "
        f"{words.plural(groups, group)} it flagged {words.count(flagged)}. "
        "Taking each anchor of a day by itself would have "
        f"flagged somebody in {words.percent(found.any_naive)}."
    )
