"""Doubtful batches weighed from the kept counts, against counting their rows first.

Usage: python -m tests.benchmarks.doubts_ratio STORE [REPEATS]. Both sides alternate in
one run on the published edition and end with the same answer; the second counts every
batch anew, as the load does part by part, before it weighs.
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import duckdb

from queries.batch_parts import batch_parts
from queries.frames import read_frame
from queries.readers.doubts import read_doubts
from queries.store import Store

COUNTED = ("batch_count", "batch_time_count")


def from_counts(con: duckdb.DuckDBPyConnection) -> None:
    """Weigh every batch as the pages do."""
    read_doubts(con)


def from_rows(con: duckdb.DuckDBPyConnection) -> None:
    """Count the rows of every batch, then weigh."""
    for part in batch_parts(con):
        for name in COUNTED:
            read_frame(
                con, f"from {name}($from_on, $to_on, $batch_keys)", part.parameters
            )
    read_doubts(con)


def seconds(con: duckdb.DuckDBPyConnection, side: Callable[..., None]) -> float:
    """Return what one side takes."""
    start = time.perf_counter()
    side(con)
    return time.perf_counter() - start


def main() -> None:
    """Measure both sides in turn and print the ratio of the medians."""
    store = Store(Path(sys.argv[1]))
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    kept, counted = [], []
    with store.reader() as con:
        for _ in range(repeats):
            kept.append(seconds(con, from_counts))
            counted.append(seconds(con, from_rows))
    print(
        f"from the counts {median(kept):.2f} s, from the rows {median(counted):.2f} s: "
        f"{median(counted) / median(kept):.1f} times"
    )


if __name__ == "__main__":
    main()
