"""`python -m tests.operating_characteristics REPORT.md`: the long simulations."""

import argparse
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar

import numpy as np

from tests.operating_characteristics.charts import all_weeks, chart, chart_lines
from tests.operating_characteristics.edited import (
    edited_lines,
    editings,
    list_batches,
)
from tests.operating_characteristics.measure import measure, rate_coverage, worlds
from tests.operating_characteristics.report import report
from tests.operating_characteristics.taught import seasons, taught_lines, teach

World = TypeVar("World")
Found = TypeVar("Found")


def main() -> None:
    """Simulate every world and write the report."""
    parser = argparse.ArgumentParser(prog="python -m tests.operating_characteristics")
    parser.add_argument("path", type=Path, help="where the report is written")
    parser.add_argument("--runs", type=int, default=400, help="default: 400 a world")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--seconds", type=float, default=600, help="a section at most; default: 600"
    )
    args = parser.parse_args()

    def run(
        these: Iterable[World],
        simulate: Callable[[World, int, np.random.Generator], Found],
        runs: int,
    ) -> list[Found]:
        # Every section begins with the seed, so that it can be repeated by itself.
        rng = np.random.default_rng(args.seed)
        began, found = time.monotonic(), []
        for world in these:
            if time.monotonic() - began > args.seconds:
                print("out of time: the section ends here")
                break
            found.append(simulate(world, runs, rng))
            print(found[-1], flush=True)
        return found

    compared = run(worlds(), measure, args.runs)
    plain = [each for each in worlds() if each.correlation == each.missing == 0]
    held = run(plain, rate_coverage, max(args.runs // 8, 5))
    covered = list(zip(plain, held, strict=False))
    few = max(args.runs // 2, 5)
    text = report(compared, covered, args.seed, args.runs)
    sections = (
        chart_lines(run(all_weeks(), chart, few)),
        taught_lines(run(seasons(), teach, few)),
        edited_lines(run(editings(), list_batches, few)),
    )
    whole = "\n".join([text, *("\n".join([*lines, ""]) for lines in sections)])
    args.path.write_text(whole, "utf-8")


if __name__ == "__main__":
    main()
