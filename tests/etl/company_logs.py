"""Logs that a company keeps of several sites, and their site map, for the tests."""

import csv
from pathlib import Path

from etl.intake import IntakeResult
from queries.store import Store

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


EXPORT = [
    row(1, "Harbour hall"),
    row(2, "Harbour hall", Depth="91"),
    row(1, "Quay 3", Depth="93"),
    row(2, "Harbor hall", Depth="94"),
    ["Total", "Total", "", "", "", "370"],
]


def write_export(folder: Path, rows: Rows = EXPORT, sites: str = SITES) -> Path:
    write_map(folder, sites=sites)
    return write_rows(folder / "export.csv", rows)


def said(result: IntakeResult) -> list[tuple[str, str | None, int, int, int]]:
    return [
        (one.file_name, one.site_code, one.rows_read, one.loaded, one.rejected)
        for one in result.receipts
    ]


def held(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select site_code, record_id, hole_depth_mm from installation order by all"
        ).fetchall()
