"""Predictions of drilling time: traps of means, sums and new sites, by simulation."""

from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
import polars as pl
import pytest
from scipy import special, stats

from dashboard.drilling_words import wear_words
from queries.statistics.abandonment import Abandonment, fit_abandonment
from queries.statistics.drilling_effects import study_check, tells_wear, wear_curve
from queries.statistics.drilling_model import DrillingModel, Smearing, smearing
from queries.statistics.drilling_prediction import (
    Hole,
    depth_term,
    draw,
    moments,
    one_hole,
    quantile,
    spread_shares,
    total,
)
from queries.statistics.drilling_terms import Labels, Residuals, Terms
from queries.statistics.mixed_model import fit_mixed, groups_of_rows
from queries.statistics.vibration import (
    exposure_points,
    holes_until,
)

TERMS = Terms(methods=("hammer",), orientations=("floor",))


def _never(sites: int) -> Abandonment:
    nothing = np.zeros(40)
    return Abandonment(5.0, nothing, nothing, 0.0, np.zeros(sites), np.zeros(sites))


def _model(
    seed: int, sites: int = 12, site_sd: float = 0.2, rows: int = 40
) -> tuple[DrillingModel, float]:
    """Return the model of a simulated store, and the true effect of its next site.

    log s = 2 + log(depth / 100) + site + crew + noise; two crews a site.
    """
    rng = np.random.default_rng(seed)
    crew = np.repeat(np.arange(2 * sites), rows)
    site = crew // 2
    terms = np.zeros((len(crew), len(TERMS.names)))
    terms[:, 0] = 1.0
    terms[:, 1] = rng.normal(0, 0.2, len(crew))
    effects = rng.normal(0, site_sd, sites + 1)
    noise = rng.normal(0, 0.3, len(crew))
    crews = rng.normal(0, 0.1, 2 * sites)
    outcome = 2 + terms[:, 1] + effects[:sites][site] + crews[crew] + noise
    fit = fit_mixed(groups_of_rows(terms, outcome, crew, site), fine=False)
    names = [f"S{number}" for number in range(sites)]
    mean = Smearing(exp(0.3**2 / 2), exp(2 * 0.3**2))
    model = DrillingModel(
        fit=fit,
        terms=TERMS,
        labels=Labels(tuple(names), tuple((one, "C") for one in names for _ in "ab")),
        holes=len(crew),
        noise_var=fit.residual_var,
        noise_log=0.3 * special.ndtri((np.arange(400) + 0.5) / 400),
        checks=pl.DataFrame(),
        completed=mean,
        through=mean,
        abandoned=mean,
        through_share=0.0,
        usual_bit_m=0.0,
        usual_strength=0.0,
        usual_worn=0.0,
        abandonment=_never(sites),
        coverage=(),
    )
    return model, float(effects[-1])


@pytest.fixture(scope="module")
def model() -> DrillingModel:
    return _model(1)[0]


def _hole(depth_mm: float = 100.0) -> Hole:
    return Hole(TERMS.row(depth=depth_term(depth_mm)), depth_mm)


def test_smearing_turns_a_mean_of_logs_into_a_mean() -> None:
    """The trap: exp(mean log) 1.21 read for a mean of 1.38 (Duan 1983).

    Log-normal, so the factor is exp(variance / 2) = 1.38 / 1.21.
    """
    sd = sqrt(2 * log(1.38 / 1.21))
    logs = np.random.default_rng(5).normal(log(1.21), sd, 200_000)
    bins = np.floor(5 * logs).astype(int)
    bins -= bins.min()
    n = np.bincount(bins).astype(float)
    mean = np.bincount(bins, logs) / np.maximum(n, 1)
    var = np.bincount(bins, logs**2) / np.maximum(n, 1) - mean**2
    there = n > 0
    found = smearing(Residuals(n[there], (mean - log(1.21))[there], var[there]))
    assert 1.21 * found.mean == pytest.approx(1.38, rel=0.005)
    # And it is the plain mean of the values, which the bins no longer hold.
    assert 1.21 * found.mean == pytest.approx(np.exp(logs).mean(), rel=1e-4)
    assert found.square == pytest.approx(np.mean(np.exp(2 * logs)) / 1.21**2, rel=1e-3)


def test_what_is_mixed_has_the_mean_of_its_own_times(model: DrillingModel) -> None:
    """The trap again: half of the holes by worn bits, which take 2.5 times as long.

    By each alone: a half of either, and of the squares; the middle of the logarithms
    would be sqrt(2.5) = 1.58, the mean is 1.75 times the sound bit's.
    """
    worn = TERMS.index("bit worn")
    draws = draw(model, None, count=200)
    draws.beta[:, worn] = log(2.5)
    sound, blunt, half = (
        Hole(TERMS.row(depth=depth_term(100.0), bit_worn=share), 100.0, mixed)
        for share, mixed in ((0.0, ()), (1.0, ()), (0.5, (((worn, 0.5),),)))
    )
    each = [moments(model, draws, hole) for hole in (sound, blunt)]
    both = moments(model, draws, half)
    assert both.mean_s == pytest.approx(1.75 * each[0].mean_s)
    squares = [one.var_s2 + one.mean_s**2 for one in each]
    assert both.var_s2 + both.mean_s**2 == pytest.approx(sum(squares) / 2)
    many = draw(model, None, vary=("holes",), count=40_000)
    many.beta[:, worn] = log(2.5)
    drawn = one_hole(model, many, half)
    assert drawn.mean() == pytest.approx(
        float(moments(model, many, half).mean_s[0]), rel=0.02
    )


