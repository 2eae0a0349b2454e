"""p chart and p′ chart against published cases."""

import numpy as np
import pytest

from queries.statistics.control_chart import laney_sigma_z, p_limits, z_scores

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2: 30 wafers of 50 chips. The
# handbook's centre 0.2313 (page text), upper limit 0.4102 and lower 0.0524 (memory).
FIRST_HALF = (12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22)
SECOND_HALF = (8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6)
NIST = np.array([*FIRST_HALF, *SECOND_HALF])

# R package autospc, its stored reference answer (made with qicharts2 0.7.2): a p′
# chart of 21 subgroups, in per cent.
LANEY_X = np.array(
    [55, 42, 46, 50, 49, 53, 44, 46, 46, 54, 48, 56, 47, 43, 57, 42, 55, 51, 52, 55, 48]
)
LANEY_N = np.array(
    [
        *(197, 196, 198, 209, 201, 199, 202, 195, 205, 191, 197),
        *(207, 196, 195, 205, 197, 206, 197, 183, 195, 192),
    ]
)
LANEY_CENTRE = 24.9579630074466
LANEY_UPPER_FIRST, LANEY_LOWER_LAST = 33.1249784025299, 16.6852897219783


def test_p_limits_of_the_handbook() -> None:
    n = np.full(30, 50)
    centre = NIST.sum() / n.sum()
    lower, upper = p_limits(n, centre)
    assert centre == pytest.approx(0.2313, abs=5e-5)
    assert set(np.round(lower, 4)) == {0.0524}
    assert set(np.round(upper, 4)) == {0.4102}
    # The handbook: wafers 15 and 23 lie beyond the upper limit.
    assert list(np.flatnonzero(NIST / n > upper) + 1) == [15, 23]


def test_laney_s_sigma_and_limits() -> None:
    centre = LANEY_X.sum() / LANEY_N.sum()
    sigma_z = laney_sigma_z(LANEY_X, LANEY_N, centre)
    assert 100 * centre == pytest.approx(LANEY_CENTRE)
    assert sigma_z == pytest.approx(0.882914, abs=5e-7)
    lower, upper = p_limits(LANEY_N, centre, sigma_z)
    assert 100 * upper[0] == pytest.approx(LANEY_UPPER_FIRST, abs=1e-8)
    assert 100 * lower[-1] == pytest.approx(LANEY_LOWER_LAST, abs=1e-8)


def test_idle_periods_have_no_limits_and_are_stepped_over() -> None:
    n, x = np.array([100, 0, 100]), np.array([10, 0, 22])
    lower, upper = p_limits(n, 0.16)
    assert np.isnan([lower[1], upper[1]]).all()
    z = z_scores(x, n, 0.16)
    assert laney_sigma_z(x, n, 0.16) == pytest.approx((z[2] - z[0]) / 1.128)


def test_limits_stay_between_nothing_and_everything() -> None:
    lower, upper = p_limits(np.array([3]), 0.5)
    assert (lower[0], upper[0]) == (0.0, 1.0)


def test_sigma_of_one_period_is_unknown() -> None:
    assert np.isnan(laney_sigma_z(np.array([3]), np.array([10]), 0.3))


# Laney's chart in its use: weeks whose rate itself varies. Three-sigma limits of the
# plain chart alarm many times as often as promised, those of p′ about as promised.
def test_false_alarms_where_weeks_vary() -> None:
    rng = np.random.default_rng(20260504)
    n = np.full(400, 200)
    plain = laney = 0
    for _ in range(25):
        x = rng.binomial(n, np.clip(rng.normal(0.10, 0.04, len(n)), 0, 1))
        centre = x.sum() / n.sum()
        rate = x / n
        for sigma_z in (1.0, laney_sigma_z(x, n, centre)):
            lower, upper = p_limits(n, centre, sigma_z)
            beyond = int(((rate > upper) | (rate < lower)).sum())
            if sigma_z == 1.0:
                plain += beyond
            else:
                laney += beyond
    points = 25 * len(n)
    # Standard deviation of a rate: sqrt(0.09/200 + 0.04^2) = 0.045, limits at 0.064:
    # 2 P(Z > 1.41) = 16 % promised to be 0.27 %.
    assert plain / points == pytest.approx(0.16, abs=0.02)
    assert laney / points < 0.006
