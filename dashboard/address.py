"""The address of a view and what it asks for, both ways.

`/sites?from=2026-01-01&sites=A,B&check=setting_torque` is a link that reproduces a
view. Everything in it is untrusted: a value that the store does not know is left
out, and said so in words.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from urllib.parse import quote

from dashboard.budget import BUDGETS, DEFAULT_BUDGET
from dashboard.whole_number import whole_number
from dashboard.wish import LONGEST_SEARCH, split_search, wish
from queries.judgement import RATE_NAMES
from queries.readers.choices import Choices
from queries.selection import Selection

# What is shown where no check was chosen and none stands out: of the headline four.
DEFAULT_CHECK = "setting_torque"
LAST_PAGE = 1_000_000
# What Drilling (drilling_asked.py), Records (records_asked.py) and Intake (the file
# sent, the site map kept) are asked beside the filters; in the order of
# assets/firmset.js, which keeps them when a filter changes.
ASKED = (
    *("size", "embedment", "at", "method", "orientation", "vibration", "shift"),
    *("verdict", "outcome", "id", "begins", "wrench", "order"),
    *("upload", "map"),
)
# From which record a page of the list of records goes on: left behind when anything
# else changes.
PLACES = ("after", "before")


Asked = Sequence[tuple[str, Sequence[str]]]

NOTHING_CHOSEN = Selection()


@dataclass(frozen=True)
class View:
    """What an address asks for.

    `page` counts from 1, `budget` is of BUDGETS. `site_code` and `record_id` name one
    record. `problems` says in words which parts of the address were not understood.
    `default_check`: the check that a chart shows where the address has none.
    `asked`: the values of each name of ASKED and PLACES that is given, as they stand
    there.
    """

    selection: Selection = field(default_factory=Selection)
    page: int = 1
    budget: int = DEFAULT_BUDGET
    site_code: str | None = None
    record_id: str | None = None
    problems: tuple[str, ...] = ()
    asked: tuple[tuple[str, tuple[str, ...]], ...] = ()
    default_check: str = DEFAULT_CHECK

    @property
    def check_name(self) -> str:
        """The one check that a chart shows."""
        return (self.selection.check_names or (self.default_check,))[0]

    @property
    def one_check(self) -> Selection:
        """The selection, with `check_name` as its only check."""
        return replace(self.selection, check_names=(self.check_name,))


def parse_view(search: str, choices: Choices) -> View:
    """Return what the query string of an address asks for; never raises.

    `search` may start with "?". Unknown parameters are ignored; an unknown value of
    a known one goes into `problems` and is left out.
    """
    if len(search) > LONGEST_SEARCH:
        return View(problems=("The address is too long; its filters were left out.",))
    given = split_search(search)
    problems: list[str] = []
    selection = Selection(
        from_on=_date(given, "from", problems),
        to_on=_date(given, "to", problems),
        site_codes=_known(
            given, "sites", "site", [code for code, _ in choices.sites], problems
        ),
        crew_codes=_known(given, "crews", "crew", choices.crew_codes, problems),
        anchor_sizes=_known(
            given, "sizes", "anchor size", choices.anchor_sizes, problems
        ),
        check_names=_known(given, "check", "check", RATE_NAMES, problems)[:1],
    )
    if selection.from_on and selection.to_on and selection.from_on > selection.to_on:
        problems.append(
            f"The first day, {selection.from_on}, is after the last, "
            f"{selection.to_on}: no day is selected."
        )
    return View(
        selection=selection,
        page=_page(given, problems),
        budget=_budget(given, problems),
        site_code=_text(given, "site"),
        record_id=_text(given, "record"),
        problems=tuple(problems),
        asked=tuple(
            (name, tuple(given[name])) for name in (*ASKED, *PLACES) if name in given
        ),
    )


def format_search(
    selection: Selection = NOTHING_CHOSEN,
    *,
    page: int = 1,
    budget: int = DEFAULT_BUDGET,
    site_code: str | None = None,
    record_id: str | None = None,
    asked: Asked = (),
) -> str:
    """Return the query string of a view, with its "?"; empty where nothing is asked.

    What the reader wants of every page (dashboard/wish.py) goes along.
    """
    parts = {
        "from": [selection.from_on.isoformat()] if selection.from_on else [],
        "to": [selection.to_on.isoformat()] if selection.to_on else [],
        "sites": selection.site_codes,
        "crews": selection.crew_codes,
        "sizes": selection.anchor_sizes,
        "check": selection.check_names,
        "page": [str(page)] if page > 1 else [],
        "budget": [str(budget)] if budget != DEFAULT_BUDGET else [],
        "site": [site_code] if site_code else [],
        "record": [record_id] if record_id else [],
        **dict(asked),
        **wish().pairs,
    }
    pairs = [
        f"{name}={','.join([_quoted(value) for value in values])}"
        for name, values in parts.items()
        if values
    ]
    return "?" + "&".join(pairs) if pairs else ""


# A page has a thousand links with the same few codes in them.
@lru_cache(4096)
def _quoted(value: str) -> str:
    return quote(value, safe="")


def records_href(selection: Selection, asked: Asked = ()) -> str:
    """Return the address of the records of a selection.

    Those nonconforming in its check or in any, unless `asked` (View.asked) says else.
    """
    return "/records" + format_search(selection, asked=asked)


def sheet_href(kind: str, selection: Selection) -> str:
    """Return the address of a "site" or "crew" sheet; its code is in the selection."""
    return f"/pdf/{kind}" + format_search(selection)


def record_href(
    site_code: str,
    record_id: str,
    selection: Selection | None = None,
    asked: Asked = (),
) -> str:
    """Return the address of one record; the filters of its list stay with it."""
    return "/records" + format_search(
        selection or Selection(), site_code=site_code, record_id=record_id, asked=asked
    )


def _known(
    given: Mapping[str, Sequence[str]],
    name: str,
    word: str,
    known: Sequence[str],
    problems: list[str],
) -> tuple[str, ...]:
    found: list[str] = []
    for value in given.get(name, ()):
        # Some programs that pass links on encode the comma between values as well.
        for item in [value] if value in known else value.split(","):
            if item in known:
                found.append(item)
            else:
                problems.append(
                    f"The address asks for {word} {_shown(item)}, which is not in "
                    "this store. It was left out of the filters."
                )
    return tuple(dict.fromkeys(found))


def _date(
    given: Mapping[str, Sequence[str]], name: str, problems: list[str]
) -> date | None:
    text = _text(given, name)
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        problems.append(
            f"The address has {_shown(text)} as its “{name}” date; expected a date "
            "like 2026-01-31. It was left out of the filters."
        )
        return None


def _page(given: Mapping[str, Sequence[str]], problems: list[str]) -> int:
    text = _text(given, "page")
    if text is None:
        return 1
    number = whole_number(text, LAST_PAGE)
    if number is not None:
        return number
    problems.append(f"The address asks for page {_shown(text)}; this is page 1.")
    return 1


def _budget(given: Mapping[str, Sequence[str]], problems: list[str]) -> int:
    text = _text(given, "budget")
    if text is None:
        return DEFAULT_BUDGET
    if text in map(str, BUDGETS):
        return int(text)
    problems.append(
        f"The address asks for a list of {_shown(text)}; expected "
        f"{', '.join(map(str, BUDGETS))}. It shows {DEFAULT_BUDGET}."
    )
    return DEFAULT_BUDGET


def _text(given: Mapping[str, Sequence[str]], name: str) -> str | None:
    return ",".join(given.get(name, ())) or None


def _shown(value: str) -> str:
    text = value if len(value) <= 60 else value[:59] + "…"
    return f"“{text}”"
