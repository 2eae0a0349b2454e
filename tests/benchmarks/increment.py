"""10,000 new rows with 2 % revisions into small and large stores, in one run.

Usage: python tests/benchmarks/increment.py [SMALL_ROWS] [LARGE_ROWS] [REPEATS]
(1,000,000, 10,000,000 and 5). Builds both stores with firmset load, with as many
editions as are kept, then times the load of fresh files of 9,800 new records and 200
further revisions into each, alternating. Two kinds of file: `spread`, records of all
days, which touch nearly as many batches as they have rows, and `recent`, the records
of the last days, as sites send them. Told: up to the commit (before publishing), from
there until the edition is published, and the processor's time up to the commit, which
other work on the machine changes less.
"""

import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import polars as pl

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from etl import intake  # noqa: E402
from etl.publish import KEPT_EDITIONS  # noqa: E402
from queries.store import Store  # noqa: E402
from tests.benchmarks.rows import block, write_log, write_rows  # noqa: E402

NEW_ROWS = 10_000
REVISED_EVERY = 50
KINDS = ("spread", "recent")


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


def write_increment(folder: Path, number: int, kind: str) -> Path:
    """Write one file: new records, and every 50th a revision of a held one."""
    folder.mkdir()
    made = block(NEW_ROWS)
    if kind == "recent":
        made = block().sort("installed_on").tail(NEW_ROWS)
    revision = number * len(KINDS) + KINDS.index(kind)
    is_revised = pl.int_range(pl.len()) % REVISED_EVERY == 0
    write_rows(
        folder,
        made.with_columns(
            # As write_log names the records of its first repeat.
            pl.when(is_revised)
            .then("0-" + pl.col("record_id"))
            .otherwise(f"{kind}{number}-" + pl.col("record_id"))
            .alias("record_id"),
            pl.when(is_revised).then(revision).otherwise(0).alias("revision"),
        ),
    )
    return folder


def timed_load(store: Store, folder: Path) -> tuple[float, float, float]:
    """Return seconds until the load was committed, and from there until published.

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
    [(committed, then_worked)] = sealed
    return committed - start, end - committed, then_worked - worked


def main() -> None:
    """Build both stores, time the increments alternately and print the ratios."""
    numbers = [int(text) for text in sys.argv[1:]]
    small, large, repeats = numbers + [1_000_000, 10_000_000, 5][len(numbers) :]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        stores = [build(folder, rows) for rows in (small, large)]
        times: dict[tuple[str, int], list[tuple[float, float, float]]] = {}
        for number in range(1, KEPT_EDITIONS + repeats + 1):
            for kind in KINDS:
                log = write_increment(folder / f"{kind}{number}", number, kind)
                for place, store in enumerate(stores):
                    times.setdefault((kind, place), []).append(timed_load(store, log))
        for kind in KINDS:
            small_medians, large_medians = (
                medians(times[kind, place][KEPT_EDITIONS:]) for place in range(2)
            )
            tell(kind, small, small_medians)
            tell(kind, large, large_medians)
            ratios = zip(large_medians, small_medians, strict=True)
            print("  ratios:", ", ".join(f"{one / two:.2f}" for one, two in ratios))


def medians(runs: list[tuple[float, float, float]]) -> list[float]:
    """Return the median of each part of the runs."""
    return [median(parts) for parts in zip(*runs, strict=True)]


def tell(kind: str, rows: int, found: list[float]) -> None:
    """Print what the loads of one kind into one store took."""
    committed, published, worked = found
    print(
        f"{kind}, into {rows:,}: {committed:.2f} s to commit, {published:.2f} s from "
        f"there to publish, {worked:.2f} s of processor time to commit"
    )


if __name__ == "__main__":
    main()
