"""10,000 new rows with 2 % revisions into small and large stores, in one run.

Usage: python tests/benchmarks/increment.py [SMALL_ROWS] [LARGE_ROWS] [REPEATS]
(1,000,000, 10,000,000 and 5). Builds both stores with firmset load, then times the
load of fresh files of 9,800 new records and 200 further revisions into each,
alternating: up to the commit (before publishing), with the edition published, and the
processor's time up to the commit, which other work on the machine changes less.
"""

import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import duckdb

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from etl import intake  # noqa: E402
from queries.store import Store  # noqa: E402
from tests.benchmarks.rows import write_log  # noqa: E402

NEW_ROWS = 10_000
REVISED_EVERY = 50


def build(folder: Path, rows: int) -> Store:
    """Return a store with that many installations, and say what it took."""
    logs = folder / f"logs{rows}"
    logs.mkdir()
    write_log(logs, rows)
    store = Store(folder / f"store{rows}")
    start = time.perf_counter()
    result = intake.load_paths(store, [logs / "setting_data.csv", logs / "log.csv"])
    if result.failures or result.receipts[-1].rejected:
        raise SystemExit(f"the benchmark's own log was refused: {result}")
    size_mb = store.ledger_path.stat().st_size / 1e6
    print(f"{rows:,} rows: {time.perf_counter() - start:.1f} s, {size_mb:.0f} MB")
    (logs / "log.csv").unlink()
    return store


def write_increment(folder: Path, number: int) -> Path:
    """Write one file: new records, and every 50th a revision of a held one."""
    folder.mkdir()
    write_log(folder, NEW_ROWS, prefix=f"new{number}-")
    path = folder / "log.csv"
    with duckdb.connect() as con:
        con.execute(
            f"""
            copy (
                select * exclude (place) replace (
                    if(
                        place % {REVISED_EVERY} = 0,
                        regexp_replace(record_id, '^new[0-9]+-', ''), record_id
                    ) as record_id,
                    if(place % {REVISED_EVERY} = 0, {number}, 0) as revision
                )
                from (
                    select *, row_number() over () as place
                    from read_csv('{path}', all_varchar = true)
                )
            ) to '{path}.new' (header)
            """
        )
    Path(f"{path}.new").replace(path)
    return folder


def timed_load(store: Store, folder: Path) -> tuple[float, float, float]:
    """Return seconds until the load was committed, and until it was published.

    Then the seconds of processor time until it was committed.
    """
    sealed: list[tuple[float, float]] = []
    seal = intake.seal_edition

    def sealing(*arguments: object, **options: object) -> int:
        sealed.append((time.perf_counter(), time.process_time()))
        return seal(*arguments, **options)  # type: ignore[arg-type]

    intake.seal_edition = sealing
    start, worked = time.perf_counter(), time.process_time()
    result = intake.load_paths(store, [folder / "log.csv"])
    end = time.perf_counter()
    intake.seal_edition = seal
    receipt = result.receipts[-1]
    if result.failures or receipt.revised != NEW_ROWS // REVISED_EVERY:
        raise SystemExit(f"the increment was not taken as meant: {result}")
    return sealed[0][0] - start, end - start, sealed[0][1] - worked


def main() -> None:
    """Build both stores, time the increments alternately and print the ratios."""
    numbers = [int(text) for text in sys.argv[1:]]
    small, large, repeats = numbers + [1_000_000, 10_000_000, 5][len(numbers) :]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        stores = [build(folder, rows) for rows in (small, large)]
        times: list[list[tuple[float, float, float]]] = [[], []]
        for number in range(1, repeats + 1):
            log = write_increment(folder / f"more{number}", number)
            for store, runs in zip(stores, times, strict=True):
                runs.append(timed_load(store, log))
        medians = [
            [median(run[part] for run in runs) for part in range(3)] for runs in times
        ]
        for rows, (committed, published, worked) in zip(
            (small, large), medians, strict=True
        ):
            print(
                f"into {rows:,}: {committed:.2f} s to commit ({worked:.2f} s of "
                f"processor time), {published:.2f} s in all"
            )
        for part, name in enumerate(("committed", "published", "processor time")):
            print(f"ratio, {name}: {medians[1][part] / medians[0][part]:.2f}")


if __name__ == "__main__":
    main()
