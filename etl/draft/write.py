"""Write a draft as a site map in TOML, each line with how sure it is.

What is less than likely stands in a comment, with what is to be answered.
"""

import json
import re
from collections.abc import Iterator
from typing import Any

from etl.draft.beside import anchors_said
from etl.draft.drafted import Draft
from etl.draft.names import pattern_of_later
from etl.draft.placed import Placed
from etl.draft.said import Said
from etl.draft.sites import SitesFound
from etl.site_map import which_piece
from etl.site_map.sites import plain_word
from queries.columns import COLUMN_BY_NAME, Column

ANY_ZONE = "Etc/UTC"
# How a map says what no column of a file is.
_OTHERWISE = {
    "crew_code": (
        '; {always = "..."} if all rows are of one crew; "crew" if the name of the '
        'file or sheet is the crew, and match or sheet has "{crew}" there'
    ),
    "setting_code": (
        '; {from = ["...", "..."]} if it stands in several columns, {always = "..."} '
        "if all rows are of one"
    ),
}
_ORDER = sorted(COLUMN_BY_NAME, key=lambda name: name == "installed_time")
_ORDER.insert(_ORDER.index("installed_on") + 1, _ORDER.pop())


def toml_of(draft: Draft, site_code: str | None = None) -> str:
    """Return the site map that a draft stands for.

    It is valid where no needed column is missing. The time zone and the site's name
    are in no log: they are filled in so that the map can be read, and say so.
    """
    lines = [
        _comment(f"Drafted from {draft.path.name}. Read every line, then delete this."),
        "",
        *_site(draft, site_code),
        *_files(draft),
        *_listed(draft),
        *_dates(draft),
        *_columns(draft),
        *_codes(draft),
    ]
    return "\n".join(lines) + "\n"


def _site(draft: Draft, site_code: str | None) -> Iterator[str]:
    if draft.sites is not None:
        yield from _sites(draft.sites)
        return
    code, whence = draft.site_code
    reason = f"guess: from {whence}"
    name, why = site_code or code, "guess: write the name"
    if draft.site is not None:
        title, name = draft.site
        why = f"likely: {title!r} says so"
    if site_code:
        code, reason = site_code, "sure: it was asked for"
    yield "[site]"
    yield f"code = {_text(code)}  {_comment(reason)}"
    yield f"name = {_text(name)}  {_comment(why)}"
    yield _zone("the site's")
    yield ""


def _zone(whose: str) -> str:
    reason = f"not known: write {whose}, as Europe/Lisbon; clock times depend on it"
    return f"time_zone = {_text(ANY_ZONE)}  {_comment(reason)}"


def _sites(found: SitesFound) -> Iterator[str]:
    yield "[site]"
    said = f"it holds {len(found.words)} words, each a site; else write code and name"
    yield _said_line(f"from = {_text(found.header)}", Said(None, "likely", said))
    if found.fill_down is not None:
        yield _said_line("fill_down = true", found.fill_down)
    yield _zone("that of all sites without one of their own")
    yield ""
    yield _comment("Each word, and its site. A row of no site here is rejected.")
    yield "[sites]"
    first: dict[str, str] = {}
    # Capitals and blanks do not count in a word, which stands there once.
    words = {plain_word(word): word for word in reversed(found.words)}
    for word, code in found.words.items():
        if words[plain_word(word)] != word:
            continue
        if first.setdefault(code, word) != word:
            reason = f"likely: it is {first[code]!r}, written otherwise"
            yield f"{_text(word)} = {_text(code)}  {_comment(reason)}"
            continue
        site = f"{{code = {_text(code)}, name = {_text(found.names[word])}}}"
        reason = "guess: write code and name"
        if found.named_by is not None:
            reason = f"guess: the name is from {found.named_by!r}; write the code"
        yield f"{_text(word)} = {site}  {_comment(reason)}"
    yield ""


