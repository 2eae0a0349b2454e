"""The command that drafts a site map from a file."""

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from dashboard import words
from dashboard.terminal.output import legible, print_object
from etl.draft.beside import anchors_said
from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from etl.draft.held import read_held
from etl.draft.placed import Placed
from etl.draft.said import Said
from etl.draft.write import choices_of, toml_of
from etl.site_map import which_piece
from queries.errors import FirmsetError
from queries.store import Store

EXIT_NOT_FOUND = 1


def draft(args: argparse.Namespace) -> int:
    """Write the draft to stdout or --out, and what was found to stderr.

    With --format json stdout holds one object: the findings, and the draft as `toml`.
    Returns 1 where a needed column was not found, since such a map cannot be used yet.
    """
    if args.out is not None and args.out.exists():
        raise FirmsetError(f"{args.out}: is there already, and is not replaced")
    code = args.site.strip().upper() if args.site else None
    held = read_held(Store(args.store))
    found = draft_of(args.file, args.sheet, is_of_one_site=code is not None, held=held)
    toml = toml_of(found, code)
    if args.out is not None:
        _write_new(args.out, toml)
    if args.form == "json":
        print_object(findings(found, code) | {"toml": toml})
    else:
        if args.out is None:
            print(toml, end="")
        for line in _report(found, code):
            print(legible(line), file=sys.stderr)
    return EXIT_NOT_FOUND if found.not_found else 0


def _write_new(path: Path, toml: str) -> None:
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(toml)
    except OSError as error:
        raise FirmsetError(f"{path}: cannot be written: {error.strerror}") from error


def findings(found: Draft, site_code: str | None = None) -> dict[str, object]:
    """Return what a draft found, as JSON can say it; `site_code` as of `questions`."""
    year = found.header.year
    return {
        "file": found.path.name,
        "match": found.match,
        "layout": {
            name: {"value": one.value, "sureness": one.sureness, "reason": one.reason}
            for name, one in _layout(found)
        },
        "titles": list(found.header.titles),
        "not_rows": list(found.header.feet),
        "as_above": list(above.value) if (above := found.header.as_above) else [],
        "sites": _sites(found),
        "anchors": list(found.header.anchors),
        "anchor_count": found.header.anchor_count,
        "dates": {
            "iso": found.dates.is_iso,
            "format": found.dates.date_format,
            "day_first": found.dates.day_first,
            "question": found.dates.question,
            "year": year.value.year if year else None,
            "first_month": year.value.first_month if year else None,
        },
        "columns": [_column(found, one) for one in found.placed],
        "unplaced_headers": list(found.unplaced),
        "needed_not_found": list(found.not_found),
        "needed_only_guessed": list(found.only_guessed),
        "remarks": list(found.remarks),
        "questions": list(questions(found, site_code)),
    }


def _sites(found: Draft) -> dict[str, object] | None:
    if found.sites is None:
        return None
    fill = found.sites.fill_down
    return {
        "header": found.sites.header,
        "words": found.sites.words,
        "names": found.sites.names,
        "fill_down": fill is not None and fill.is_active,
    }


def _column(found: Draft, one: Placed) -> dict[str, object]:
    name = one.column.name
    fill = found.fill_down.get(name)
    return {
        "column": name,
        "header": one.header,
        "split": one.piece.sign if one.piece else None,
        "piece": which_piece(one.piece) if one.piece else None,
        "marks": list(one.marks),
        "ticked": list(one.ticked.values()),
        "unit_header": one.unit_header,
        "week_header": one.week.header if one.week else None,
        "unit": one.said.value,
        "sureness": one.said.sureness,
        "reason": one.said.reason,
        "is_active": one.said.is_active,
        "fill_down": fill is not None and fill.is_active,
        "within": _within(found) if name == "record_id" else [],
        "codes": found.codes[name].known,
        "unknown_words": list(found.codes[name].unknown),
        "words_may_be": found.codes[name].may_be,
    }


def _source(one: Placed) -> str:
    of = f", {which_piece(one.piece)}" if one.piece else ""
    week = f"{one.week.header!r} and " if one.week else ""
    return f"{week}{one.header!r}{of}"


def _within(found: Draft) -> list[str]:
    said = found.within
    return list(said.value) if said is not None and said.is_active else []


def _layout(found: Draft) -> Iterator[tuple[str, Said[Any]]]:
    row = found.header.row
    named: dict[str, Said[Any] | None] = {
        "encoding": found.encoding,
        "delimiter": found.delimiter,
        "decimal": found.decimal,
        "sheet": found.sheet_taken,
        "records": found.records,
        "header_row": Said(found.header.name_rows, row.sureness, row.reason)
        if found.kind in ("text", "workbook")
        else None,
        "sideways": found.header.sideways,
        "listed": _listed(found),
    }
    for name, one in named.items():
        if one is not None:
            yield name, one


def _listed(found: Draft) -> Said[str] | None:
    """Return under which headers stand an anchor's values, where they are listed."""
    listed = found.header.listed
    if listed is None:
        return None
    return Said(", ".join(listed.value.headers), listed.sureness, listed.reason)


