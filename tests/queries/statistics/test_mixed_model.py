"""The mixed model: published regressions, a reference library, and a dense twin."""

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import statsmodels.formula.api as smf
from numpy.typing import NDArray

from queries.statistics.mixed_model import (
    Counts,
    Floats,
    MixedFit,
    fit_mixed,
    groups_of_rows,
    least_squares,
)

# NIST Statistical Reference Datasets, linear least squares: data and certified values.
NORRIS_X = [
    *(0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4),
    *(0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3),
    *(0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5),
]
NORRIS_Y = [
    *(0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3),
    *(0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3),
    *(0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2),
]
LONGLEY = [
    (60323, 83.0, 234289, 2356, 1590, 107608, 1947),
    (61122, 88.5, 259426, 2325, 1456, 108632, 1948),
    (60171, 88.2, 258054, 3682, 1616, 109773, 1949),
    (61187, 89.5, 284599, 3351, 1650, 110929, 1950),
    (63221, 96.2, 328975, 2099, 3099, 112075, 1951),
    (63639, 98.1, 346999, 1932, 3594, 113270, 1952),
    (64989, 99.0, 365385, 1870, 3547, 115094, 1953),
    (63761, 100.0, 363112, 3578, 3350, 116219, 1954),
    (66019, 101.2, 397469, 2904, 3048, 117388, 1955),
    (67857, 104.6, 419180, 2822, 2857, 118734, 1956),
    (68169, 108.4, 442769, 2936, 2798, 120445, 1957),
    (66513, 110.8, 444546, 4681, 2637, 121950, 1958),
    (68655, 112.6, 482704, 3813, 2552, 123366, 1959),
    (69564, 114.2, 502601, 3931, 2514, 125368, 1960),
    (69331, 115.7, 518173, 4806, 2572, 127852, 1961),
    (70551, 116.9, 554894, 4007, 2827, 130081, 1962),
]


def _plain(terms: Floats, outcome: Floats) -> MixedFit:
    nobody = np.zeros(len(outcome), dtype=np.int64)
    return least_squares(groups_of_rows(terms, outcome, nobody, nobody))


def _raw(fit: MixedFit) -> tuple[Floats, Floats]:
    """Return coefficients and errors with the intercept where all terms are 0."""
    nothing = np.zeros(len(fit.beta))
    nothing[0] = 1.0
    beta, errors = fit.beta.copy(), np.sqrt(np.diag(fit.covariance))
    beta[0], errors[0] = fit.mean(nothing), np.sqrt(fit.mean_var(nothing))
    return beta, errors


def _polynomial(x: Floats, degree: int) -> Floats:
    return np.column_stack([x**power for power in range(degree + 1)])


def test_norris() -> None:
    terms = _polynomial(np.array(NORRIS_X), 1)
    fit = _plain(terms, np.array(NORRIS_Y))
    beta, errors = _raw(fit)
    assert beta == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    assert errors == pytest.approx([0.232818234301152, 0.000429796848199937], rel=1e-10)
    assert np.sqrt(fit.residual_var) == pytest.approx(0.884796396144373, rel=1e-10)


def test_longley_highly_collinear() -> None:
    data = np.array(LONGLEY, dtype=np.float64)
    terms = np.column_stack([np.ones(len(data)), data[:, 1:]])
    fit = _plain(terms, data[:, 0])
    beta, errors = _raw(fit)
    assert beta == pytest.approx(
        [
            *(-3482258.63459582, 15.0618722713733, -0.035819179292591),
            *(-2.02022980381683, -1.03322686717359, -0.0511041056535807),
            1829.15146461355,
        ],
        rel=1e-7,
    )
    assert errors == pytest.approx(
        [
            *(890420.383607373, 84.9149257747669, 0.0334910077722432),
            *(0.488399681651699, 0.214274163161675, 0.22607320006937),
            455.478499142212,
        ],
        rel=1e-7,
    )
    assert np.sqrt(fit.residual_var) == pytest.approx(304.854073561965, rel=1e-7)


def test_wampler1_exact_polynomial() -> None:
    """All six coefficients are 1: plain normal equations lose this one.

    The residual is 0 up to the rounding of the sums of squares that it is the
    difference of: 21 terms, each within half a unit in the last place.
    """
    x = np.arange(21, dtype=np.float64)
    terms = _polynomial(x, 5)
    outcome = terms.sum(axis=1)
    fit = _plain(terms, outcome)
    beta, _ = _raw(fit)
    assert beta == pytest.approx(np.ones(6), abs=1e-6)
    rounding = 21 * np.finfo(float).eps * (outcome @ outcome)
    assert fit.residual_var < rounding / (21 - 6)


Data = tuple[Floats, Floats, Counts, Counts]


@pytest.fixture(scope="module")
def nested() -> Data:
    """Return terms, outcome, crews and sites: 8 sites of 4 crews of 25 rows."""
    rng = np.random.default_rng(1)
    crew = np.repeat(np.arange(32), 25)
    site = crew // 4
    terms = np.column_stack([np.ones(800), rng.normal(3, 1, 800), rng.normal(size=800)])
    outcome = (
        terms @ np.array([1.0, 0.5, 0.2])
        + rng.normal(0, 0.4, 8)[site]
        + rng.normal(0, 0.3, 32)[crew]
        + rng.normal(0, 0.5, 800)
    )
    return terms, outcome, crew, site


