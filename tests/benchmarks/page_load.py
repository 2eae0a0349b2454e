"""How long a page takes to answer, with one reader and with twenty.

    python -m tests.benchmarks.page_load STORE [STORE ...]

Serves each store on 127.0.0.1 in a process of its own, as `firmset serve` does, and
asks for its pages as the browser does: the callback that makes a page of an address.
Each address is asked once (first: what an edition costs to weigh), then READERS[0]
reader asks them all in a mixed order, then READERS[1] readers at once, each waiting
some THINK_S seconds between two answers, as somebody who reads does. The second store
and each further one is given as a ratio to the first, measured in the same run.
"""

import http.client
import json
import random
import statistics
import subprocess
import sys
import threading
import time
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
READERS = (1, 20)
ROUNDS = (6, 2)
THINK_S = 1.0
PORT = 8157
SEED = 20261125


class Reader:
    """One browser's worth of a connection."""

    def __init__(self, port: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=600)

    def ask(self, page: dict[str, Any], path: str, search: str) -> float:
        """Return the seconds that a page's callback took; raises unless it is 200."""
        values = {"pathname": path, "search": search}
        body = {
            "output": page["output"],
            "outputs": page["outputs"],
            "changedPropIds": ["address.search"],
            "inputs": [
                entry | {"value": values[entry["property"]]} for entry in page["inputs"]
            ],
        }
        start = time.perf_counter()
        self.connection.request(
            "POST",
            "/_dash-update-component",
            json.dumps(body),
            {"Content-Type": "application/json", "Accept-Encoding": "gzip"},
        )
        answer = self.connection.getresponse()
        answer.read()
        took = time.perf_counter() - start
        if answer.status != 200:
            raise RuntimeError(f"{path}{search}: {answer.status}")
        return took

    def page_callback(self) -> dict[str, Any]:
        """Return outputs and inputs of the callback that makes a page."""
        self.connection.request("GET", "/_dash-dependencies")
        known = json.loads(self.connection.getresponse().read())
        [page] = [
            entry
            for entry in known
            if "page.children" in entry["output"] and not entry["clientside_function"]
        ]
        outputs = [
            name.rpartition(".") for name in page["output"].strip(".").split("...")
        ]
        return {
            "output": page["output"],
            "outputs": [{"id": of, "property": prop} for of, _, prop in outputs],
            "inputs": [
                {"id": entry["id"], "property": entry["property"]}
                for entry in page["inputs"]
            ],
        }


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


def measured(port: int, readers: int, rounds: int, think_s: float) -> list[float]:
    """Return the seconds of all answers that so many readers got at once."""
    addresses = [(path, search) for path in PAGES for search in SEARCHES]
    taken: list[float] = []

    def read(number: int) -> None:
        mixed = random.Random(SEED + number)
        reader = Reader(port)
        page = reader.page_callback()
        for _ in range(rounds):
            for path, search in mixed.sample(addresses, len(addresses)):
                time.sleep(mixed.uniform(0, 2 * think_s))
                taken.append(reader.ask(page, path, search))

    threads = [threading.Thread(target=read, args=(n,)) for n in range(readers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if len(taken) != readers * rounds * len(addresses):
        raise RuntimeError("a reader was not answered")
    return taken


def p95(seconds: list[float]) -> float:
    """Return the 95th percentile."""
    return statistics.quantiles(seconds, n=20, method="inclusive")[-1]


def main(stores: list[Path]) -> None:
    """Print a line a store and number of readers."""
    base: dict[str, float] = {}
    for place, store in enumerate(stores):
        port = PORT + place
        server = served(store, port)
        try:
            runs = {"first": measured(port, 1, 1, 0)}
            for readers, rounds in zip(READERS, ROUNDS, strict=True):
                think_s = THINK_S if readers > 1 else 0
                runs[f"{readers} reading"] = measured(port, readers, rounds, think_s)
        finally:
            server.terminate()
            server.wait()
        for name, seconds in runs.items():
            base.setdefault(name, p95(seconds))
            print(
                f"{store.name:16} {name:12} {len(seconds):5} answers  median "
                f"{1000 * statistics.median(seconds):7.0f} ms  p95 "
                f"{1000 * p95(seconds):7.0f} ms  ratio of p95 "
                f"{p95(seconds) / base[name]:.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main([Path(name) for name in sys.argv[1:]])
