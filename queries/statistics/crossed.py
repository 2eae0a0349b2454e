"""Crews and inspectors at once: what a crew's rate would be under an average inspector.

logit P(nonconforming) = m + a_crew + b_inspector, for counts by crew and inspector.
a and b are normal about 0 with spreads of their own (random effects), so that few
anchors say little; m is fixed, one for each group of crews and inspectors that
anchors connect. Between two such groups nothing can tell crews from inspectors.

Effects at their joint mode, given the spreads (Breslow and Clayton 1993, J. Am. Stat.
Assoc. 88:9-25; as in R's lme4), averaged over a grid of spreads by their Laplace
likelihood and a half-normal prior of scale 1 (Gelman 2006, Bayesian Analysis
1:515-534, half-t of many degrees). A handful of inspectors tells little of their
spread: with the likeliest taken as known, intervals meant for 95 of 100 held 80 to 90.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.simplex import lowest_point

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

# Anchors that a crew and an inspector of another group may share and tell nothing
# (project default).
FEWEST_SHARED = 20
NORMAL_975 = 1.959963984540054
SMALLEST_SPREAD, LARGEST_SPREAD = 1e-3, 5.0
NEWTON_STEPS = 60
GRID = np.geomspace(0.05, 4.0, 7)
PRIOR_SCALE = 1.0


@dataclass(frozen=True)
class Cross:
    """Counts by cell: row of the crew, of the inspector, judged and nonconforming.

    Counts need not be whole (divided by what bad days cost).
    """

    crew: Counts
    inspector: Counts
    judged: Floats
    nonconforming: Floats
    crews: int
    inspectors: int

    def only(self, cells: NDArray[np.bool_]) -> "Cross":
        """Return some of the cells."""
        return replace(
            self,
            crew=self.crew[cells],
            inspector=self.inspector[cells],
            judged=self.judged[cells],
            nonconforming=self.nonconforming[cells],
        )


@dataclass(frozen=True)
class Crossed:
    """`rate` and its 95 % interval of each crew under an average inspector.

    Average over the inspectors of its group, alike in weight; comparable within a
    group only. NaN for a crew whose group has one crew and one inspector: nothing tells
    them apart. `found_by`: for each inspector the odds of nonconforming against those
    of an average inspector of the group. `group_of_crew`, `group_of_inspector`: from 0.
    `crew_spread`, `inspector_spread`: the likeliest, or those given.
    """

    rate: Floats
    low: Floats
    high: Floats
    found_by: Floats
    group_of_crew: Counts
    group_of_inspector: Counts
    crew_spread: float
    inspector_spread: float


def groups_of(cross: Cross) -> tuple[Counts, Counts]:
    """Return the connected group of each crew and inspector, numbered by first crew.

    An inspector and a crew are connected where he judged any of its anchors (Searle
    1987, Linear Models for Unbalanced Data, 5.3: connectedness). Two groups that share
    FEWEST_SHARED anchors or fewer in all stay apart: over one anchor the model carries
    what it assumes and no more. -1: nothing judged.
    """
    label = np.arange(cross.crews + cross.inspectors)
    used = cross.judged > 0
    crew, inspector = cross.crew[used], cross.inspector[used] + cross.crews
    joined = np.zeros(len(label), dtype=np.bool_)
    # The strongest first; whoever is in no group yet is joined by any.
    for cell in np.argsort(-cross.judged[used], kind="stable"):
        pair = [crew[cell], inspector[cell]]
        if not joined[pair].all():
            label[np.isin(label, label[pair])] = label[pair].min()
            joined[pair] = True
    while ends := _most_shared(label[crew], label[inspector], cross.judged[used]):
        label[np.isin(label, ends)] = min(ends)
    seen = np.zeros(len(label), dtype=np.bool_)
    seen[crew] = seen[inspector] = True
    names = np.unique(label[seen])
    group = np.where(seen, np.searchsorted(names, label), -1)
    return group[: cross.crews], group[cross.crews :]


def _most_shared(one: Counts, other: Counts, judged: Floats) -> tuple[int, ...]:
    """Return the two groups that share most anchors; () where too few for any two.

    A cell each: the groups of its crew and of its inspector, and what is judged.
    """
    ends = np.sort(np.stack([one, other], axis=1), axis=1)[one != other]
    if not len(ends):
        return ()
    pairs, place = np.unique(ends, axis=0, return_inverse=True)
    shared = np.bincount(place.ravel(), judged[one != other])
    most = int(shared.argmax())
    return tuple(pairs[most].tolist()) if shared[most] > FEWEST_SHARED else ()


def fit_crossed(
    cross: Cross,
    crew_spread: float | None = None,
    inspector_spread: float | None = None,
) -> Crossed:
    """Fit the model, with what is not known of the spreads; as known where given.

    Both are given, or neither. The few anchors that two groups share are left out.
    """
    of_crew, of_inspector = groups_of(cross)
    within = of_crew[cross.crew] == of_inspector[cross.inspector]
    design = _Design(cross.only(within), of_crew)
    if crew_spread is None or inspector_spread is None:
        modes = _modes(design)
        crew_spread, inspector_spread = _spreads(design, modes)
        mode = _averaged(modes)
    else:
        mode = design.mode(crew_spread, inspector_spread)
    rate, low, high = _rates(design, mode, of_crew, of_inspector)
    b = mode.effect[design.inspector_at]
    middle = np.array(
        [b[of_inspector == one].mean() if one >= 0 else 0.0 for one in of_inspector]
    )
    return Crossed(
        rate=rate,
        low=low,
        high=high,
        found_by=np.where(of_inspector >= 0, np.exp(b - middle), np.nan),
        group_of_crew=of_crew,
        group_of_inspector=of_inspector,
        crew_spread=crew_spread,
        inspector_spread=inspector_spread,
    )


@dataclass(frozen=True)
class _Mode:
    """Joint mode of all effects (groups' means, crews, inspectors), its curvature
    inverted, and the Laplace log-likelihood of the spreads."""

    effect: Floats
    covariance: Floats
    likelihood: float


class _Design:
    """The cells as a linear predictor of [group means, crews, inspectors]."""

    def __init__(self, cross: Cross, of_crew: Counts) -> None:
        used = cross.judged > 0
        self.groups = int(of_crew.max(initial=-1)) + 1
        self.n, self.x = cross.judged[used], cross.nonconforming[used]
        self.size = self.groups + cross.crews + cross.inspectors
        self.crew_at = np.arange(self.groups, self.groups + cross.crews)
        self.inspector_at = np.arange(self.groups + cross.crews, self.size)
        crew = cross.crew[used]
        self.columns = np.stack(
            [
                of_crew[crew],
                self.crew_at[crew],
                self.inspector_at[cross.inspector[used]],
            ]
        )

    def penalty(self, crew_spread: float, inspector_spread: float) -> Floats:
        """The precision of each effect beforehand; a group's mean has nearly none."""
        value = np.full(self.size, 1e-4)
        value[self.crew_at] = crew_spread**-2
        value[self.inspector_at] = inspector_spread**-2
        return value

    def mode(self, crew_spread: float, inspector_spread: float) -> _Mode:
        """Newton's method, halving a step that overshoots."""
        penalty = self.penalty(crew_spread, inspector_spread)
        effect = np.zeros(self.size)
        effect[: self.groups] = self._start()
        best = self._height(effect, penalty)
        for _ in range(NEWTON_STEPS):
            slope, curve = self._bend(effect, penalty)
            step = np.linalg.solve(curve, slope)
            while (new := self._height(effect + step, penalty)) < best - 1e-9:
                step = step / 2
            effect, best = effect + step, max(new, best)
            if np.abs(step).max() < 1e-8:
                break
        _, curve = self._bend(effect, penalty)
        _, log_size = np.linalg.slogdet(curve)
        random = penalty[self.groups :]
        likelihood = best + 0.5 * float(np.log(random).sum()) - 0.5 * float(log_size)
        return _Mode(effect, np.asarray(np.linalg.inv(curve), float), likelihood)

    def _start(self) -> Floats:
        x = np.bincount(self.columns[0], self.x, self.groups) + 0.5
        n = np.bincount(self.columns[0], self.n, self.groups) + 1
        return np.asarray(special.logit(x / n))

    def _height(self, effect: Floats, penalty: Floats) -> float:
        eta = effect[self.columns].sum(axis=0)
        fit = float((self.x * eta - self.n * np.logaddexp(0, eta)).sum())
        return fit - 0.5 * float((penalty * effect**2).sum())

    def _bend(self, effect: Floats, penalty: Floats) -> tuple[Floats, Floats]:
        p = special.expit(effect[self.columns].sum(axis=0))
        over, weight = self.x - self.n * p, self.n * p * (1 - p)
        slope = -penalty * effect
        curve = np.diag(penalty)
        for one in self.columns:
            np.add.at(slope, one, over)
            for other in self.columns:
                np.add.at(curve, (one, other), weight)
        return slope, curve


def _modes(design: _Design) -> dict[tuple[float, float], _Mode]:
    """Return the effects by the spreads of crews and inspectors, of the whole grid."""
    return {
        (crew, inspector): design.mode(crew, inspector)
        for crew in GRID.tolist()
        for inspector in GRID.tolist()
    }


def _averaged(modes: Mapping[tuple[float, float], _Mode]) -> _Mode:
    """Return the mean of the effects over the spreads, and their whole covariance.

    What effects vary by, given the spreads, and what they differ by between these. The
    grid is even in logs: its points stand for more the larger the spreads are.
    """
    spreads = np.array(list(modes))
    weight = np.array([mode.likelihood for mode in modes.values()])
    weight += (np.log(spreads) - 0.5 * (spreads / PRIOR_SCALE) ** 2).sum(axis=1)
    best = float(weight.max())
    weight = special.softmax(weight)
    effects = np.stack([mode.effect for mode in modes.values()])
    effect = weight @ effects
    apart = effects - effect
    within = np.stack([mode.covariance for mode in modes.values()])
    covariance = np.tensordot(weight, within, 1) + (apart.T * weight) @ apart
    return _Mode(effect, covariance, best)


def _spreads(
    design: _Design, modes: Mapping[tuple[float, float], _Mode]
) -> tuple[float, float]:
    """Return the likeliest spreads of crews and inspectors, from the grid's on."""

    def loss(logs: Floats) -> float:
        low, high = np.log(SMALLEST_SPREAD), np.log(LARGEST_SPREAD)
        crew, inspector = np.exp(np.clip(logs, low, high))
        return -design.mode(float(crew), float(inspector)).likelihood

    start = max(modes, key=lambda spreads: modes[spreads].likelihood)
    found = lowest_point(loss, np.log(start), 0.01, 0.001, most_steps=60)
    crew, inspector = np.clip(np.exp(found), SMALLEST_SPREAD, LARGEST_SPREAD)
    return float(crew), float(inspector)


def _rates(
    design: _Design, mode: _Mode, of_crew: Counts, of_inspector: Counts
) -> tuple[Floats, Floats, Floats]:
    """Return each crew's rate, averaged over its group's inspectors, with interval.

    The interval is that of the logit under the mean inspector effect, shifted so that
    it holds the average rate.
    """
    ends = np.full((3, len(of_crew)), np.nan)
    for crew, group in enumerate(of_crew):
        inspectors = design.inspector_at[of_inspector == group]
        alone = len(inspectors) == 1 and (of_crew == group).sum() == 1
        if group < 0 or alone:
            continue
        pick = np.zeros(design.size)
        pick[[group, design.crew_at[crew]]] = 1
        pick[inspectors] = 1 / len(inspectors)
        error = float(np.sqrt(pick @ mode.covariance @ pick))
        own = mode.effect[group] + mode.effect[design.crew_at[crew]]
        each = own + mode.effect[inspectors]
        for row, shift in enumerate((0.0, -NORMAL_975 * error, NORMAL_975 * error)):
            ends[row, crew] = special.expit(each + shift).mean()
    return ends[0], ends[1], ends[2]


@dataclass(frozen=True)
class Bridge:
    """Two re-inspections that connect two groups: (crew, inspector) rows each."""

    first: tuple[int, int]
    second: tuple[int, int]


def best_bridge(cross: Cross, fitted: Crossed, here: int, there: int) -> Bridge:
    """Return the pairs that connect group `here` with `there` best.

    Of each group the crew and the inspector whose own effects are known best, those
    with most information n p (1 - p) at the group's rate, which is to say most judged:
    what a bridge cannot tell is what its two ends are not known by. The first is a crew
    of `here` seen by an inspector of `there`, the second the other way round, so that
    each checks the other.
    """
    judged_by_crew = np.bincount(cross.crew, cross.judged, cross.crews).astype(float)
    judged_by = np.bincount(cross.inspector, cross.judged, cross.inspectors).astype(
        float
    )

    def most(judged: Floats, group: Counts, one: int) -> int:
        return int(np.argmax(np.where(group == one, judged, -1.0)))

    return Bridge(
        first=(
            most(judged_by_crew, fitted.group_of_crew, here),
            most(judged_by, fitted.group_of_inspector, there),
        ),
        second=(
            most(judged_by_crew, fitted.group_of_crew, there),
            most(judged_by, fitted.group_of_inspector, here),
        ),
    )
