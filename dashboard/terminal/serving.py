"""Commands that serve the pages: a store's, or the demo's."""

import argparse
import errno
import gc
import ipaddress
import logging
import shutil
import sys
from pathlib import Path

import duckdb
import waitress

from dashboard.app import create_app
from dashboard.terminal.intake import print_result, tell_of_rejects
from dashboard.terminal.progress import shown_progress
from dashboard.uploads.routes import Writing
from dashboard.warming import Warming
from demo_data.generator import DEFAULT_SEED, LEAST_INSTALLATIONS, generate
from demo_data.logs import write_logs
from demo_data.make_small_logs import SMALL_LOGS_FOLDER
from etl.intake import load_paths
from etl.ledger import open_ledger
from etl.lock import LOCK_NAME, hold_store
from etl.receipt import sha256_of
from etl.upload import MOST_BYTES
from queries.build import SCHEMA_VERSION
from queries.errors import FirmsetError
from queries.store import NoEdition, Store

DEMO_MARK = "demo.txt"
LOGS_NAME = "logs"
_RECEIPTS = "receipts "


def serve(args: argparse.Namespace) -> int:
    """Serve a store's pages until interrupted."""
    store = Store(args.store)
    try:
        with store.reader():
            pass
    except NoEdition:
        # Nobody could send what there is to serve: say so now.
        if writing_of(args).off_because:
            raise
        print(f"nothing is loaded in {store.folder} yet: the pages say how to begin")
    return _serve(store, args)


def demo(args: argparse.Namespace) -> int:
    """Build the demo store, unless it is there already, and serve it."""
    store = Store(args.store)
    if args.installations < LEAST_INSTALLATIONS:
        raise FirmsetError(
            f"--installations {args.installations}: expected {LEAST_INSTALLATIONS} or "
            "more, or some planted facts could not happen"
        )
    seed = DEFAULT_SEED if args.seed is None else args.seed
    exit_code = _build_demo(store, args.installations, seed)
    if exit_code or args.no_serve:
        return exit_code
    return _serve(store, args)


def _build_demo(store: Store, installations: int, seed: int) -> int:
    mark = store.folder / DEMO_MARK
    wanted = f"installations {installations}, seed {seed}, schema {SCHEMA_VERSION}"
    if mark.exists() and mark.read_text("utf-8").splitlines()[:1] == [wanted]:
        print(f"demo store {store.folder} is there already ({wanted})")
        return 0
    _require_demo_folder(store, mark)
    # From here on no load may begin, or be under way.
    with hold_store(store):
        _clear_demo(store, mark)
        exit_code = _fill_demo(store, installations, seed)
        if exit_code == 0:
            own = len(_loaded(store) or ())
            mark.write_text(f"{wanted}\n{_RECEIPTS}{own}\n", "utf-8")
    return exit_code


def _fill_demo(store: Store, installations: int, seed: int) -> int:
    logs = store.folder / LOGS_NAME
    logs.mkdir()
    print(f"inventing {installations:,} installations (seed {seed}) ...", flush=True)
    write_logs(generate(installations, seed), logs)
    with shown_progress() as progress:
        result = load_paths(store, [logs, SMALL_LOGS_FOLDER], progress=progress)
    exit_code = print_result(result, "table", is_strict=False)
    tell_of_rejects(result, store.folder)
    return exit_code


def _clear_demo(store: Store, mark: Path) -> None:
    """Empty the folder of an earlier demo but for its lock, which is held."""
    _require_demo_folder(store, mark)
    if mark.exists():
        _require_only_the_demo(store, mark)
    # Marked at once: a build that is interrupted must not stand in the next one's way.
    mark.write_text("unfinished\n", "utf-8")
    # First: without the logs nobody could tell any more that it holds nothing else.
    store.ledger_path.unlink(missing_ok=True)
    for path in store.folder.iterdir():
        if path.name in (LOCK_NAME, DEMO_MARK):
            continue
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()


