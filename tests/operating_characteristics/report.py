"""The report of a simulation as Markdown."""

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from tests.operating_characteristics.measure import BAD_RATE, Measured
from tests.operating_characteristics.worlds import World

HEAD = ("groups", "due each", "likeness", "missing")
SHARES = ("false alarm", "power", "others flagged", "1 held")
READING = """False alarm: any of identical groups flagged; promised are at most 5. One
of two groups is always the worse, so that they come to the full 5; of many groups about
half. Power: the bad one flagged. Others flagged: any other beside it. 1 held: the 95 %
interval of observed / expected of an identical group holds 1; it takes the others'
rate as known. Likeness: correlation of two anchors of one day."""
COVERAGE = """Independent anchors; true rates spread by a beta distribution of strength
60 about 5 %. The spread is integrated over; with little judged the prior is wide."""


def report(
    measured: Sequence[Measured],
    covered: Sequence[tuple[World, float | None]],
    seed: int,
    runs: int,
) -> str:
    """Return the summary, then every world, then the probable rate's coverage."""
    margin = 200 * float(np.sqrt(0.05 * 0.95 / runs))
    about = f"""Seed {seed}, {runs} drawings a world, {len(measured)} worlds. Groups at
5 %; where one is bad it is at {100 * BAD_RATE:.0f} %. Shares in per cent; two standard
errors of a share of 5: {margin:.1f}."""
    lines = ["# Operating characteristics of the comparison", "", about, "", READING]
    lines += ["", *_summary(measured), "", "## Every world", ""]
    lines += [_row((*HEAD, *SHARES)), _rule(len(HEAD + SHARES))]
    lines += [_line(each) for each in measured]
    lines += ["", "## The probable rate's 95 % interval", "", COVERAGE, ""]
    lines += [_row(("groups", "judged each", "true rate held")), _rule(3)]
    lines += [
        _row((str(world.groups), str(world.judged), _percent(share)))
        for world, share in covered
    ]
    return "\n".join([*lines, ""])


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _rule(columns: int) -> str:
    return "|" + "---|" * columns


def _summary(measured: Sequence[Measured]) -> list[str]:
    heads = ("due each", "likeness", "worst false alarm", "mean", "least power", "mean")
    lines = [_row(heads), _rule(len(heads))]

    def kind(each: Measured) -> tuple[int, float]:
        return each.world.judged, each.world.correlation

    for (judged, correlation), group in groupby(sorted(measured, key=kind), kind):
        found = list(group)
        false = [each.false_alarm for each in found]
        power = [each.power for each in found]
        shares = (
            max(false),
            float(np.mean(false)),
            min(power),
            float(np.mean(power)),
        )
        lines.append(_row((str(judged), str(correlation), *map(_percent, shares))))
    return lines


def _line(each: Measured) -> str:
    world = each.world
    known = (world.groups, world.judged, world.correlation, f"{world.missing:.0%}")
    found = (each.false_alarm, each.power, each.bystander, each.covered)
    return _row((*map(str, known), *map(_percent, found)))


def _percent(share: float | None) -> str:
    return "none" if share is None else f"{100 * share:.1f}"
