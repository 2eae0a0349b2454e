"""How often alike groups are flagged, by how many days they have: seeded simulation.

Anchors of one day are alike by 0.15 (beta-binomial), which is invented here.
"""

import numpy as np
import pytest

from queries.statistics.flagging import Cells, GroupDays, tells_days, weigh

GROUPS, A_DAY, RATE, ALIKE, RUNS = 6, 20, 0.1, 0.15, 400


def _days(rng: np.random.Generator, days: int) -> GroupDays:
    """So many days of each group, all groups alike."""
    strength = 1 / ALIKE - 1
    rates = rng.beta(RATE * strength, (1 - RATE) * strength, GROUPS * days)
    judged = np.full(GROUPS * days, A_DAY)
    return GroupDays(
        np.repeat(np.arange(GROUPS), days), judged, rng.binomial(judged, rates)
    )


def _any_flagged(days: GroupDays) -> bool:
    judged, found = (
        np.bincount(days.group, counts)[:, np.newaxis].astype(np.int64)
        for counts in (days.judged, days.nonconforming)
    )
    return bool(weigh(Cells(judged, found), days).flagged.any())


@pytest.mark.parametrize(("days", "tells"), [(1, False), (2, False), (4, True)])
def test_flags_keep_their_promise_where_days_tell(days: int, *, tells: bool) -> None:
    rng = np.random.default_rng(20261201)
    drawn = [_days(rng, days) for _ in range(RUNS)]
    assert {tells_days(each) for each in drawn} == {tells}
    share = np.mean([_any_flagged(each) for each in drawn])
    # Promised are 5 %; three standard errors of 400 runs are 3.3 %.
    assert (share <= 0.083) == tells