def test_least_squares_is_the_library_s(nested: Data) -> None:
    terms, outcome, _, _ = nested
    beta, errors = _raw(_plain(terms, outcome))
    expected = sm.OLS(outcome, terms).fit()
    assert beta == pytest.approx(expected.params, rel=1e-9)
    assert errors == pytest.approx(expected.bse, rel=1e-9)


def test_mixed_fit_is_the_library_s(nested: Data) -> None:
    """statsmodels MixedLM, REML; its optimiser stops short of ours in the variances."""
    terms, outcome, crew, site = nested
    fit = fit_mixed(groups_of_rows(terms, outcome, crew, site))
    frame = pd.DataFrame(
        {"y": outcome, "x": terms[:, 1], "z": terms[:, 2], "site": site, "crew": crew}
    )
    expected = smf.mixedlm(
        "y ~ x + z",
        frame,
        groups="site",
        re_formula="1",
        vc_formula={"crew": "0 + C(crew)"},
    ).fit(reml=True, method="lbfgs")
    beta, _ = _raw(fit)
    assert beta == pytest.approx(expected.fe_params.to_numpy(), rel=1e-6)
    assert fit.log_likelihood == pytest.approx(expected.llf, rel=1e-9)
    assert fit.residual_var == pytest.approx(expected.scale, rel=1e-5)
    assert fit.crew_var == pytest.approx(expected.vcomp[0], rel=1e-4)
    assert fit.site_var == pytest.approx(float(expected.cov_re.iloc[0, 0]), rel=1e-4)


def test_effects_and_errors_are_those_of_the_dense_formulas(nested: Data) -> None:
    """Henderson 1975: u = G Z' V^-1 (y - X b), from matrices over all rows."""
    terms, outcome, crew, site = nested
    fit = fit_mixed(groups_of_rows(terms, outcome, crew, site))
    by_site = (site[:, None] == np.arange(8)).astype(float)
    by_crew = (crew[:, None] == np.arange(32)).astype(float)
    covariance = (
        fit.site_var * by_site @ by_site.T
        + fit.crew_var * by_crew @ by_crew.T
        + fit.residual_var * np.eye(800)
    )
    inverse = np.linalg.inv(covariance)
    spread = np.linalg.inv(terms.T @ inverse @ terms)
    dense = spread @ terms.T @ inverse @ outcome
    beta, errors = _raw(fit)
    assert beta == pytest.approx(dense, rel=1e-8)
    assert errors == pytest.approx(np.sqrt(np.diag(spread)), rel=1e-8)
    weighted = inverse @ (outcome - terms @ dense)
    assert fit.site_effect == pytest.approx(
        fit.site_var * by_site.T @ weighted, abs=1e-9
    )
    assert fit.crew_effect == pytest.approx(
        fit.crew_var * by_crew.T @ weighted, abs=1e-9
    )
    # Prediction variance of a known site's own mean at given terms, beta unknown.
    at = np.array([1.0, 2.0, -1.0])
    gain = fit.site_var * by_site.T @ inverse
    lean = at - gain[0] @ terms
    rest = fit.site_var - fit.site_var * float(gain[0] @ by_site[:, 0])
    away = (at - fit.centre) - fit.site_lean[0]
    found = away @ fit.covariance @ away + fit.site_rest[0]
    assert found == pytest.approx(lean @ spread @ lean + rest, rel=1e-7)


def test_without_group_effects_their_variances_are_nothing() -> None:
    rng = np.random.default_rng(3)
    crew = np.repeat(np.arange(20), 30)
    # Every crew has the same thirty outcomes: less alike than chance would make them.
    outcome = np.tile(rng.normal(size=30), 20)
    fit = fit_mixed(groups_of_rows(np.ones((600, 1)), outcome, crew, crew // 4))
    assert fit.crew_var < 1e-6
    assert fit.site_var < 1e-6


@pytest.mark.parametrize(
    "make",
    [
        lambda x: np.zeros_like(x),
        lambda x: np.full_like(x, 0.1),
        lambda x: 3 * x + 1,
    ],
)
def test_a_term_that_cannot_be_told_apart_is_left_out(
    make: Callable[[Floats], Floats], nested: Data
) -> None:
    terms, outcome, crew, site = nested
    more = np.column_stack([terms, make(terms[:, 1])])
    fit = fit_mixed(groups_of_rows(more, outcome, crew, site))
    plain = fit_mixed(groups_of_rows(terms, outcome, crew, site))
    kept: NDArray[np.bool_] = fit.is_kept
    assert kept.tolist() == [True, True, True, False]
    assert fit.beta[:3] == pytest.approx(plain.beta, rel=1e-6)
    assert fit.beta[3] == 0


@pytest.mark.parametrize("every", [2, 3, 7, 11, 13])
def test_leaving_out_the_only_site_of_a_term(every: int, nested: Data) -> None:
    """About the others' centre the term is a constant, which must not be fitted."""
    terms, outcome, crew, site = nested
    only = np.column_stack([terms, 0.3 * (site == 0) * (np.arange(800) % every == 0)])
    fit = fit_mixed(groups_of_rows(only, outcome, crew, site).without_site(0))
    assert not fit.is_kept[3]
    rest = site != 0
    expected = fit_mixed(
        groups_of_rows(terms[rest], outcome[rest], crew[rest] - 4, site[rest] - 1)
    )
    assert fit.beta[1:3] == pytest.approx(expected.beta[1:], rel=1e-6)