def _files(draft: Draft) -> Iterator[str]:
    yield "[files]"
    is_exact = draft.match == draft.path.name
    reason = "sure: this file" if is_exact else "likely: the date in the name varies"
    if "{" in draft.match:
        reason = "likely: what stands for the braces is a column"
    yield f"match = {_text(draft.match)}  {_comment(reason)}"
    if is_exact and (later := pattern_of_later(draft.match)):
        reason = "guess: instead, if the files to come are named so"
        yield f"# match = {_text(later)}  {_comment(reason)}"
    said = {
        "encoding": draft.encoding if draft.kind == "text" else None,
        "delimiter": draft.delimiter,
        "decimal": draft.decimal,
        "sheet": draft.sheet_taken,
        "records": draft.records,
    }
    for key, one in said.items():
        if one is not None:
            taken = one.value if isinstance(one.value, list) else [one.value]
            value = ", ".join(map(_text, taken))
            value = f"[{value}]" if isinstance(one.value, list) else value
            yield _said_line(f"{key} = {value}", one)
    if draft.kind in ("text", "workbook"):
        row = draft.header.row
        yield _said_line(f"header_row = {draft.header.name_rows}", row)
    if draft.header.sideways is not None:
        yield _said_line("sideways = true", draft.header.sideways)
    if draft.header.titles:
        titles = ", ".join(map(_text, draft.header.titles))
        reason = "likely: they stand above the rows, once for all of them"
        yield f"titles = [{titles}]  {_comment(reason)}"
    if draft.header.feet:
        feet = ", ".join(map(_text, draft.header.feet))
        reason = "likely: the last rows begin so, and are no installations"
        yield f"not_rows = [{feet}]  {_comment(reason)}"
    if draft.header.as_above is not None:
        marks = ", ".join(map(_text, draft.header.as_above.value))
        yield _said_line(f"as_above = [{marks}]", draft.header.as_above)
    if draft.header.anchors:
        anchors = ", ".join(map(_text, draft.header.anchors))
        several = anchors_said(draft.header, draft.placed)
        yield _said_line(f"anchors = [{anchors}]", several)
    if draft.header.anchor_count is not None:
        its = anchors_said(draft.header, draft.placed).sureness
        counted = Said(None, its, "it counts the anchors of its row")
        line = f"anchor_count = {_text(draft.header.anchor_count)}"
        yield _said_line(line, counted)
    yield ""


def _listed(draft: Draft) -> Iterator[str]:
    if draft.header.listed is None:
        return
    listed = draft.header.listed.value
    anchor = ", ".join(map(_text, listed.anchor))
    yield f"[listed]  {_comment(f'likely: {draft.header.listed.reason}')}"
    yield f"anchor = {anchor if len(listed.anchor) == 1 else f'[{anchor}]'}"
    yield f"name = {_text(listed.name)}"
    yield f"value = {_text(listed.value)}"
    if listed.unit is not None:
        yield f"unit = {_text(listed.unit)}"
    if listed.fill_down:
        yield f"fill_down = true  {_comment('likely: it is blank in the rows below')}"
    yield ""


def _dates(draft: Draft) -> Iterator[str]:
    dates, year = draft.dates, draft.header.year
    if dates.is_iso and year is None:
        return
    if dates.is_iso:
        yield "[dates]"
    elif dates.date_format is not None:
        yield "[dates]"
        reason = "all dates seen are written so"
        if dates.day_first is not None:
            reason = f"days over 12 stand {'first' if dates.day_first else 'second'}"
        yield f"format = {_text(dates.date_format)}  {_comment(f'sure: {reason}')}"
    elif dates.day_first is not None:
        yield "[dates]"
        value = str(dates.day_first).lower()
        reason = "sure: days over 12 show the order; the dates vary in form"
        yield f"day_first = {value}  {_comment(reason)}"
    else:
        is_table = "" if year is not None and year.is_active else "# "
        yield f"{is_table}[dates]  {_comment(f'question: {dates.question}')}"
        yield from (f"# {line}  # or?" for line in dates.choices)
    if year is not None:
        yield _said_line(f"year = {year.value.year}", year)
        if year.value.later_months:
            yield _said_line(f"first_month = {year.value.first_month}", year)
    yield ""


def _columns(draft: Draft) -> Iterator[str]:
    yield "[columns]"
    # The time of day stands with its day, not last as among the canonical columns.
    for one in sorted(draft.placed, key=lambda one: _ORDER.index(one.column.name)):
        yield from _column(draft, one)
    is_guessed = any(one.column.name == "setting_code" for one in draft.placed)
    if draft.together and not is_guessed:
        yield from _together(draft)
    for name in draft.not_found:
        how = "not found"
        if name in draft.only_guessed:
            how = "only guessed above; if that is not it"
        reason = f"needed, and {how}{_OTHERWISE.get(name, '')}"
        yield f'# {name} = "?"  {_comment(reason)}'
    if draft.unplaced:
        yield ""
        yield _comment("No column was found for these headers:")
        yield from (_comment(f"  {_text(header)}") for header in draft.unplaced)
    yield ""


