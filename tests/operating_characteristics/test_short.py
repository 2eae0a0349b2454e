"""A short form of the simulations: the promise, the power, and a report that reads."""

from dataclasses import replace

import numpy as np
import pytest

from tests.operating_characteristics.charts import Weeks, chart, chart_lines
from tests.operating_characteristics.edited import (
    Editing,
    edited_lines,
    list_batches,
)
from tests.operating_characteristics.measure import measure, rate_coverage
from tests.operating_characteristics.report import report
from tests.operating_characteristics.taught import Season, taught_lines, teach
from tests.operating_characteristics.worlds import World

RUNS = 60


@pytest.mark.parametrize("groups", [2, 8, 60])
@pytest.mark.parametrize("correlation", [0.0, 0.1])
def test_false_alarms_and_power(groups: int, correlation: float) -> None:
    rng = np.random.default_rng(groups)
    found = measure(World(groups, 1000, correlation, 0.3), RUNS, rng)
    # Promised are 5 %; four standard errors of 60 runs.
    assert found.false_alarm <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / RUNS)
    assert found.power > 0.7
    assert found.covered is not None
    # Of two groups the others are as uncertain as the group, which the interval of
    # observed / expected does not know: twice the variance, a normal 83 %.
    assert found.covered > (0.8 if groups == 2 else 0.9) - 4 * np.sqrt(0.1 / RUNS)


def test_little_or_nothing_judged_flags_nobody_wrongly() -> None:
    rng = np.random.default_rng(5)
    for judged in (0, 5):
        found = measure(World(8, judged, 0.1, 0.3), RUNS, rng)
        assert found.false_alarm <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / RUNS)
    assert measure(World(8, 0, 0.0, 0.0), 3, rng).covered is None


def test_the_probable_rate_s_interval() -> None:
    held = rate_coverage(World(20, 200, 0.0, 0.0), 40, np.random.default_rng(6))
    # 800 intervals; the worlds' spread is not drawn from the prior: a little is lost.
    assert held is not None
    assert held > 0.95 - 0.02 - 4 * np.sqrt(0.05 * 0.95 / 800)


def test_the_report_names_every_world() -> None:
    rng = np.random.default_rng(7)
    worlds = [World(3, judged, 0.0, 0.0) for judged in (0, 30)]
    measured = [measure(world, 2, rng) for world in worlds]
    text = report(measured, [(worlds[0], None)], seed=7, runs=2)
    assert "Seed 7, 2 drawings a world, 2 worlds." in text
    assert "| 3 | 30 | 0.0 | 0% |" in text
    assert "| 3 | 0 | none |" in text


def test_honest_crews_with_habits_are_hardly_ever_listed() -> None:
    found = list_batches(Editing(0.0), 30, np.random.default_rng(8))
    # Promised: one batch in two stores of 1,800 honest ones.
    assert found.wrong <= 0.5 * 30


@pytest.mark.parametrize(("edited", "least"), [(0.08, 0.03), (0.18, 0.55)])
def test_of_what_is_listed_nine_of_ten_are_edited(edited: float, least: float) -> None:
    found = list_batches(Editing(edited), 30, np.random.default_rng(9))
    # Four standard errors of a count of one in ten.
    margin = 4 * np.sqrt(0.1 * 0.9 * max(found.listed, 1))
    assert found.wrong <= 0.1 * found.listed + margin
    assert found.found >= least * found.edited


@pytest.mark.parametrize(("crews", "sites"), [(3, 1), (4, 1), (24, 6)])
def test_few_crews_at_a_site_do_not_hide_the_one_that_edits(
    crews: int, sites: int
) -> None:
    editing = Editing(0.18, crews, 50, sites=sites)
    found = list_batches(editing, 30, np.random.default_rng(9))
    margin = 4 * np.sqrt(0.1 * 0.9 * max(found.listed, 1))
    assert found.wrong <= 0.1 * found.listed + margin
    # With the others' shares as they are none is found of 3 crews, 19 of 100 of 4.
    assert found.found >= 0.3 * found.edited
    honest = list_batches(replace(editing, edited=0), 30, np.random.default_rng(9))
    # As promised of larger sites: one in two stores, and four standard errors.
    assert honest.wrong <= 0.5 * 30 + 4 * np.sqrt(0.5 * 30)


def test_editing_no_larger_than_habits_is_hardly_listed() -> None:
    # 5 % edited beside habits of up to 10 %: what is listed may be either.
    found = list_batches(Editing(0.05), 30, np.random.default_rng(9))
    assert found.wrong <= 0.5 * 30
    assert found.found <= 0.03 * found.edited


def test_the_report_names_every_editing() -> None:
    editing = [Editing(share, 4, 10) for share in (0.0, 0.3)]
    rng = np.random.default_rng(10)
    lines = edited_lines([list_batches(each, 2, rng) for each in editing])
    assert lines[-2].startswith("| 0% | 4 | 1 | 10 | 2 |")
    assert lines[-2].endswith(" | none |")
    assert lines[-1].startswith("| 30% | 4 | 1 | 10 | 2 |")


def test_quiet_charts_alarm_about_as_often_as_they_say() -> None:
    found = chart(Weeks(1000), 60, np.random.default_rng(11))
    assert found.promised is not None
    # Some 2,000 weeks at risk; four standard errors of a count of their share.
    margin = 4 * np.sqrt(20 * found.promised) / 20
    assert found.alarms <= found.promised + margin
    assert found.seen > 0.9
    nothing = chart(Weeks(0), 3, np.random.default_rng(11))
    assert (nothing.alarms, nothing.promised, nothing.seen) == (0, None, 0)
    lines = chart_lines([nothing, found])
    assert lines[-2] == "| 0 | 0.0 | 0% | 3 | 0.0 | none | 0.0 |"


def test_useless_trainings_are_seldom_said_to_work() -> None:
    found = teach(Season(8, 200, 0.1, 0.3), 30, np.random.default_rng(12))
    assert found.claimed is not None
    assert found.held is not None
    assert found.claimed <= 0.025 + 4 * np.sqrt(0.025 / 30)
    assert found.held >= 0.95 - 4 * np.sqrt(0.05 / 60)
    nobody = teach(Season(2, 0), 2, np.random.default_rng(12))
    lines = taught_lines([nobody, found])
    assert lines[-2] == "| 2 | 0 | 0.0 | 0% | 0 | none | none | none |"
