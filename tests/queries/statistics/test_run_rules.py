"""Run rules: hand-made rows, the published run lengths, and a plain loop."""

import numpy as np
import pytest

from queries.statistics.chart_rules import alarm_factor, shewhart_rules
from queries.statistics.control_chart import p_limits
from queries.statistics.run_rules import (
    beyond_limits,
    in_control_run_length,
    one_side,
    run_lengths,
)

NAN = float("nan")
BEYOND = 0.0026997960632601  # 2 P(Z > 3), any table


# Champ and Woodall 1987, Technometrics 29:393-399, table 1, no shift (from memory):
# 370.4 for points beyond 3 sigma alone, 152.73 with eight in a row on one side.
def test_published_run_length() -> None:
    inside = (1 - BEYOND) / 2
    assert in_control_run_length(BEYOND, inside, inside, 8) == pytest.approx(
        152.73, abs=0.005
    )
    # A run of 10000 never happens: what is left is the first rule.
    assert in_control_run_length(BEYOND, inside, inside, 200) == pytest.approx(
        370.4, abs=0.05
    )


def test_run_length_of_a_binomial_chart_by_simulation() -> None:
    n, p = 40, 0.08
    (lower,), (upper,) = p_limits(np.array([n]), p)
    rng = np.random.default_rng(7)
    lengths = []
    for _ in range(400):
        length = run = 0
        was_above = None
        rate = p
        while lower <= rate <= upper and run < 8:
            rate = rng.binomial(n, p) / n  # Never on the centre: 40 x 0.08 is no count.
            run = run + 1 if bool(rate > p) is was_above else 1
            was_above = bool(rate > p)
            length += 1
        lengths.append(length)
    expected = shewhart_rules(n, p)[0].run_length
    margin = 4 * np.std(lengths) / np.sqrt(len(lengths))
    assert np.mean(lengths) == pytest.approx(expected, abs=margin)


def test_beyond_the_limit_not_on_it() -> None:
    rate = np.array([0.1, 0.3, 0.31, 0.05, 0.04, NAN])
    found = beyond_limits(rate, np.full(6, 0.05), np.full(6, 0.3))
    assert found == [None, None, "beyond_upper", None, "beyond_lower", None]


def test_eight_on_one_side() -> None:
    seven = np.array([0.1] * 7)
    assert one_side(seven, 0.2) == [None] * 7
    assert one_side(np.append(seven, 0.1), 0.2)[-1] == "run_below"
    assert one_side(np.append(seven, 0.3), 0.2)[-1] is None


def test_an_idle_period_neither_breaks_nor_lengthens_a_run() -> None:
    rate = np.array([0.3, NAN, 0.3, 0.2, 0.3])
    assert run_lengths(rate, 0.2) == [1, 0, 2, 0, 1]


def test_no_rule_that_can_signal_is_silent_for_ever() -> None:
    assert in_control_run_length(0.0, 0.0, 0.0) == float("inf")


@pytest.mark.parametrize("periods", [12, 50])
def test_a_short_baseline_brings_more_false_alarms(periods: int) -> None:
    # 3,000 charts whose centre is the mean of so many normal points; each rule begins
    # anew after its alarm, so that alarms a period are the mean of 1 / run length.
    rng = np.random.default_rng(15)
    often = _alarms_a_period(rng.normal(size=(periods, 3000)).mean(axis=0), rng)
    known = _alarms_a_period(np.zeros(3000), rng).mean()
    error = 4 * np.sqrt(np.var(often) / 3000) / known
    assert alarm_factor(periods) == pytest.approx(often.mean() / known, abs=error)


def _alarms_a_period(off: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    run, drift, alarms = np.zeros(3000), np.zeros(3000), np.zeros(3000)
    for _ in range(600):
        z = rng.normal(size=3000) - off
        run = np.where(run * z > 0, run + np.sign(z), np.sign(z))
        at_run = (np.abs(z) > 3) | (np.abs(run) >= 8)
        drift = 0.2 * z + 0.8 * drift
        at_drift = np.abs(drift) > 2.962 / 3
        alarms += at_run.astype(int) + at_drift
        run, drift = np.where(at_run, 0, run), np.where(at_drift, 0, drift)
    return alarms / 600