def _column(draft: Draft, one: Placed) -> Iterator[str]:
    name = one.column.name
    extras = _extras(draft, name)
    taken = {text: said for text, said in extras.items() if said.is_active}
    reasons = [one.said.reason, *(said.reason for said in taken.values())]
    reason = "; ".join(reason for reason in reasons if reason)
    sureness = one.said.sureness
    if taken and sureness == "sure":
        sureness = "likely"
    said = Said(None, sureness, reason)
    yield _said_line(f"{name} = {_source(one, [*taken])}", said)
    if one.unit_choices and not one.said.is_active:
        units = ", ".join(one.unit_choices)
        yield _comment(f"  which unit is {_text(one.header)} in? It may be {units}")
    for text, extra in extras.items():
        if not extra.is_active:
            yield _comment(f"  {text} in {name}? {extra.reason}")
    if name == "setting_code" and len(draft.together) > 1:
        yield from _together(draft)


def _source(one: Placed, extras: list[str]) -> str:
    """Return what a column is read from: a header, or a table with these `extras`."""
    if one.ticked:
        return f"{{ticked = [{', '.join(map(_text, one.ticked.values()))}]}}"
    unit = one.said.value
    parts = [f"from = {_text(one.header)}"]
    if one.unit_header is not None:
        parts = [f"from = [{_text(one.header)}, {_text(one.unit_header)}]"]
    elif unit is not None and unit != one.column.unit:
        parts.append(f"unit = {_text(unit)}")
    if one.week is not None:
        week = f"week_{one.week.way} = {_text(one.week.header)}"
        parts = [week, f"weekday = {_text(one.header)}"]
    if one.piece is not None:
        which = _text(which_piece(one.piece))
        parts += [f"split = {_text(one.piece.sign)}", f"piece = {which}"]
    if one.marks:
        parts.append(f"marks = [{', '.join(map(_text, one.marks))}]")
    parts += extras
    is_table = len(parts) > 1 or one.unit_header is not None
    return f"{{{', '.join(parts)}}}" if is_table else _text(one.header)


def _together(draft: Draft) -> Iterator[str]:
    """Yield the line for columns that may be the setting code, with a word for each."""
    headers = [_text(part.header) for part in draft.together]
    if len(headers) == 1:
        reason = _comment("guess: each of its words a word under [codes]")
        yield f"# setting_code = {headers[0]}  {reason}"
        return
    reason = _comment("guess: these together, each combination a word under [codes]")
    yield f"# setting_code = {{from = [{', '.join(headers)}]}}  {reason}"


def _extras(draft: Draft, name: str) -> dict[str, Said[Any]]:
    """Return what else may be said of a column, as a site map writes it."""
    extras: dict[str, Said[Any]] = {}
    if fill := draft.fill_down.get(name):
        extras["fill_down = true"] = fill
    if draft.within and name == "record_id":
        headers = ", ".join(map(_text, draft.within.value))
        extras[f"within = [{headers}]"] = draft.within
    return extras


def _codes(draft: Draft) -> Iterator[str]:
    active = {one.column.name for one in draft.active}
    for name, codes in draft.codes.items():
        if not codes.known and not codes.unknown:
            continue
        mark = "" if name in active else "# "
        if codes.known:
            yield f"{mark}[codes.{name}]"
        for word, ours in codes.known.items():
            value = ours if ours in ("true", "false") else _text(ours)
            yield f"{mark}{_text(word)} = {value}  {_comment('likely')}"
        if codes.unknown and not codes.known:
            yield _comment(f"[codes.{name}]")
        choices = choices_of(COLUMN_BY_NAME[name])
        if name == "setting_code" and not draft.header.held.settings:
            choices += "; none are loaded: load them first, and draft anew"
        for word in codes.unknown:
            yield _asked(word, codes.may_be.get(word, ()), choices)
        yield ""


def _asked(word: str, may_be: tuple[str, ...], choices: str) -> str:
    if len(may_be) == 1:
        reason = _comment("guess: no other code of the store suits it as well")
        return f"# {_text(word)} = {_text(may_be[0])}  {reason}"
    choices = " or ".join(may_be) or choices
    return f'# {_text(word)} = "?"  {_comment(f"question: {choices}")}'


def choices_of(column: Column) -> str:
    """Return what the words of a column may be in ours, in words."""
    if column.name == "setting_code":
        return "which code of the setting data"
    if column.is_clearable:
        return '"clear" if nothing is near'
    return " or ".join(column.choices) or "true or false"


def _said_line(line: str, said: Said[Any]) -> str:
    reason = f"{said.sureness}: {said.reason}" if said.reason else said.sureness
    active = f"{line}  {_comment(reason)}"
    return active if said.is_active else f"# {active}"


def _text(value: str) -> str:
    """Return a TOML basic string: a JSON string, but for DEL, which TOML escapes."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _comment(text: str) -> str:
    """Return a comment; control characters, which TOML forbids there, become blanks."""
    return "# " + re.sub(r"[\x00-\x1f\x7f]", " ", text)