def _require_demo_folder(store: Store, mark: Path) -> None:
    """Raise FirmsetError where the folder holds what is no demo's."""
    if not store.folder.exists() or mark.exists():
        return
    if any(path.name != LOCK_NAME for path in store.folder.iterdir()):
        raise FirmsetError(
            f"{store.folder}: is not a demo store; expected a new folder for --store"
        )


def _require_only_the_demo(store: Store, mark: Path) -> None:
    """Raise FirmsetError where somebody has sent files of their own, or may have."""
    _, _, own = mark.read_text("utf-8").partition(_RECEIPTS)
    loaded = _loaded(store)
    if loaded is None:
        has_more = True
    elif own.strip():
        has_more = len(loaded) != int(own)
    else:  # A build that did not finish.
        has_more = not _invented(store).issuperset(loaded)
    if has_more or any((store.folder / "maps").glob("*.toml")):
        raise FirmsetError(
            f"{store.folder}: files or site maps of your own were loaded into this "
            "demo, and another demo would delete them; expected a new folder for "
            "--store, or delete this one yourself"
        )


def _loaded(store: Store) -> list[str] | None:
    """Return the SHA-256 of each file ever loaded; None where it cannot be told."""
    if not store.ledger_path.exists():
        return []
    try:
        with open_ledger(store, is_older=True) as con:
            if con.execute("select count(*) from duckdb_tables()").fetchall() == [(0,)]:
                return []  # Killed before it had a schema.
            files = con.execute("select sha256 from source_file").fetchall()
    except (FirmsetError, duckdb.Error):
        # In use by another program, or damaged: what is in it may be somebody's own.
        return None
    return [sha256 for (sha256,) in files]


def _invented(store: Store) -> set[str]:
    """Return the SHA-256 of each file that a demo is built from, as far as it came."""
    folders = (store.folder / LOGS_NAME, SMALL_LOGS_FOLDER)
    return {
        sha256_of(path)
        for folder in folders
        for path in folder.glob("*")
        if path.is_file()
    }


def writing_of(args: argparse.Namespace) -> Writing:
    """Return who may send files: nobody from the network, unless it is asked for."""
    if args.read_only:
        return Writing("it was started with --read-only")
    if args.allow_uploads is None and not _is_loopback(args.host):
        return Writing(
            f"others reach it (--host {args.host}), and it was not started with "
            "--allow-uploads"
        )
    return Writing("", tuple(args.allow_uploads or ()))


def names_of(args: argparse.Namespace) -> tuple[str, ...] | None:
    """Return the names under which the pages are read; None is any.

    Who reaches only this computer has no other names, and a foreign page none of them;
    a network gives a server names that it does not know.
    """
    return tuple(args.allow_uploads or ()) if _is_loopback(args.host) else None


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


# So many new objects before the search for cycles begins, and ten rounds of one kind
# before the next: a page is made of thousands of parts, none of which is a cycle.
GC_THRESHOLDS = (20_000, 10, 10)


def _spare_the_collector() -> None:
    """Keep the search for cycles out of the answers.

    What is imported stays until the end: looking through it took 70 ms of whichever
    answer was being made.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(*GC_THRESHOLDS)


def _serve(store: Store, args: argparse.Namespace) -> int:
    host, port = args.host, args.port
    app = create_app(store, writing_of(args), names_of(args))
    try:
        server = waitress.create_server(
            app.server,
            host=host,
            port=port,
            threads=8,
            # A little over what the page takes, so that the page says it in words.
            max_request_body_size=2 * MOST_BYTES,
        )
    except (OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno == errno.EADDRINUSE:
            raise FirmsetError(
                f"{host}:{port}: is in use already; expected a free --port"
            ) from error
        raise FirmsetError(f"{host}:{port}: cannot be served: {error}") from error
    print(f"firmset serves {store.folder} at http://{host}:{port} (Ctrl+C ends it)")
    sys.stdout.flush()
    _spare_the_collector()
    # A few readers at once are no trouble, and it warns of every one that waits.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    warming = Warming(store)
    warming.start()
    try:
        server.run()
    finally:
        warming.stop()
        server.close()
    return 0
