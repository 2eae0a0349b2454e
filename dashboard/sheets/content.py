"""What stands on a sheet, before anything is drawn: pure."""

from dataclasses import dataclass
from datetime import datetime

from queries.selection import Selection

# A name longer than this is cut, and the cut is shown.
LONGEST_NAME = 80
# Such a character is written as its code point, [U+6A4B]: so many characters.
CODE_POINT = 8
# Syriac to Ogham and beyond, and from the radicals of Chinese on.
FAR_FROM, FAR_TO, FARTHER_FROM = 0x0700, 0x1E00, 0x2E80


@dataclass(frozen=True)
class Picture:
    """What is drawn of one check; all are fractions.

    `low` to `high` is the interval of `rate`, `truth_low` to `truth_high` the range
    of truth, `others_rate` None where no other was judged.
    """

    rate: float
    low: float
    high: float
    truth_low: float
    truth_high: float
    others_rate: float | None
    is_flagged: bool


@dataclass(frozen=True)
class CheckLine:
    """One check in words, a text a column; `picture` None where nothing is judged."""

    title: str
    judged: str
    nonconforming: str
    rate: str
    others: str
    missing: str
    truth: str
    verdict: str
    picture: Picture | None


@dataclass(frozen=True)
class Part:
    """A heading with its sentences, numbered where their order says something."""

    heading: str
    sentences: tuple[str, ...]
    is_numbered: bool = False


@dataclass(frozen=True)
class Sheet:
    """One page. `parts_before` stand above the table of checks, the others below.

    `edition` is its line, `published_at` the UTC instant that dates the file; `key`
    says how the table is read.
    """

    kind: str
    name: str
    scope: str
    edition: str
    lead: str
    counted: str
    checks: tuple[CheckLine, ...]
    key: str
    parts_before: tuple[Part, ...]
    parts_after: tuple[Part, ...]
    cautions: tuple[str, ...]
    file_name: str
    published_at: datetime


def shortened(text: str, longest: int = LONGEST_NAME) -> str:
    """Return a text of at most `longest` characters on paper; a cut shows as "…"."""
    room = longest
    for at, each in enumerate(text):
        room -= CODE_POINT if _is_far(ord(each)) else 1
        if room < 0 or (room == 0 and at + 1 < len(text)):
            return text[:at] + "…"
    return text


def _is_far(code: int) -> bool:
    """Say whether a character is of scripts that the sheets' fonts hardly have."""
    return FAR_FROM <= code < FAR_TO or code >= FARTHER_FROM


def file_name(kind: str, code: str, asked: Selection, edition_id: int) -> str:
    """Return the default name of a sheet's file: plain ASCII, whatever the code holds.

    Characters that a file system may refuse become their code point, so that two
    codes never share a name. Dates stand in it; "part" says that other filters hold.
    """
    others = asked.crew_codes if kind == "site" else asked.site_codes
    marks = [
        *([f"from-{asked.from_on}"] if asked.from_on else []),
        *([f"to-{asked.to_on}"] if asked.to_on else []),
        *(["part"] if others or asked.anchor_sizes else []),
        f"edition-{edition_id}.pdf",
    ]
    plain = "".join(
        each
        if each.isascii() and (each.isalnum() or each == "_")
        else f"-{ord(each):x}"
        for each in code
    )
    return "-".join(["firmset", kind, plain[:100], *marks])