def questions(found: Draft, site_code: str | None = None) -> Iterator[str]:
    """Yield what a person has to answer before the map is right.

    `site_code`: the site that was asked for.
    """
    if found.sites is None and site_code is None:
        yield _which_site(found)
    yield from _year_questions(found)
    yield from _site_questions(found)
    if found.header.anchors:
        yield (
            f"anchors: does a row hold {len(found.header.anchors)}? Then a time or a "
            "count for all of them together is none of one anchor: leave that column "
            "out"
        )
    for name, said in _layout(found):
        if not said.is_active:
            yield f"{name}: is it {said.value!r}? {said.reason}"
    if found.dates.question:
        yield f"dates: {found.dates.question}"
    for one in found.placed:
        yield from _column_questions(found, one)
    if found.together:
        headers = " and ".join(repr(part.header) for part in found.together)
        which = f"{headers} together" if len(found.together) > 1 else headers
        listed = ", ".join(map(repr, found.codes["setting_code"].unknown))
        yield f"setting_code: is it {which}? which code of yours is each of {listed}?"


def _year_questions(found: Draft) -> Iterator[str]:
    year = found.header.year
    if year is not None and not year.is_active:
        is_over = bool(year.value.later_months)
        yield (
            "in which year does the log begin, that runs over New Year?"
            if is_over
            else "which year are the dates of, that have none?"
        )


def _site_questions(found: Draft) -> Iterator[str]:
    if found.sites is None:
        yield "which time zone is the site in?"
        return
    names = found.sites.names
    listed = words.and_list(
        [
            f"{word!r} ({names[word]})" if names[word] != word else repr(word)
            for word in found.sites.words
        ]
    )
    yield f"sites: are {listed} in {found.sites.header!r} sites of yours?"
    fill = found.sites.fill_down
    if fill is not None and not fill.is_active:
        yield f"sites: {fill.reason}"
    yield "which time zone are the sites in?"


def _column_questions(found: Draft, one: Placed) -> Iterator[str]:
    name = one.column.name
    if not one.said.is_active:
        units = ", ".join(one.unit_choices)
        which = f"; unit {units}?" if units else ""
        within = _within(found) if name == "record_id" else []
        of = f" within {' and '.join(map(repr, within))}" if within else ""
        yield f"{name}: is it {_source(one)}{of}? {one.said.reason}{which}"
    fill = found.fill_down.get(name)
    if fill is not None and not fill.is_active:
        yield f"{name}: {fill.reason}"
    if name == "record_id" and found.within and not found.within.is_active:
        yield f"{name}: {found.within.reason}"
    unknown = found.codes[name].unknown
    if unknown and not (name == "setting_code" and found.together):
        listed = ", ".join(map(repr, unknown))
        do = "do" if len(unknown) > 1 else "does"
        yield f"{name}: what {do} {listed} mean? ({choices_of(one.column)})"


def _which_site(found: Draft) -> str:
    code, whence = found.site_code
    held = (
        "; the store holds a site of this code, whose the rows would be"
        if found.header.held.has_site(code)
        else ""
    )
    return f"which site is it? its code, {code!r}, is a guess from {whence}{held}"


def _report(found: Draft, site_code: str | None) -> Iterator[str]:
    yield f"{found.path.name}: {words.plural(len(found.header.rows), 'row')} looked at"
    for name, one in _layout(found):
        yield f"  {name} {one.value!r}: {one.sureness}, {one.reason}"
    if found.sites is not None:
        yield (
            f"  sites by {found.sites.header!r}: likely, "
            f"it holds {words.plural(len(found.sites.words), 'word')}"
        )
    if found.header.titles:
        listed = ", ".join(map(repr, found.header.titles))
        yield f"  titles {listed}: likely, they stand above the rows"
    if found.header.anchors:
        listed = ", ".join(map(repr, found.header.anchors))
        its = anchors_said(found.header, found.placed)
        yield f"  anchors {listed}: {its.sureness}, {its.reason}"
    if found.header.feet:
        listed = ", ".join(map(repr, found.header.feet))
        yield f"  not_rows {listed}: likely, the last rows begin so"
    if found.header.as_above is not None:
        above = found.header.as_above
        listed = ", ".join(map(repr, above.value))
        yield f"  as_above {listed}: {above.sureness}, {above.reason}"
    active, placed = len(found.active), len(found.placed)
    yield f"  {active} columns mapped, {placed - active} guessed and left as comments"
    for placed_one in found.placed:
        said = placed_one.said
        unit = f" in {said.value}" if said.value else ""
        if placed_one.column.name == "record_id" and (within := _within(found)):
            unit = f" within {' and '.join(map(repr, within))}"
        reason = f", {said.reason}" if said.reason else ""
        place = f"{placed_one.column.name} = {_source(placed_one)}{unit}"
        yield f"    {place}: {said.sureness}{reason}"
    if found.unplaced:
        yield f"  not placed: {', '.join(map(repr, found.unplaced))}"
    for remark in found.remarks:
        yield f"  {remark}"
    for question in questions(found, site_code):
        yield f"  question: {question}"
    missing = [name for name in found.not_found if name not in found.only_guessed]
    if missing:
        yield f"  needed and not found: {', '.join(missing)}"
    if found.only_guessed:
        yield f"  needed and only guessed: {', '.join(found.only_guessed)}"
