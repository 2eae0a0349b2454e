"""`python -m tests.operating_characteristics REPORT.md`: the long simulations."""

import argparse
import time
from pathlib import Path

import numpy as np

from tests.operating_characteristics.measure import measure, rate_coverage, worlds
from tests.operating_characteristics.report import report


def main() -> None:
    """Simulate every world and write the report."""
    parser = argparse.ArgumentParser(prog="python -m tests.operating_characteristics")
    parser.add_argument("path", type=Path, help="where the report is written")
    parser.add_argument("--runs", type=int, default=400, help="default: 400 a world")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--seconds", type=float, default=600, help="ends after so long; default: 600"
    )
    args = parser.parse_args()
    rng = np.random.default_rng(args.seed)
    began = time.monotonic()
    measured, covered = [], []
    for world in worlds():
        if time.monotonic() - began > args.seconds:
            print("out of time: the report ends here")
            break
        measured.append(measure(world, args.runs, rng))
        if world.correlation == 0 and world.missing == 0:
            covered.append((world, rate_coverage(world, max(args.runs // 8, 5), rng)))
        print(measured[-1], flush=True)
    text = report(measured, covered, args.seed, args.runs)
    args.path.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
