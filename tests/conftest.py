"""How the tests are shared among processes, so that nothing big is built twice."""

from pathlib import Path

import pytest

# Their tests share a demo store or a browser for the session, and take longest: one
# process each, from the start.
SHARED = ("whole_line", "browser", "demo_data")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Group the tests by folder where they share something big, else by file."""
    for item in items:
        item.add_marker(pytest.mark.xdist_group(_group(item.path)))
    items.sort(key=lambda item: item.path.parent.name not in SHARED)


def _group(path: Path) -> str:
    folder = path.parent.name
    return folder if folder in SHARED else path.as_posix()