def test_a_new_site_needs_its_own_interval() -> None:
    """The trap: a pooled interval for the mean is no interval for another site.

    80 simulated stores of 12 sites; the next site's true mean against the nominal
    80 % interval for it, and against the interval of the pooled mean.
    """
    held, pooled = 0, 0
    runs = 80
    for seed in range(runs):
        model, effect = _model(seed, rows=10)
        truth = exp(2 + effect) * model.completed.mean
        draws = draw(model, None, vary=("site", "model"), count=500)
        low, high = quantile(moments(model, draws, _hole()).mean_s, 0.1, 0.9)
        held += low <= truth <= high
        # As if every hole were a draw of one pool: the deviation over sqrt(n).
        error = 1.2816 * sqrt((0.2**2 + 0.1**2 + 0.3**2) / model.holes)
        middle = float(model.fit.mean(_hole().terms))
        pooled += abs(log(truth / model.completed.mean) - middle) <= error
    error = 4 * sqrt(0.8 * 0.2 / runs)
    assert abs(held / runs - 0.8) <= error
    assert pooled / runs < 0.2


def test_a_known_site_is_foretold_more_narrowly(model: DrillingModel) -> None:
    def width(site: int | None) -> float:
        times = moments(model, draw(model, site), _hole()).mean_s
        low, high = quantile(times, 0.1, 0.9)
        return float(log(high / low))

    assert width(3) < 0.85 * width(None)


def test_rounding_hardly_moves_the_draws(model: DrillingModel) -> None:
    """Two readings of one edition, summed in another order, give the same minutes.

    A perturbation of one part in 10^9, as sums in another order differ by at most, may
    move the draws' spread by a like part, and never turn a direction of them round.
    """
    rng = np.random.default_rng(4)
    scale = np.sqrt(np.diag(model.fit.covariance))
    plain = draw(model, None).beta
    for _ in range(50):
        moved = rng.standard_normal(model.fit.covariance.shape)
        error = 1e-9 * np.outer(scale, scale) * (moved + moved.T)
        fit = replace(model.fit, covariance=model.fit.covariance + error)
        found = draw(replace(model, fit=fit), None).beta
        assert np.abs(found - plain).max() <= 1e-6 * scale.max()


def test_moments_are_those_of_single_holes() -> None:
    """The mean and variance of a good hole against holes simulated one by one."""
    model = _model(2)[0]
    hazard = np.full(40, 0.003)
    model = DrillingModel(
        **{
            **vars(model),
            "abandonment": Abandonment(
                5.0, hazard, 0 * hazard, 0.0, np.zeros(12), np.zeros(12)
            ),
        }
    )
    fixed = draw(model, None, vary=(), count=60_000, seed=9)
    here = moments(model, fixed, _hole())
    holes = one_hole(model, fixed, _hole())
    assert here.odds[0] == pytest.approx(exp(0.3) - 1, rel=1e-9)
    error = 5 * holes.std() / sqrt(len(holes))
    assert abs(holes.mean() - here.mean_s[0]) <= error
    assert holes.std() == pytest.approx(sqrt(here.var_s2[0]), rel=0.03)
    # The mean of completed holes alone understates a good hole.
    assert here.completed_s[0] < 0.9 * here.mean_s[0]


