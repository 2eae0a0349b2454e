"""The floors of the house: who may import whom."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
ROOMS = ("queries", "etl", "dashboard", "demo_data")

# A room, and the rooms it may import besides itself. The dashboard may import etl only
# where a command or an upload starts a load, drafts a site map, gives out an empty
# sheet, records a decision or reads a file as a spreadsheet saves it.
ALLOWED = {
    "queries": set(),
    "etl": {"queries"},
    "dashboard": {"queries"},
    "demo_data": {"queries"},
}
READS_FILES = {
    "dashboard/bill.py": {"queries", "etl"},
    "dashboard/terminal/empty_sheet.py": {"queries", "etl"},
    "dashboard/terminal/intake.py": {"queries", "etl"},
    "dashboard/terminal/drafting.py": {"queries", "etl"},
    "dashboard/terminal/progress.py": {"queries", "etl"},
    "dashboard/terminal/receipts.py": {"queries", "etl"},
    "dashboard/terminal/baseline.py": {"queries", "etl"},
    "dashboard/terminal/serving.py": {"queries", "etl", "demo_data"},
    "dashboard/terminal/watching.py": {"queries", "etl"},
    "dashboard/uploads/job.py": {"queries", "etl"},
    "dashboard/uploads/maps.py": {"queries", "etl"},
    "dashboard/uploads/outcome.py": {"queries", "etl"},
    "dashboard/uploads/routes.py": {"queries", "etl"},
    "dashboard/uploads/run.py": {"queries", "etl"},
    "dashboard/uploads/work.py": {"queries", "etl"},
}


def imported_rooms(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            found.add(node.module.split(".")[0])
    return found & set(ROOMS)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_the_floors_below(room: str) -> None:
    files = sorted((ROOT / room).rglob("*.py"))
    assert files
    for path in files:
        name = path.relative_to(ROOT).as_posix()
        allowed = READS_FILES.get(name, ALLOWED[room]) | {room}
        assert imported_rooms(path) <= allowed, name


def test_the_exceptions_exist() -> None:
    assert all((ROOT / name).is_file() for name in READS_FILES)
