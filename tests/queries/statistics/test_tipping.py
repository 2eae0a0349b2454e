"""What would turn a comparison round, against every possible set of answers."""

import itertools
from fractions import Fraction

import numpy as np
import pytest

from queries.statistics.tipping import _turn, tipping

Group = tuple[int, int, int]


def searched(group: Group, others: Group) -> tuple[int, str, int]:
    """Try every number of conforming answers, in exact fractions."""
    (x, n, m), (x_o, n_o, m_o) = group, others
    if not n or not n_o:
        return 0, "", -1
    theirs = Fraction(x_o, n_o)
    side = (Fraction(x, n) > theirs) - (Fraction(x, n) < theirs)
    if not side:
        return 0, "", -1

    def turned(own: Fraction, other: Fraction) -> bool:
        return own <= other if side > 0 else own >= other

    own = [k for k in range(m + 1) if turned(Fraction(x + m - k, n + m), theirs)]
    if own:
        return side, "own", min(own) if side > 0 else max(own)
    end = Fraction(x if side > 0 else x + m, n + m)
    found = [
        k for k in range(m_o + 1) if turned(end, Fraction(x_o + m_o - k, n_o + m_o))
    ]
    if found:
        return side, "others", max(found) if side > 0 else min(found)
    return side, "nobody", -1


def test_against_every_answer() -> None:
    small = [(x, n, m) for n in range(6) for x in range(n + 1) for m in (0, 1, 2, 4)]
    kinds = set()
    for group, others in itertools.product(small, small):
        found = _turn(group, others)
        assert found == searched(group, others), (group, others)
        kinds.add(found[:2])
    # Every kind of answer was met.
    assert kinds == {(0, "")} | {
        (side, by) for side in (1, -1) for by in ("own", "others", "nobody")
    }


# By hand. North 30/200 with 100 missing, South 10/200 with 20: South's side at 5 %.
# North: (30 + 100 - k) / 300 <= 0.05 asks for k >= 115 of 100, so its own cannot; all
# of them conforming it is at 10 %, and South's (10 + 20 - k) / 220 >= 0.1 for k <= 8.
def test_by_hand() -> None:
    found = tipping(np.array([200, 200]), np.array([30, 10]), np.array([100, 20]))
    assert list(found.side) == [1, -1]
    assert found.by == ("others", "others")
    # South: even (10 + 20) / 220 = 13.6 % is below 15 %; North's (130 - k) / 300 falls
    # to it from k = 90 on: 40 / 300 = 13.3 %, where 41 / 300 = 13.7 %.
    assert list(found.conforming) == [8, 90]


@pytest.mark.parametrize("missing", [0, 3])
def test_nothing_to_turn(missing: int) -> None:
    alone = tipping(np.array([9]), np.array([2]), np.array([missing]))
    assert (list(alone.side), alone.by, list(alone.conforming)) == ([0], ("",), [-1])
    known = tipping(np.array([9, 9]), np.array([2, 1]), np.zeros(2, dtype=int))
    assert known.by == ("nobody", "nobody")
