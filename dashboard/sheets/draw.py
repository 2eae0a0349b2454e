"""Put a sheet on one page: everything at one size, the largest that fits."""

from dashboard.sheets.content import Part, Sheet
from dashboard.sheets.paper import HEIGHT_MM, INK, MARGIN_MM, SOFT, Paper
from dashboard.sheets.table import draw_checks
from queries.errors import FirmsetError

SCALES = (1.0, 0.93, 0.86, 0.78, 0.68, 0.58, 0.48)
KIND, TITLE, LEAD, HEADING, BODY, SMALL = 8.5, 18.0, 11.5, 10.0, 8.8, 7.5
INDENT_MM = 4.5


def draw_sheet(sheet: Sheet) -> bytes:
    """Return a sheet as a PDF of one A4 page; the same sheet gives the same bytes."""
    for scale in SCALES:
        paper = _page(sheet, scale)
        try:
            if paper.y <= HEIGHT_MM - MARGIN_MM:
                return paper.content()
        finally:
            paper.close()
    raise FirmsetError(f"{sheet.name}: what there is to say does not fit on one page")


def _page(sheet: Sheet, scale: float) -> Paper:
    paper = Paper(f"{sheet.kind}: {sheet.name}", sheet.published_at, scale)
    _head(paper, sheet)
    for part in sheet.parts_before:
        _part(paper, part)
    paper.gap(2.5)
    paper.write("Check by check", HEADING, bold=True)
    paper.gap(0.5)
    draw_checks(paper, sheet.checks)
    paper.gap(1)
    paper.write(sheet.key, SMALL, colour=SOFT)
    for part in sheet.parts_after:
        _part(paper, part)
    _foot(paper, sheet)
    return paper


def _head(paper: Paper, sheet: Sheet) -> None:
    paper.write(f"{sheet.kind} · firmset", KIND, colour=SOFT)
    paper.write(sheet.name, TITLE, bold=True)
    paper.write(sheet.scope, SMALL, colour=SOFT)
    paper.write(sheet.edition, SMALL, colour=SOFT)
    paper.gap(1.5)
    paper.rule(INK, 0.5)
    paper.gap(2)
    paper.write(sheet.lead, LEAD, bold=True)
    if sheet.counted:
        paper.gap(0.8)
        paper.write(sheet.counted, BODY)


def _part(paper: Paper, part: Part) -> None:
    paper.gap(2.5)
    paper.write(part.heading, HEADING, bold=True)
    for number, sentence in enumerate(part.sentences, start=1):
        paper.gap(0.5)
        if part.is_numbered:
            paper.face(BODY, bold=True)
            paper.put(f"{number}.", MARGIN_MM, INDENT_MM, paper.line_mm(BODY))
        indent = INDENT_MM if part.is_numbered else 0.0
        paper.write(sentence, BODY, indent_mm=indent)


def _foot(paper: Paper, sheet: Sheet) -> None:
    paper.gap(3)
    paper.rule(INK, 0.3)
    paper.gap(1)
    for caution in sheet.cautions:
        paper.gap(0.5)
        paper.write(caution, SMALL)
