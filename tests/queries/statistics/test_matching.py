"""Groups whose work is alike only without what one side does not log."""

import numpy as np
import pytest
from numpy.typing import NDArray
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.power import NormalIndPower
from statsmodels.stats.proportion import proportion_effectsize

from queries.statistics.comparison import compare
from queries.statistics.flagging import Cells, GroupDays
from queries.statistics.matching import Kind, Matched, compare_matched

KEYS = ("anchor_size", "drill_method", "orientation")
WALL, FLOOR, BLANK = (("M12", "hammer", at) for at in ("wall", "floor", None))
WALL_16, BLANK_16 = (("M16", "hammer", at) for at in ("wall", None))
Counted = dict[Kind, tuple[int, int]]


def days_of(cells: Cells) -> GroupDays:
    """Return each group's counts as one day: no bad days are seen."""
    judged = cells.judged.sum(axis=1)
    return GroupDays(np.arange(len(judged)), judged, cells.nonconforming.sum(axis=1))


def matched(*groups: Counted) -> tuple[Matched, Cells]:
    """Compare groups of (nonconforming, judged) by kind of work."""
    kinds = list(dict.fromkeys(kind for group in groups for kind in group))
    both = np.array([[group.get(kind, (0, 0)) for kind in kinds] for group in groups])
    cells = Cells(both[:, :, 1], both[:, :, 0])
    return compare_matched(cells, kinds, KEYS, days_of(cells)), cells


def test_what_one_side_does_not_log_is_left_out() -> None:
    a: Counted = {WALL: (2, 40), FLOOR: (4, 60), WALL_16: (5, 50)}
    b: Counted = {BLANK: (10, 50), BLANK_16: (4, 20)}
    found, _ = matched(a, b)
    assert found.without == (("orientation",), ("orientation",))
    # By hand, by size alone: 100 x 10/50 + 50 x 4/20, and 50 x 6/100 + 20 x 5/50.
    assert list(found.comparison.expected) == pytest.approx([30, 5])
    assert list(found.comparison.ratio) == pytest.approx([11 / 30, 14 / 5])
    assert list(found.comparison.silent_judged) == [0, 0]
    assert list(found.comparison.flagged) == [False, True]
    # As a comparison of the sums by size.
    by_size = Cells(np.array([[100, 50], [50, 20]]), np.array([[6, 5], [10, 4]]))
    plain = compare(by_size, days_of(by_size))
    assert found.comparison.p_value == pytest.approx(plain.p_value)
    assert found.comparison.mix_part == pytest.approx(plain.mix_part)


def test_what_both_log_is_never_left_out() -> None:
    found, _ = matched({WALL: (2, 40)}, {FLOOR: (9, 40)})
    assert found.without == ((), ())
    assert np.isnan(found.comparison.p_value).all()


def test_who_logs_nothing_is_set_beside_all_the_others() -> None:
    found, _ = matched({WALL: (2, 40)}, {BLANK: (9, 40)}, {FLOOR: (4, 40)})
    # The others of A log orientations too, and none is A's.
    assert found.without == ((), ("orientation",), ())
    assert found.comparison.expected[1] == pytest.approx(40 * 6 / 80)
    assert list(np.isnan(found.comparison.p_value)) == [True, False, True]


def test_no_entry_is_no_kind_of_work() -> None:
    # B and C log none: each beside all the others, not beside the other one alone.
    found, _ = matched({WALL: (2, 40)}, {BLANK: (9, 60)}, {BLANK: (4, 40)})
    assert found.without == (("orientation",),) * 3
    assert list(found.comparison.expected) == pytest.approx(
        [40 * 13 / 100, 60 * 6 / 80, 40 * 11 / 100]
    )


def test_what_nobody_logs_is_not_left_out() -> None:
    found, cells = matched({BLANK: (2, 40)}, {BLANK: (9, 40)})
    assert found.without == ((), ())
    plain = compare(cells, days_of(cells))
    assert found.comparison.p_value == pytest.approx(plain.p_value)


def test_like_work_is_compared_as_it_is() -> None:
    groups: list[Counted] = [{WALL: (2, 40)}, {WALL: (9, 40)}, {BLANK: (4, 40)}]
    found, cells = matched(*groups)
    assert found.without == ((), (), ("orientation",))
    plain = compare(cells, days_of(cells))
    assert found.comparison.expected[:2] == pytest.approx(plain.expected[:2])
    assert found.comparison.p_value[:2] == pytest.approx(plain.p_value[:2])
    # Benjamini and Hochberg over all three (statsmodels).
    _, q_value, _, _ = multipletests(found.comparison.p_value, method="fdr_bh")
    assert found.comparison.q_value == pytest.approx(q_value)


@pytest.mark.parametrize(
    ("other", "without"),
    [
        (("M12", "hammer", None), ("orientation",)),
        (("M12", None, "wall"), ("drill_method",)),
        (("M12", None, None), ("drill_method", "orientation")),
        (("M16", None, None), ()),
    ],
)
def test_no_more_is_left_out_than_must_be(
    other: Kind, without: tuple[str, ...]
) -> None:
    found, _ = matched({WALL: (2, 40)}, {other: (9, 40)})
    assert found.without == (without, without)
    assert np.isnan(found.comparison.p_value).all() == (not without)


def test_under_one_inspector_the_inspector_is_kept() -> None:
    keys = (*KEYS, "inspector_code")
    kinds = [(*WALL, "I1"), (*BLANK, "I1"), (*BLANK, "I2")]
    judged = np.array([[40, 0, 0], [0, 40, 0], [0, 0, 40]])
    cells = Cells(judged, judged // 10)
    found = compare_matched(cells, kinds, keys, days_of(cells))
    assert found.without == (("orientation",), ("orientation",), ())


def world(rng: np.random.Generator, rates: NDArray[np.float64]) -> Matched:
    """Four sites of 200 anchors at walls and floors; the last logs no orientation."""
    x = rng.binomial(100, np.repeat(rates, 2)).reshape(4, 2)
    found, _ = matched(
        *({WALL: (a, 100), FLOOR: (b, 100)} for a, b in x[:3]),
        {BLANK: (x[3].sum(), 200)},
    )
    assert found.without == ((), (), (), ("orientation",))
    return found


def test_false_alarms_and_power() -> None:
    """Of like sites at most 5 % of worlds have a flag; 12 % beside 4 % is seen."""
    rng, runs = np.random.default_rng(1130), 400
    alike = np.full(4, 0.04)
    alarms = sum(world(rng, alike).comparison.flagged.any() for _ in range(runs))
    margin = 4 * np.sqrt(0.05 * 0.95 / runs)
    assert alarms / runs <= 0.05 + margin
    bad = np.array([0.04, 0.04, 0.04, 0.12])
    seen = sum(bool(world(rng, bad).comparison.flagged[3]) for _ in range(100))
    # Two proportions of 200 and 600, two-sided at 5 % shared among four.
    size = proportion_effectsize(0.12, 0.04)
    power = NormalIndPower().power(size, 200, 0.05 / 4, ratio=3)
    assert seen / 100 > power - 4 * np.sqrt(power * (1 - power) / 100)
