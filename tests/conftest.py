"""How the tests are shared among processes, so that nothing big is built twice."""

from pathlib import PurePosixPath
from typing import Any

import pytest
from xdist.scheduler import LoadScopeScheduling

# Their tests share a demo store or a browser for the session, and take longest: one
# process each, from the start.
SHARED = ("whole_line", "browser", "demo_data")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes longest."""
    items.sort(key=lambda item: item.path.parent.name not in SHARED)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling:
    """Give a process folders that share something big, and else files."""
    return _Scheduling(config, log)


class _Scheduling(LoadScopeScheduling):
    def _split_scope(self, nodeid: str) -> str:
        path = PurePosixPath(nodeid.partition("::")[0])
        return path.parent.name if path.parent.name in SHARED else str(path)
