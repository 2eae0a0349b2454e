"""Benjamini and Hochberg's own example, and another library."""

import numpy as np
import pytest
from statsmodels.stats.multitest import multipletests

from queries.statistics.multiple import benjamini_hochberg

# Benjamini and Hochberg 1995, J. R. Stat. Soc. B 57:289-300, section 4: at 5 % four of
# these are rejected, the largest 0.0095 (three by Bonferroni).
P_VALUES = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459]
P_VALUES += [0.324, 0.4262, 0.5719, 0.6528, 0.759, 1.0]


def test_the_paper_s_example() -> None:
    q_values = benjamini_hochberg(np.array(P_VALUES))
    assert [p for p, q in zip(P_VALUES, q_values, strict=True) if q <= 0.05] == [
        0.0001,
        0.0004,
        0.0019,
        0.0095,
    ]


def test_as_another_library_in_any_order() -> None:
    p = np.random.default_rng(5).permutation([*P_VALUES, 0.0278, 0.5])
    expected = multipletests(p, method="fdr_bh")[1]
    assert benjamini_hochberg(p) == pytest.approx(expected)


def test_what_was_not_asked_does_not_count() -> None:
    q_values = benjamini_hochberg(np.array([0.01, np.nan, 0.04]))
    assert q_values[[0, 2]] == pytest.approx([0.02, 0.04])
    assert np.isnan(q_values[1])
    assert len(benjamini_hochberg(np.array([]))) == 0
