"""What the list of doubtful batches holds where crews edit a known share of values."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.readers.doubts import DOUBTED_AT
from queries.statistics.peer_counts import against_peers
from queries.statistics.two_groups import harmonic_mean_p, two_groups

FEWEST, MOST = 8, 31
EDGE, ROUND = 0.02, 0.10
HEAD = (
    *("edited", "crews", "sites", "days", "stores", "listed a store", "wrong a store"),
    *("owned", "wrong of the listed, %", "edited ones listed, %"),
)


@dataclass(frozen=True)
class Editing:
    """`crews` of so many `days`, 8 to 31 torques a day, of which crew 0 edits a share.

    `sites` with as many crews each. What a crew is held against is what the other
    crews of its site show, as in queries/views/batch_sign.sql. Honest crews have 2
    % at the band's edges and 10 % round figures on average, each with a habit of
    its own (beta, `habit` pseudo-rows). What crew 0 edits goes to the edges, on top
    of its habit.
    """

    edited: float
    crews: int = 30
    days: int = 60
    habit: float = 100
    sites: int = 1

    def draw(
        self, rng: np.random.Generator
    ) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        """Return each batch's probability, and whether it was edited."""
        crew = np.repeat(np.arange(self.crews), self.days)
        is_edited = (crew == 0) & (self.edited > 0)
        of = rng.integers(FEWEST, MOST + 1, len(crew))
        at_edge = rng.binomial(
            of, self._habit(EDGE, rng)[crew] + self.edited * (crew == 0)
        )
        is_round = rng.binomial(of, self._habit(ROUND, rng)[crew])
        site = np.arange(self.crews) % self.sites
        chances = [
            *(_chance(found, of, crew, site) for found in (at_edge, is_round)),
            rng.uniform(size=len(of)),
        ]
        p_value = harmonic_mean_p(np.stack(chances, axis=1))
        return two_groups(p_value, crew, self.crews).probability, is_edited

    def _habit(self, mean: float, rng: np.random.Generator) -> NDArray[np.float64]:
        return rng.beta(mean * self.habit, (1 - mean) * self.habit, self.crews)


def _chance(
    found: NDArray[np.int64],
    of: NDArray[np.int64],
    crew: NDArray[np.int64],
    site: NDArray[np.int64],
) -> NDArray[np.float64]:
    """Return each batch's chance beside the other crews of its site."""
    shown, rows = (
        np.bincount(site, own, site.max() + 1)[site] - own
        for own in (np.bincount(crew, found), np.bincount(crew, of))
    )
    share, doubt = (shown + 0.5) / (rows + 1), 1 / (rows + 2)
    return against_peers(found, of, share[crew], doubt[crew], crew, site)


@dataclass(frozen=True)
class Listed:
    """Sums over `runs` stores: batches `listed`, of them `wrong` (not edited); `found`
    of `edited` batches; and how many the probabilities of the listed own to be wrong.
    """

    editing: Editing
    runs: int
    listed: int
    wrong: int
    found: int
    edited: int
    owned: float


def editings() -> Iterator[Editing]:
    """Yield what the report simulates."""
    for edited in (0.0, 0.02, 0.05, 0.08, 0.12, 0.18, 0.30):
        for sites, crews, days in (
            *((1, 3, 50), (1, 4, 50), (1, 8, 20), (6, 24, 40)),
            *((1, 30, 60), (1, 60, 30)),
        ):
            yield Editing(edited, crews, days, sites=sites)


def list_batches(editing: Editing, runs: int, rng: np.random.Generator) -> Listed:
    """Return what is listed in `runs` stores."""
    listed = wrong = found = edited = 0
    owned = 0.0
    for _ in range(runs):
        probability, is_edited = editing.draw(rng)
        shown = probability >= DOUBTED_AT
        listed += int(shown.sum())
        wrong += int((shown & ~is_edited).sum())
        found += int((shown & is_edited).sum())
        edited += int(is_edited.sum())
        owned += float((1 - probability[shown]).sum())
    return Listed(editing, runs, listed, wrong, found, edited, owned)


def edited_lines(listed: Sequence[Listed]) -> list[str]:
    """Return the report's section on doubtful batches."""
    lines = [
        "## Batches worth a look",
        "",
        f"{FEWEST} to {MOST} torques a batch; one crew edits a share of its own on",
        "every day. Listed from a probability of 90 %. Wrong: listed and not edited.",
        "Owned: wrong ones by the listed batches' own probabilities.",
        "",
        f"| {' | '.join(HEAD)} |",
        "|---" * len(HEAD) + "|",
    ]
    for each in listed:
        a_store = (each.listed, each.wrong, each.owned)
        cells = [
            f"{each.editing.edited:.0%}",
            str(each.editing.crews),
            str(each.editing.sites),
            str(each.editing.days),
            str(each.runs),
            *(f"{count / each.runs:.2f}" for count in a_store),
            _share(each.wrong, each.listed),
            _share(each.found, each.edited),
        ]
        lines.append(f"| {' | '.join(cells)} |")
    return lines


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f}" if whole else "none"
