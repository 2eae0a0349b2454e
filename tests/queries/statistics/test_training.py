"""Did it work: luck is not taken for effect, and an effect is found."""

import numpy as np
import pytest
from scipy.stats import betabinom

from queries.statistics.outliers import fit_many_and_few
from queries.statistics.training import (
    BeforeAfter,
    TrainingEffect,
    _differences,
    training_effect,
)


def season(
    rng: np.random.Generator,
    *,
    judged: int = 150,
    trend: float = 1.0,
    effect: float = 1.0,
    alike: float = 80,
) -> tuple[BeforeAfter, int, float]:
    """40 crews around 5 %; the worst of them is trained. Returns its true rate after.

    All rates move by `trend`, the trained crew's by `effect` besides.
    """
    true = rng.beta(0.05 * alike, 0.95 * alike, 40)
    before = rng.binomial(judged, true)
    crew = int(np.argmax(before))
    later = true * trend
    later[crew] *= effect
    n = np.full(40, float(judged))
    after = rng.binomial(judged, later).astype(float)
    return BeforeAfter(before.astype(float), n, after, n), crew, float(true[crew])


# The list of traps: retraining chosen by last month's worst. Useless training shows a
# fall of a fifth in the raw rates, and about none against the expectation.
def test_useless_training_of_the_worst_crew() -> None:
    rng = np.random.default_rng(71)
    answers: list[TrainingEffect] = []
    raw = []
    for _ in range(80):
        counts, crew, _ = season(rng)
        answer = training_effect(counts, crew)
        answers.append(answer)
        raw.append(answer.observed - counts.x_before[crew] / counts.n_before[crew])
    differences = np.array([answer.difference for answer in answers])
    error = np.std(differences) / np.sqrt(80)
    # The raw fall is far from 0, the difference within its margin and a tenth of it.
    assert np.mean(raw) < -0.02
    slack = 4 * error + 0.1 * abs(float(np.mean(raw)))
    assert np.mean(differences) == pytest.approx(0, abs=slack)
    said_to_work = np.mean([answer.high < 0 for answer in answers])
    assert said_to_work < 0.025 + 4 * np.sqrt(0.025 / 80)


def test_training_that_works_is_found() -> None:
    rng = np.random.default_rng(72)
    found = []
    for _ in range(40):
        counts, crew, _ = season(rng, judged=600, effect=0.2, alike=40)
        found.append(training_effect(counts, crew).high < 0)
    assert np.mean(found) > 0.9


def test_a_trend_of_all_crews_is_not_an_effect() -> None:
    rng = np.random.default_rng(73)
    wrong = []
    for _ in range(60):
        counts, crew, _ = season(rng, judged=400, trend=0.5)
        wrong.append(training_effect(counts, crew).high < 0)
    assert np.mean(wrong) < 0.025 + 4 * np.sqrt(0.025 / 60)


# Sixty crews at 2 % and one at 15 %: the one is no luck, and keeps its rate.
def test_a_crew_plainly_unlike_the_others_keeps_its_rate() -> None:
    rng = np.random.default_rng(74)
    n = np.full(61, 100.0)
    x = np.append(rng.binomial(100, 0.02, 60), 15).astype(float)
    fitted = fit_many_and_few(x, n)
    assert fitted.unlike[60] > 0.99
    assert fitted.rates(x, n)[60] == pytest.approx(16 / 102, abs=0.002)
    assert fitted.spread.mean == pytest.approx(x[:60].sum() / 6000, abs=0.003)
    # Three of 100 are no sign of anything.
    assert fitted.unlike[:60].max() < 0.2


def test_chances_of_being_unlike_by_another_library() -> None:
    x, n = np.array([1.0, 2, 3, 2, 4, 1, 2, 30]), np.full(8, 100.0)
    fitted = fit_many_and_few(x, n)
    a, b = fitted.spread.alpha, fitted.spread.beta
    if np.isinf(fitted.spread.strength):
        a, b = fitted.spread.mean * 1e7, (1 - fitted.spread.mean) * 1e7
    many, few = betabinom.pmf(x, n, a, b), betabinom.pmf(x, n, 1, 1)
    share = fitted.unlike.mean()
    expected = share * few / (share * few + (1 - share) * many)
    assert fitted.unlike == pytest.approx(expected, abs=0.01)


def test_arithmetic_of_crews_that_do_not_differ() -> None:
    n = np.full(10, 100.0)
    counts = BeforeAfter(np.full(10, 10.0), n, np.array([2.0] + [5.0] * 9), n)
    answer = training_effect(counts, 0)
    # The nine others: (45 + 1/2) / (90 + 1/2); the probable rate before is the mean.
    assert answer.trend == pytest.approx(45.5 / 90.5)
    assert answer.probable_before == pytest.approx(0.10, abs=0.001)
    assert answer.expected == pytest.approx(answer.probable_before * 45.5 / 90.5)
    assert answer.difference == pytest.approx(0.02 - answer.expected)
    assert answer.low < answer.difference < answer.high
    # Nobody fell as far: the nine placebos all went where the trend went.
    assert (answer.placebos, answer.placebo_share) == (9, 0.0)


def test_detectable_fall_has_the_power_it_says() -> None:
    rng = np.random.default_rng(75)
    n = np.full(30, 2000.0)
    x = rng.binomial(2000, 0.10, 30).astype(float)
    first = training_effect(BeforeAfter(x, n, x, n), 0)
    assert first.detectable_fall is not None
    rate = first.expected - first.detectable_fall
    seen = []
    for _ in range(100):
        after = rng.binomial(2000, 0.10, 30).astype(float)
        after[0] = rng.binomial(2000, rate)
        seen.append(training_effect(BeforeAfter(x, n, after, n), 0).high < 0)
    assert np.mean(seen) == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / 100))


def test_with_few_checks_no_fall_could_be_seen() -> None:
    n = np.full(5, 20.0)
    counts = BeforeAfter(np.array([1.0, 0, 1, 0, 1]), n, np.zeros(5), n)
    assert training_effect(counts, 0).detectable_fall is None


@pytest.mark.parametrize(
    ("counts", "words"),
    [
        (([1, 1], [9, 9], [0, 1], [0, 9]), "nothing of the crew is judged after"),
        (([1, 0], [9, 0], [1, 1], [9, 9]), "no other crew is judged both"),
        (([0, 0], [9, 9], [1, 1], [9, 9]), "none, or all"),
    ],
)
def test_too_little_to_say_anything(counts: tuple[list[int], ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        training_effect(BeforeAfter(*(np.array(part, float) for part in counts)), 0)


def test_a_placebo_is_left_out_of_its_own_trend() -> None:
    n = np.full(3, 100.0)
    counts = BeforeAfter(np.full(3, 10.0), n, np.array([10.0, 4.0, 10.0]), n)
    untreated = np.array([False, True, True])
    found = _differences(counts, np.full(3, 0.1), untreated)
    # By the trend of the other untreated one: 10.5 / 10.5, and 4.5 / 10.5.
    assert np.isnan(found[0])
    assert found[1:] == pytest.approx([0.04 - 0.1, 0.10 - 0.1 * 4.5 / 10.5])
