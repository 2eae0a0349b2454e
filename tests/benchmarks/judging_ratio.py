"""What judging adds to a load, in one run.

Usage: python tests/benchmarks/judging_ratio.py [ROWS] [REPEATS]. The same generated log
is loaded by firmset as it is, and with the four masks of every row written as 0 in
place of the judging; everything else of the load is the same. Each repeat runs both
alternately, each in a process of its own. The bar is a ratio of 1.4 of the medians.
Processor seconds stand beside the seconds: on a busy machine they say more.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
SIDES = ("judged", "not judged")


def load(folder: Path, target: Path, *, is_judged: bool) -> None:
    """Load the log into an empty store, to a published edition; print the seconds."""
    import etl.load
    from etl.intake import load_paths
    from queries.judgement import MASKS
    from queries.store import Store

    def no_verdicts(logged: str, *, with_calibrations: bool) -> str:
        zeros = ", ".join(f"0::uinteger as {mask}" for mask in MASKS)
        return f"select *, {zeros} from {logged}"

    if not is_judged:
        etl.load.judgement_sql = no_verdicts
    start, used = time.perf_counter(), _processor_s()
    paths = [folder / "setting_data.csv", folder / "log.csv"]
    result = load_paths(Store(target / "store"), paths)
    if result.failures or result.receipts[-1].rejected:
        raise SystemExit(f"the benchmark's own log was refused: {result}")
    print(json.dumps([time.perf_counter() - start, _processor_s() - used]))


def _processor_s() -> float:
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def _run(side: str, folder: Path) -> tuple[float, float]:
    with tempfile.TemporaryDirectory(dir=folder) as target:
        done = subprocess.run(
            [sys.executable, __file__, "--side", side, str(folder), target],
            stdout=subprocess.PIPE,
            text=True,
            check=True,
        )
    seconds, processor_s = json.loads(done.stdout.splitlines()[-1])
    return seconds, processor_s


def main() -> None:
    """Write the log, load it both ways alternately and print the ratios."""
    if sys.argv[1:2] == ["--side"]:
        side, folder, target = sys.argv[2:]
        load(Path(folder), Path(target), is_judged=side == SIDES[0])
        return
    from tests.benchmarks.rows import write_log

    rows, repeats = [*map(int, sys.argv[1:]), *(1_000_000, 3)[len(sys.argv) - 1 :]]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_log(folder, rows)
        print(f"{rows:,} rows, {repeats} repeats")
        runs: dict[str, list[tuple[float, float]]] = {side: [] for side in SIDES}
        for _ in range(repeats):
            for side in SIDES:
                runs[side].append(_run(side, folder))
    for place, what in enumerate(("seconds", "processor seconds")):
        judged, bare = (median(run[place] for run in runs[side]) for side in SIDES)
        print(f"{what}: {judged:.2f} judged, {bare:.2f} not: {judged / bare:.2f}x")


if __name__ == "__main__":
    main()
