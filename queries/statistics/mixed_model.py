"""A linear model with random intercepts of sites and of crews within them, by REML.

Fitted on sums of squares and products within crews, which hold all that the model
needs of the rows: ten million rows cost what their crews cost. Patterson and Thompson
1971, Biometrika 58:545-554; Henderson 1975, Biometrics 31:423-447 (the predictions).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics.simplex import lowest_point

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

# A column that others explain but for this share of its variation is left out.
REDUNDANT = 1e-9
# So little of a column's mean square is rounding.
ROUNDED = 1e-12
# Outside these ratios of a random effect's to the residual deviation nothing is sought.
LARGEST_RATIO = 1e4


@dataclass(frozen=True)
class Groups:
    """Sums within crews. The last of the k columns is the outcome, the first is 1.

    `sums` (crews, k) and `cross` (crews, k, k) are of columns less `centre` (k; 0 for
    the first). `cross[:, 0, 0]` is the number of rows. `site` (crews) numbers the site
    of each crew from 0.
    """

    sums: Floats
    cross: Floats
    site: Counts
    centre: Floats

    @property
    def rows(self) -> Floats:
        """Rows of each crew."""
        return np.asarray(self.cross[:, 0, 0])

    @property
    def sites(self) -> int:
        """How many sites there are."""
        return int(self.site.max()) + 1 if len(self.site) else 0

    def without_site(self, site: int) -> "Groups":
        """Return the sums of all other sites, numbered anew."""
        keep = self.site != site
        _, renumbered = np.unique(self.site[keep], return_inverse=True)
        return Groups(self.sums[keep], self.cross[keep], renumbered, self.centre)


@dataclass(frozen=True)
class MixedFit:
    """The model fitted. Terms left out as redundant have coefficient and variance 0.

    `beta` (p) and `covariance` (p, p) belong to terms less `centre` (p); `is_kept` says
    which terms could be told apart. `residual_var`, `site_var`, `crew_var` are
    variances; `site_effect`, `crew_effect` the best linear predictions. The error of
    site s's effect is `-site_lean[s] @ (beta - true beta)` and an independent part of
    variance `site_rest[s]`. `log_likelihood` is the restricted one.
    """

    beta: Floats
    covariance: Floats
    centre: Floats
    is_kept: NDArray[np.bool_]
    residual_var: float
    site_var: float
    crew_var: float
    site_effect: Floats
    site_lean: Floats
    site_rest: Floats
    crew_effect: Floats
    log_likelihood: float

    def mean(self, terms: Floats) -> Floats:
        """Return the fixed part at terms (..., p) as they were given."""
        return np.asarray((terms - self.centre) @ self.beta)

    def mean_var(self, terms: Floats) -> Floats:
        """Return the variance of `mean`."""
        away = terms - self.centre
        return np.asarray(np.einsum("...i,ij,...j", away, self.covariance, away))


def groups_of_rows(
    terms: Floats, outcome: Floats, crew: Counts, site: Counts
) -> Groups:
    """Return the sums of rows: terms (n, p) with 1 first, crews and sites from 0.

    A crew belongs to one site.
    """
    columns = np.column_stack([terms, outcome])
    centre = columns.mean(axis=0)
    centre[0] = 0.0
    away = columns - centre
    crews, k = int(crew.max()) + 1, away.shape[1]
    sums, cross = np.zeros((crews, k)), np.zeros((crews, k, k))
    np.add.at(sums, crew, away)
    np.add.at(cross, crew, away[:, :, None] * away[:, None, :])
    site_of = np.zeros(crews, dtype=np.int64)
    site_of[crew] = site
    return Groups(sums, cross, site_of, centre)


def least_squares(groups: Groups) -> MixedFit:
    """Return ordinary least squares: no random effects."""
    return _fit_at(groups, _kept_terms(groups), 0.0, 0.0)


def fit_mixed(
    groups: Groups, start: tuple[float, float] = (0.3, 0.3), fine: bool = True
) -> MixedFit:
    """Return the REML fit; `start`: ratios of crew's and site's to residual deviation.

    `fine` searches to nine digits, else to four. A variance may be 0.
    """
    kept = _kept_terms(groups)

    def criterion(ratios: Floats) -> float:
        crew_ratio, site_ratio = np.minimum(np.abs(ratios), LARGEST_RATIO)
        return _profile(groups, kept, float(crew_ratio), float(site_ratio))

    tolerance = 1e-9 if fine else 1e-4
    found = lowest_point(criterion, np.asarray(start), tolerance, tolerance)
    crew_ratio, site_ratio = np.minimum(np.abs(found), LARGEST_RATIO)
    return _fit_at(groups, kept, float(crew_ratio), float(site_ratio))


def _kept_terms(groups: Groups) -> NDArray[np.int64]:
    """Return the terms that can be told apart, earlier ones first."""
    total = groups.cross.sum(axis=0)
    # What is left of a constant column is rounding, however small it looks by itself.
    # And it was rounded with its mean, which is taken off.
    rounding = ROUNDED * total[0, 0] * groups.centre**2
    least = REDUNDANT * np.diag(total) + rounding
    total = total - np.outer(total[0], total[0]) / max(total[0, 0], 1.0)
    spread = np.diag(total).copy()
    kept = [0]
    for term in range(1, len(spread) - 1):
        rest, others = spread[term], kept[1:]
        if others and rest > 0:
            within, across = total[np.ix_(others, others)], total[others, term]
            scale = np.sqrt(np.diag(within))
            solved = np.linalg.solve(within / np.outer(scale, scale), across / scale)
            rest = rest - float(solved @ (across / scale))
        if spread[term] > least[term] and rest > REDUNDANT * spread[term]:
            kept.append(term)
    return np.asarray(kept, dtype=np.int64)


@dataclass(frozen=True)
class _Weighted:
    """Cross products weighted by the inverse covariance over the residual variance."""

    cross: Floats
    log_det: float
    crew_weight: Floats
    site_sums: Floats
    site_weight: Floats


def _weigh(groups: Groups, crew_ratio: float, site_ratio: float) -> _Weighted:
    """Apply the inverse of 1 + crew and site blocks (Woodbury), a level at a time."""
    crew_var, site_var = crew_ratio**2, site_ratio**2
    crew_weight = 1 / (1 + crew_var * groups.rows)
    shrunk = groups.sums * crew_weight[:, None]
    cross = groups.cross.sum(axis=0) - crew_var * groups.sums.T @ shrunk
    site_sums = np.zeros((groups.sites, groups.sums.shape[1]))
    np.add.at(site_sums, groups.site, shrunk)
    site_rows = site_sums[:, 0]
    site_weight = 1 / (1 + site_var * site_rows)
    cross = cross - site_var * site_sums.T @ (site_sums * site_weight[:, None])
    log_det = -np.log(crew_weight).sum() - np.log(site_weight).sum()
    return _Weighted(cross, float(log_det), crew_weight, site_sums, site_weight)


def _solve(cross: Floats) -> tuple[Floats, Floats, float, float]:
    """Return coefficients, inverse, residual sum of squares and log determinant.

    `cross`: products of the terms, the outcome last. Columns are brought to one scale
    first, so that what decides is how alike they are and not their units.
    """
    terms, across = cross[:-1, :-1], cross[:-1, -1]
    scale = np.sqrt(np.diag(terms))
    alike = terms / np.outer(scale, scale)
    sides = np.column_stack([across / scale, np.eye(len(scale))])
    solved = np.linalg.solve(alike, sides)
    beta, inverse = solved[:, 0], solved[:, 1:]
    left = float(cross[-1, -1] - (across / scale) @ beta)
    log_det = float(np.linalg.slogdet(alike)[1]) + 2 * float(np.log(scale).sum())
    return (
        np.asarray(beta / scale),
        np.asarray(inverse / np.outer(scale, scale)),
        max(left, 0.0),
        log_det,
    )


def _profile(
    groups: Groups, kept: NDArray[np.int64], crew_ratio: float, site_ratio: float
) -> float:
    """Return minus twice the restricted log-likelihood, up to a constant."""
    weighted = _weigh(groups, crew_ratio, site_ratio)
    columns = np.append(kept, len(groups.centre) - 1)
    _, _, left, log_det = _solve(weighted.cross[np.ix_(columns, columns)])
    free = groups.rows.sum() - len(kept)
    # Nothing is left where all outcomes are alike: as times that nobody measured.
    spread = max(left / free, np.finfo(float).tiny)
    return float(free * np.log(spread) + weighted.log_det + log_det)


def _fit_at(
    groups: Groups, kept: NDArray[np.int64], crew_ratio: float, site_ratio: float
) -> MixedFit:
    weighted = _weigh(groups, crew_ratio, site_ratio)
    last = len(groups.centre) - 1
    columns = np.append(kept, last)
    some, inverse, left, log_det = _solve(weighted.cross[np.ix_(columns, columns)])
    free = float(groups.rows.sum() - len(kept))
    residual_var = left / free
    beta, covariance = np.zeros(last), np.zeros((last, last))
    beta[kept] = some
    covariance[np.ix_(kept, kept)] = residual_var * inverse
    crew_var, site_var = crew_ratio**2, site_ratio**2
    lean = site_var * weighted.site_weight[:, None] * weighted.site_sums
    site_effect = lean[:, -1] - lean[:, :-1] @ beta
    left_over = groups.sums[:, -1] - groups.sums[:, :-1] @ beta
    crew_effect = (
        crew_var
        * weighted.crew_weight
        * (left_over - groups.rows * site_effect[groups.site])
    )
    with np.errstate(divide="ignore"):
        logs = free * np.log(2 * np.pi * residual_var) + free
    centre = groups.centre[:-1].copy()
    # The outcome was centred as well: the first coefficient carries that back.
    beta[0] += groups.centre[-1]
    return MixedFit(
        beta=beta,
        covariance=covariance,
        centre=centre,
        is_kept=np.isin(np.arange(last), kept),
        residual_var=residual_var,
        site_var=site_var * residual_var,
        crew_var=crew_var * residual_var,
        site_effect=site_effect,
        site_lean=lean[:, :-1],
        site_rest=residual_var * site_var * weighted.site_weight,
        crew_effect=crew_effect,
        log_likelihood=-0.5 * float(logs + weighted.log_det + log_det),
    )