def test_wear_grows_by_the_slope_and_its_error() -> None:
    """0.5 % a metre is exp(0.005 x 60) = 1.35 after 60 m; +- 1.96 errors beside."""
    rng = np.random.default_rng(8)
    terms = np.zeros((4000, len(TERMS.names)))
    terms[:, 0], terms[:, 3] = 1.0, rng.uniform(0, 60, 4000)
    crew = np.arange(4000) % 8
    outcome = 2 + 0.005 * terms[:, 3] + rng.normal(0, 0.3, 4000)
    fit = fit_mixed(groups_of_rows(terms, outcome, crew, crew // 2), fine=False)
    worn = replace(_model(1, sites=4)[0], fit=fit)
    curve = wear_curve(worn)
    assert curve.row(0) == (0, 1, 1, 1)
    metres, factor, low, high = curve.row(-1)
    # By plain least squares; the crews do not differ.
    plain = stats.linregress(terms[:, 3], outcome)
    slope, error = plain.slope, plain.stderr
    assert (metres, factor) == (60, pytest.approx(exp(60 * slope), rel=0.01))
    assert low == pytest.approx(exp(60 * (slope - 1.96 * error)), rel=0.01)
    assert high == pytest.approx(exp(60 * (slope + 1.96 * error)), rel=0.01)
    assert study_check(worn).worn_factor == pytest.approx(factor ** (57 / 60))
    assert wear_curve(_model(1)[0]).is_empty()  # No bit's metres vary there.


def test_p80_of_a_sum_is_not_the_sum_of_p80(model: DrillingModel) -> None:
    """Where only hole-to-hole scatter varies, lines are independent: brute force."""
    lines = [(_hole(depth), 4) for depth in (80.0, 90.0, 100.0, 110.0, 120.0)]
    draws = draw(model, None, vary=(), count=20_000)
    by_line, whole = total(model, draws, lines)
    rng = np.random.default_rng(7)
    brute = sum(
        np.exp(
            float(model.fit.mean(hole.terms)) + rng.normal(0, 0.3, (20_000, count))
        ).sum(axis=1)
        for hole, count in lines
    )
    assert quantile(whole, 0.5, 0.8) == pytest.approx(
        np.quantile(brute, [0.5, 0.8]), rel=0.01
    )
    added = sum(np.quantile(by_line, 0.8, axis=0))
    assert added > 1.04 * quantile(whole, 0.8)[0]


def test_what_lines_share_does_not_even_out(model: DrillingModel) -> None:
    many = [(_hole(), 1000), (_hole(120.0), 1000)]
    causes = spread_shares(model, None, 1, many)
    assert sum(causes.values()) == pytest.approx(1)
    assert causes["site"] > 0.5
    assert causes["holes"] < 0.01
    # Ten crews even out, the site stays.
    assert spread_shares(model, None, 10, many)["crew"] < causes["crew"] / 3


def test_hazard_is_events_by_millimetres_drilled() -> None:
    """Hand-counted: 10 attempts, 2 given up at 7 mm, 8 finished at 10 mm (step 2).

    Step 0 to 5: none of 50 mm. Step 5 to 10: 2 of 2 x 2 + 8 x 5 = 44 mm.
    """
    found = fit_abandonment(
        np.array([1, 2]),
        np.array([2.0, 8.0]),
        np.array([2.0, 0.0]),
        np.array([14.0, 80.0]),
        np.array([0, 0]),
    )
    assert found.hazard[:2] == pytest.approx([0, 2 / 44])
    assert found.lost_by(5) == 0
    assert found.lost_by(7) == pytest.approx(1 - exp(-2 * 2 / 44))
    middles, shares = found.given_up_at(10)
    assert middles.tolist() == [2.5, 7.5]
    assert shares.tolist() == [0, 1]


def test_sites_that_differ_in_reinforcement_spread_a_new_one() -> None:
    step = np.tile([9, 10], 6)
    site = np.repeat(np.arange(6), 2)
    abandoned = np.array([[rate, 0] for rate in (10, 10, 10, 60, 60, 60)], float)
    found = fit_abandonment(
        step, np.tile([100.0, 900.0], 6), abandoned.ravel(), step * 5e2 + 10, site
    )
    assert found.spread > 0.2
    rng = np.random.default_rng(1)
    assert found.draw_factors(rng, 5000, 0).mean() < 0.5
    assert found.draw_factors(rng, 5000, 5).mean() > 1.5
    assert found.draw_factors(rng, 5000, None).mean() == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize(
    ("vibration", "to_action_min", "to_limit_min"),
    [(5, 120, 480), (8, 46.9, 187.5), (12, 20.8, 83.3), (16, 11.7, 46.9)],
)
def test_exposure_points(
    vibration: float, to_action_min: float, to_limit_min: float
) -> None:
    """Minutes to 2.5 and 5 m/s2 by A(8) = a sqrt(T / 8 h) (Directive 2002/44/EC)."""
    at_action, at_limit = 60 * to_action_min, 60 * to_limit_min
    assert vibration * (at_action / 28_800) ** 0.5 == pytest.approx(2.5, rel=2e-3)
    assert exposure_points(vibration, at_action) == pytest.approx(100, rel=5e-3)
    assert exposure_points(vibration, at_limit) == pytest.approx(400, rel=5e-3)
    assert holes_until(100, vibration, 10) == pytest.approx(6 * to_action_min, rel=5e-3)


# With metres from 0 to 0.5 the slope's error is 0.3 / (0.5 / sqrt(12) sqrt(400)), about
# 0.1 a metre: after 60 m an interval from exp(-12) to exp(12).
def test_what_a_narrow_range_of_metres_cannot_tell_is_not_told() -> None:
    rng = np.random.default_rng(8)
    terms = np.zeros((400, len(TERMS.names)))
    terms[:, 0], terms[:, 3] = 1.0, rng.uniform(0, 0.5, 400)
    crew = np.arange(400) % 8
    outcome = 2 + 0.005 * terms[:, 3] + rng.normal(0, 0.3, 400)
    fit = fit_mixed(groups_of_rows(terms, outcome, crew, crew // 2), fine=False)
    unclear = replace(_model(1, sites=4)[0], fit=fit)
    assert not tells_wear(unclear)
    assert wear_curve(unclear).is_empty()
    assert study_check(unclear).worn_factor is None
    assert wear_words(unclear) == "What a worn bit costs these logs do not tell."
