"""Drive the dashboard in headless Chromium; nothing may leave 127.0.0.1 or go wrong."""

import os
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, Route, expect, sync_playwright
from werkzeug.serving import make_server

from dashboard.app import create_app
from dashboard.command import main
from dashboard.uploads.routes import Writing
from queries.store import Store

# Two busy cores draw the 22 charts of Crews in some seconds, cold; a test asks whether
# something appears, not how fast.
expect.set_options(timeout=30_000)

Opened = Callable[..., AbstractContextManager[Page]]


# The first is Chromium without what only a window needs, and takes an eighth less time.
CHROMIUMS = ("chromium-headless-shell", "chromium")


@pytest.fixture(scope="session")
def chromium() -> str:
    """The browser's path; without one the test skips, or fails where it must run."""
    for found in (os.environ.get("FIRMSET_CHROMIUM"), *map(shutil.which, CHROMIUMS)):
        if found:
            return found
    reason = f"no Chromium: install Debian's {CHROMIUMS[0]} or set FIRMSET_CHROMIUM"
    if os.environ.get("FIRMSET_BROWSER_REQUIRED"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def demo_store(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A demo store of 20,000 installations, built by the command."""
    folder = tmp_path_factory.mktemp("browser") / "demo"
    options = ["--installations", "20000", "--store", str(folder)]
    assert main(["demo", "--no-serve", *options]) == 0
    return Store(folder)


@contextmanager
def served(store: Store) -> Iterator[str]:
    """Serve a store's pages as `firmset serve` does on one's own machine; say where."""
    app = create_app(store, Writing(""))
    server = make_server("127.0.0.1", 0, app.server, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()


@pytest.fixture(scope="session")
def address(demo_store: Store) -> Iterator[str]:
    """Where the demo is served."""
    with served(demo_store) as address:
        yield address


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """One browser for all tests."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium)
        yield browser
        browser.close()


@pytest.fixture
def opened(browser: Browser, request: pytest.FixtureRequest) -> Opened:
    """Open a path: `with opened("/sites", width=390, scheme="dark") as page`.

    Of the demo, or of what is served at `at`. On leaving, fails for anything the
    browser complained of, any response of an error and any request to another host.
    """

    @contextmanager
    def open_page(
        path: str, width: int = 1400, scheme: str = "light", at: str = ""
    ) -> Iterator[Page]:
        context = browser.new_context(
            viewport={"width": width, "height": 1000},
            color_scheme=scheme,  # type: ignore[arg-type]
            reduced_motion="reduce",
        )
        wrong: list[str] = []

        def only_local(route: Route) -> None:
            if urlsplit(route.request.url).hostname == "127.0.0.1":
                route.continue_()
            else:
                wrong.append(f"left the host: {route.request.url}")
                route.abort()

        context.route("**/*", only_local)
        page = context.new_page()
        page.on(
            "console",
            lambda said: wrong.append(said.text) if said.type == "error" else None,
        )
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "response",
            lambda answer: (
                wrong.append(f"{answer.status} {answer.url}")
                if answer.status >= 400
                else None
            ),
        )
        page.goto((at or request.getfixturevalue("address")) + path)
        page.wait_for_selector("#page h1")
        page.wait_for_load_state("networkidle")
        yield page
        context.close()
        assert not wrong

    return open_page
