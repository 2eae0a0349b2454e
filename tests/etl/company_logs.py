"""Logs that a company keeps of several sites, and their site map, for the tests."""

import csv
from pathlib import Path

SITES = """
"Harbour hall" = {code = "HARBOUR", name = "Harbour sheds"}
"Quay 3" = "QUAY3"
"""
COMPANY = """
[site]
from = "Project"
time_zone = "Europe/Lisbon"
{site}
[sites]
{sites}
[files]
match = "{match}"
{files}
[columns]
record_id = "No"
installed_on = "Day"
crew_code = {crew}
setting_code = "Code"
hole_depth_mm = "Depth"
"""
HEADS = ["No", "Project", "Day", "Crew", "Code", "Depth"]
Rows = list[list[str]]


def row(number: int, project: str, **others: str) -> list[str]:
    cells = {"No": str(number), "Project": project, "Day": "2026-05-04"}
    cells |= {"Crew": "K1", "Code": "M12-68", "Depth": "92"} | others
    return [cells[name] for name in HEADS]


def write_map(
    folder: Path,
    *,
    sites: str = SITES,
    site: str = "",
    match: str = "export*",
    files: str = "",
    crew: str = '"Crew"',
    name: str = "company.toml",
) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    text = COMPANY.format(sites=sites, site=site, match=match, files=files, crew=crew)
    path.write_text(text, "utf-8")
    return path


def write_rows(path: Path, rows: Rows) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as target:
        csv.writer(target).writerows([HEADS, *rows])
    return path
