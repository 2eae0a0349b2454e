"""Columns of which one is ticked in a row, as "yes" and "no" under "Hole cleaned"."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from etl.draft.codes import Codes
from etl.draft.header import Header
from etl.draft.looks import looks_of
from etl.draft.words import code_words, plain, words
from queries.columns import Column

# Marks that a hand or a form makes; of the letters ü and þ some fonts of signs make a
# tick and a ticked box, of ¨ an empty one. Common practice, no source.
_TICKS = frozenset([*"xX✓✔☑☒√×✗✘●•■üþ", "true", "TRUE"])
# What nobody ticked, as is_ticked in etl/cells.sql has it.
_EMPTY = frozenset([*"☐□◻▢¨", "false", "FALSE"])
_SIZE = re.compile(r"M ?\d{1,2}|(?:\d )?\d/\d{1,2}\s?(?:in|\")?", re.IGNORECASE)
_CHOICES = ("orientation", "drill_method", "base_material")
# So many rows may have two ticks; a load says that they cannot be read.
_FEW = 0.1
_BETWEEN = " -–:/,.()[]"


@dataclass(frozen=True)
class _Answer:
    """What a column stands for: an `answer` of a `kind` to what is `asked`."""

    kind: str
    asked: str
    answer: str


def with_ticked(header: Header) -> Header:
    """Return the header with a column more for each question with a column an answer.

    Its cells are the answers; the columns of these stay, without name and values.
    """
    for places in list(_questions(header)):
        if _is_one_of_them(header, places):
            header = _with_column(header, places)
    return header


def codes_ticked(column: Column, names: dict[str, str]) -> Codes:
    """Return what each header means in ours; `names` gives the header by its answer."""
    known_words = code_words(column.name)
    ours = {name: known_words.get(plain(word)) for word, name in names.items()}
    known = {name: value for name, value in ours.items() if value is not None}
    return Codes(known, tuple(name for name in ours if name not in known))


def _questions(header: Header) -> Iterator[tuple[int, ...]]:
    """Yield columns side by side that hold ticks alone and answer one question."""

    def asked(place: int) -> tuple[str, str] | int:
        answer = _answer(header, place)
        cells = _filled(header, place)
        if answer is None or not all(cell in _TICKS for cell in cells):
            return place
        return answer.kind, answer.asked

    for _, run in groupby(range(len(header.names)), key=asked):
        places = tuple(run)
        answers = {plain(one.answer) for at in places if (one := _answer(header, at))}
        is_asked = len(places) > 1 and len(answers) == len(places)
        if is_asked and any(_filled(header, place) for place in places):
            yield places


def _filled(header: Header, place: int) -> list[str]:
    cells = looks_of(header.rows, place, ".").filled
    return [cell for cell in cells if cell not in _EMPTY]


def _answer(header: Header, place: int) -> _Answer | None:
    """Return what a column answers by the last words of its name, or None."""
    said = header.bare[place].split()
    group = header.groups[place] if place < len(header.groups) else ""
    for start in range(len(said)):
        answer = " ".join(said[start:]).strip(_BETWEEN)
        kind = _kind_of(answer)
        if kind is not None:
            before = " ".join(said[:start]).strip(_BETWEEN)
            asked = " ".join(filter(None, (group, before)))
            return _Answer(kind, asked, answer)
    return None


def _kind_of(answer: str) -> str | None:
    """Return what kind of answer this is: yes_no, size, or a column's choices."""
    if plain(answer) in words().codes["yes_no"]:
        return "yes_no"
    if _SIZE.fullmatch(answer):
        return "size"
    return next((one for one in _CHOICES if plain(answer) in code_words(one)), None)


def _is_one_of_them(header: Header, places: Sequence[int]) -> bool:
    ticks = [len(_ticked(row, places)) for row in header.rows]
    return sum(count > 1 for count in ticks) <= _FEW * sum(map(bool, ticks))


def _ticked(row: Sequence[str], places: Sequence[int]) -> list[int]:
    """Return the numbers of the places that are ticked in a row."""
    return [
        number
        for number, place in enumerate(places)
        if place < len(row) and row[place] in _TICKS
    ]


def _with_column(header: Header, places: Sequence[int]) -> Header:
    width = len(header.names)
    found = [one for place in places if (one := _answer(header, place))]
    answers = [one.answer for one in found]
    rows = []
    for row in header.rows:
        padded = [*row[:width], *[""] * (width - len(row))]
        said = " + ".join(answers[number] for number in _ticked(row, places))
        rows.append(
            [*("" if at in places else cell for at, cell in enumerate(padded)), said]
        )
    names = [header.names[place] for place in places]
    bare = ("" if at in places else name for at, name in enumerate(header.bare))
    groups = ("" if at in places else name for at, name in enumerate(header.groups))
    # A question without a name is known by its answers.
    asked = found[0].asked or found[0].kind
    return replace(
        header,
        names=(*header.names, " + ".join(names)),
        bare=(*bare, asked),
        units=(*header.units, None),
        groups=tuple(groups),
        rows=rows,
        ticked=header.ticked | {width: dict(zip(answers, names, strict=True))},
    )
