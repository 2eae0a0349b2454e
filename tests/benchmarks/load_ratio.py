"""Load against its floor and a peer, in one run.

Usage: python tests/benchmarks/load_ratio.py [ROWS] [REPEATS] [--no-pandas]. The floor
is DuckDB's bare typed CSV→table of the same file; the peer does the work of a load in
vectorised pandas (pandas_peer.py). Each repeat runs the sides alternately, each in a
process of its own (so that the peak memory is its own), on one file of generated rows;
ratios are those of the medians. Floor and load end with a checkpointed database on
disk; the load's time includes judging, the tally, the receipt, the proofs and
publishing the edition.
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
SIDES = ("floor", "load", "pandas")


def floor(folder: Path, target: Path) -> None:
    """Load the file with DuckDB alone, its types given."""
    import duckdb

    with duckdb.connect(target / "floor.duckdb") as con:
        con.execute(
            """
            create table log as select * from read_csv(
                $path, auto_detect = false, header = true, delim = ',', quote = '"',
                columns = $types
            )
            """,
            {
                "path": str(folder / "log.csv"),
                "types": json.loads((folder / "types.json").read_text("utf-8")),
            },
        )
        con.execute("checkpoint")


def load(folder: Path, target: Path) -> None:
    """Load the file with firmset, from an empty store to a published edition."""
    from etl.intake import load_paths
    from queries.store import Store

    paths = [folder / "setting_data.csv", folder / "log.csv"]
    result = load_paths(Store(target / "store"), paths)
    if result.failures or result.receipts[-1].rejected:
        raise SystemExit(f"the benchmark's own log was refused: {result}")


def _run(what: str, folder: Path, argument: str) -> str:
    """Run one side in a process of its own: a child begins with its parent's peak."""
    done = subprocess.run(
        [sys.executable, __file__, "--side", what, str(folder), argument],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    return done.stdout


def measured(what: str, folder: Path) -> tuple[float, float]:
    """Run one side; return its seconds and peak memory (MB)."""
    with tempfile.TemporaryDirectory(dir=folder) as target:
        seconds, peak_mb = json.loads(_run(what, folder, target))
    return seconds, peak_mb


def run_side(what: str, folder: Path, target: Path) -> None:
    """Time one side, imports excluded, and print seconds and peak memory (MB)."""
    if what == "write":
        from tests.benchmarks.rows import write_log

        write_log(folder, int(target.name))
        return
    import duckdb  # noqa: F401 - imported now, so that no side pays for it

    if what == "load":
        import etl.intake  # noqa: F401
    if what == "pandas":
        from tests.benchmarks.pandas_peer import pandas_load
    start = time.perf_counter()
    if what == "pandas":
        pandas_load(folder, target)
    else:
        {"floor": floor, "load": load}[what](folder, target)
    seconds = time.perf_counter() - start
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps([seconds, peak_mb]))


def main() -> None:
    """Write the log, measure both sides alternately and print the ratio."""
    if sys.argv[1:2] == ["--side"]:
        run_side(sys.argv[2], Path(sys.argv[3]), Path(sys.argv[4]))
        return
    numbers = [int(text) for text in sys.argv[1:] if text.isdecimal()]
    rows, repeats = (
        [*numbers, 1_000_000, 3][:2]
        if len(numbers) > 1
        else (numbers[0] if numbers else 1_000_000, 3)
    )
    names = SIDES[:2] if "--no-pandas" in sys.argv else SIDES
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _run("write", folder, str(rows))
        megabytes = (folder / "log.csv").stat().st_size / 1e6
        print(f"{rows:,} rows, {megabytes:.0f} MB, {repeats} repeats")
        runs: dict[str, list[tuple[float, float]]] = {what: [] for what in names}
        for _ in range(repeats):
            for what in names:
                runs[what].append(measured(what, folder))
    times = {what: median(run[0] for run in runs[what]) for what in names}
    for what in names:
        peak_mb = max(run[1] for run in runs[what])
        ratio = times[what] / times["floor"]
        print(
            f"{what}: {times[what]:.2f} s ({ratio:.2f}x floor), peak {peak_mb:.0f} MB"
        )
    if "pandas" in times:
        print(f"pandas / load: {times['pandas'] / times['load']:.2f}")


if __name__ == "__main__":
    main()
