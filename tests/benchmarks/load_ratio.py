"""Load against its floor: DuckDB's bare typed CSV→table of the same file, in one run.

Usage: python tests/benchmarks/load_ratio.py [ROWS] [REPEATS]. Each repeat runs floor
and load, each in a process of its own (so that the peak memory is its own),
alternating, on one file of generated rows of all sites; the ratio is that of the
medians. Both end with a checkpointed database on disk; the load's time includes
judging, the tally, the receipt and publishing the edition.
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

# A distance that stands for "clear" here, so that the floor can read the column too.
FAR_MM = 99_999.0
TYPES = {
    "text": "varchar",
    "code": "varchar",
    "choice": "varchar",
    "number": "double",
    "integer": "integer",
    "yes_no": "boolean",
    "date": "date",
    "instant": "timestamp",
}


def write_log(folder: Path, rows: int) -> None:
    """Write the log in a process of its own: a child begins with its parent's peak."""
    subprocess.run(
        [sys.executable, __file__, "--side", "write", str(folder), str(rows)],
        check=True,
    )


def _write_log(folder: Path, rows: int) -> None:
    """Write log.csv, its site map, setting_data.csv and the floor's column types."""
    import polars as pl

    from demo_data.generator import generate
    from demo_data.setting import SETTING_DATA_PATH
    from queries.columns import LOGGED_COLUMNS

    frame = generate(rows).installations
    kinds = {column.name: column.kind for column in LOGGED_COLUMNS}
    names = [name for name in kinds if name in frame.columns]
    frame = frame.select(names).with_columns(
        pl.when(pl.col(pl.Float64).is_infinite())
        .then(FAR_MM)
        .otherwise(pl.col(pl.Float64))
        .name.keep()
    )
    frame.write_csv(folder / "log.csv", datetime_format="%Y-%m-%dT%H:%M")
    columns = "\n".join(f'{name} = "{name}"' for name in names)
    (folder / "log.toml").write_text(
        '[site]\ncode = "BENCH"\nname = "Generated rows"\ntime_zone = "Europe/Lisbon"\n'
        f'[files]\nmatch = "log.csv"\n[columns]\n{columns}\n',
        "utf-8",
    )
    (folder / "setting_data.csv").write_bytes(SETTING_DATA_PATH.read_bytes())
    types = {name: TYPES[kinds[name]] for name in names}
    (folder / "types.json").write_text(json.dumps(types), "utf-8")


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


def measured(what: str, folder: Path) -> tuple[float, float]:
    """Run one side in a process of its own; return its seconds and peak memory (MB)."""
    with tempfile.TemporaryDirectory(dir=folder) as target:
        done = subprocess.run(
            [sys.executable, __file__, "--side", what, str(folder), target],
            capture_output=True,
            text=True,
            check=True,
        )
    seconds, peak_mb = json.loads(done.stdout)
    return seconds, peak_mb


def run_side(what: str, folder: Path, target: Path) -> None:
    """Time one side, imports excluded, and print seconds and peak memory (MB)."""
    if what == "write":
        _write_log(folder, int(target.name))
        return
    import duckdb  # noqa: F401 - imported now, so that no side pays for it

    if what == "load":
        import etl.intake  # noqa: F401
    start = time.perf_counter()
    {"floor": floor, "load": load}[what](folder, target)
    seconds = time.perf_counter() - start
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps([seconds, peak_mb]))


def main() -> None:
    """Write the log, measure both sides alternately and print the ratio."""
    if sys.argv[1:2] == ["--side"]:
        run_side(sys.argv[2], Path(sys.argv[3]), Path(sys.argv[4]))
        return
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_log(folder, rows)
        megabytes = (folder / "log.csv").stat().st_size / 1e6
        print(f"{rows:,} rows, {megabytes:.0f} MB, {repeats} repeats")
        sides: dict[str, list[tuple[float, float]]] = {"floor": [], "load": []}
        for _ in range(repeats):
            for what, runs in sides.items():
                runs.append(measured(what, folder))
        times = {what: median(run[0] for run in runs) for what, runs in sides.items()}
        peak_mb = {what: max(run[1] for run in runs) for what, runs in sides.items()}
        for what in sides:
            print(f"{what}: {times[what]:.2f} s, peak {peak_mb[what]:.0f} MB")
        print(f"ratio: {times['load'] / times['floor']:.2f}")


if __name__ == "__main__":
    main()
