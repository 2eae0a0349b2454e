"""How long a page takes to answer, with one reader and with twenty.

    python -m tests.benchmarks.page_load STORE [STORE ...]

Serves each store on 127.0.0.1 in a process of its own, as `firmset serve` does, and
asks for its pages as the browser does: the callback that makes a page of an address,
then the callbacks that fill the page's later parts. Each address is asked once (first:
what an edition costs to weigh), then NEW_SEARCHES, then READERS[0] reader asks them
all in a mixed order, then READERS[1] readers at once, each waiting some THINK_S seconds
between two pages, as somebody who reads does. A line a page and a later part, then all
pages and all later parts together; the second store and each further one is given as a
ratio to the first, measured in the same run.
"""

import gzip
import http.client
import json
import random
import statistics
import subprocess
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

PAGES = ("/sites", "/crews", "/drilling", "/records", "/intake", "/method")
SEARCHES = (
    "",
    "?check=hole_cleaning",
    "?check=edge_distance",
    "?sizes=M12",
    "?from=2026-01-01",
)
# Asked once each, by one reader: what another filter costs before anything is kept.
NEW_SEARCHES = tuple(f"?from=2026-0{month}-11" for month in range(1, 9))
READERS = (1, 20)
ROUNDS = (6, 2)
THINK_S = 1.0
PORT = 8157
SEED = 20261125
SUMS = ("pages", "later parts")

Runs = dict[str, dict[str, list[float]]]


class Reader:
    """One browser's worth of a connection; `taken` has seconds by what was asked."""

    def __init__(self, port: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=600)
        self.taken: dict[str, list[float]] = defaultdict(list)
        self.connection.request("GET", "/_dash-dependencies")
        known = json.loads(self.connection.getresponse().read())
        served = [entry for entry in known if not entry["clientside_function"]]
        [self.page] = [item for item in served if "page.children" in item["output"]]
        [self.part] = [item for item in served if '"later"' in item["output"]]

    def visit(self, path: str, search: str) -> None:
        """Ask for a page, then for its later parts; raises if one is refused."""
        values = {"pathname": path, "search": search}
        outputs = [
            item.rpartition(".") for item in self.page["output"][2:-2].split("...")
        ]
        whole = self._ask(
            path,
            {
                "output": self.page["output"],
                "outputs": [{"id": of, "property": prop} for of, _, prop in outputs],
                "changedPropIds": ["address.search"],
                "inputs": [
                    {
                        "id": entry["id"],
                        "property": entry["property"],
                        "value": values[entry["property"]],
                    }
                    for entry in self.page["inputs"]
                ],
            },
        )
        for place in later_places(json.loads(whole)):
            self._ask(f"  {place['part']}", self._filling(place, search))

    def _filling(self, place: dict[str, str], search: str) -> dict[str, Any]:
        name = json.dumps(place, sort_keys=True, separators=(",", ":"))
        return {
            "output": self.part["output"],
            "outputs": {"id": place, "property": "children"},
            "changedPropIds": [f"{name}.id"],
            "inputs": [{"id": place, "property": "id", "value": place}],
            "state": [{"id": "address", "property": "search", "value": search}],
        }

    def _ask(self, what: str, body: dict[str, Any]) -> bytes:
        start = time.perf_counter()
        self.connection.request(
            "POST",
            "/_dash-update-component",
            json.dumps(body),
            {"Content-Type": "application/json", "Accept-Encoding": "gzip"},
        )
        answer = self.connection.getresponse()
        content = answer.read()
        self.taken[what].append(time.perf_counter() - start)
        if answer.status != 200:
            raise RuntimeError(f"{what}: {answer.status}")
        is_packed = answer.headers["Content-Encoding"] == "gzip"
        return gzip.decompress(content) if is_packed else content


def later_places(made: object) -> Iterator[dict[str, str]]:
    """Yield the ids of the places that a made page leaves for its later parts."""
    if isinstance(made, dict):
        if made.get("type") == "later" and "part" in made:
            yield made
        for child in made.values():
            yield from later_places(child)
    elif isinstance(made, list):
        for child in made:
            yield from later_places(child)


def served(store: Path, port: int) -> subprocess.Popen[bytes]:
    """Start the server of a store and wait until it answers."""
    command = [sys.executable, "-m", "dashboard.command", "serve", "--port", str(port)]
    server = subprocess.Popen(
        [*command, "--store", str(store)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    for _ in range(600):
        try:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            connection.request("GET", "/healthz")
            if connection.getresponse().status == 200:
                return server
        except OSError:
            time.sleep(0.1)
    server.kill()
    raise RuntimeError(f"{store}: the server did not answer")


def measured(
    port: int,
    readers: int,
    rounds: int,
    think_s: float,
    searches: tuple[str, ...] = SEARCHES,
) -> dict[str, list[float]]:
    """Return the seconds of all answers that so many readers got at once."""
    addresses = [(path, search) for path in PAGES for search in searches]
    finished: list[Reader] = []

    def read(number: int) -> None:
        mixed = random.Random(SEED + number)
        reader = Reader(port)
        for _ in range(rounds):
            for path, search in mixed.sample(addresses, len(addresses)):
                time.sleep(mixed.uniform(0, 2 * think_s))
                reader.visit(path, search)
        finished.append(reader)

    threads = [threading.Thread(target=read, args=(n,)) for n in range(readers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if len(finished) != readers:
        raise RuntimeError("a reader was not answered")
    taken: dict[str, list[float]] = defaultdict(list)
    for reader in finished:
        for what, seconds in reader.taken.items():
            taken[what] += seconds
            taken["later parts" if what.startswith(" ") else "pages"] += seconds
    return taken


def p95(seconds: list[float]) -> float:
    """Return the 95th percentile."""
    return statistics.quantiles(seconds, n=20, method="inclusive")[-1]


def report(store: Path, runs: Runs, base: Runs) -> None:
    """Print a line a page and later part: p95 in ms, a column a run."""
    print(f"{store.name}: median/p95 in ms, and p95 as a ratio to the first store's")
    print(f"{'':22}" + "".join(f"{name:>26}" for name in runs))
    for what in sorted(runs["first"], key=lambda name: (name in SUMS, name[0] == " ")):
        cells = (
            f"{1000 * statistics.median(run[what]):.0f}/{1000 * p95(run[what]):.0f} "
            f"{p95(run[what]) / p95(base[name][what]):.2f}"
            for name, run in runs.items()
        )
        print(f"{what:22}" + "".join(f"{cell:>26}" for cell in cells), flush=True)


def main(stores: list[Path]) -> None:
    """Print a table a store."""
    base: Runs = {}
    for place, store in enumerate(stores):
        port = PORT + place
        server = served(store, port)
        try:
            runs = {
                "first": measured(port, 1, 1, 0),
                "new filters": measured(port, 1, 1, 0, NEW_SEARCHES),
            }
            for readers, rounds in zip(READERS, ROUNDS, strict=True):
                think_s = THINK_S if readers > 1 else 0
                runs[f"{readers} reading"] = measured(port, readers, rounds, think_s)
        finally:
            server.terminate()
            server.wait()
        base = base or runs
        report(store, runs, base)


if __name__ == "__main__":
    main([Path(name) for name in sys.argv[1:]])
