"""Numbers in words, the same on every page."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from math import floor

import polars as pl

from dashboard.units import decimals_for, scaled, unit_shown
from dashboard.wish import wish
from queries.judgement import ANY_CHECK, check_named
from queries.selection import Selection

# A no-break space between number and sign, a narrow one between thousands (ISO
# 80000-1: neither comma nor point, which readers of two languages read differently).
SPACE = "\N{NO-BREAK SPACE}"
DASH = "\N{EN DASH}"
NOTHING = "nothing to judge"
NO_MATCH = "No installation matches these filters."
CAUTION = (
    "For review and conversation. firmset does not accept, reject or certify an "
    "anchor; the published instructions, local codes and the engineer responsible do."
)
CLEAR = "clear"


def count(number: int | None) -> str:
    """1234567 as 1 234 567; four digits stay together."""
    if number is None:
        return DASH
    thousands = wish().language.thousands
    return (
        str(number) if abs(number) < 10_000 else f"{number:,}".replace(",", thousands)
    )


def local(text: str) -> str:
    """A number written with a point, in the reader's way."""
    return text.replace(".", wish().language.decimal)


def fixed(value: float, decimals: int, sign: str = "") -> str:
    """A number with so many decimals; `sign` "+" writes it always."""
    return local(f"{value:{sign}.{decimals}f}")


def about(value: float | None) -> str:
    """How many are expected: in whole from a hundred on, below with one decimal."""
    if value is None:
        return DASH
    return fixed(value, 1) if abs(value) < 99.95 else count(round(value))


def expected(value: float) -> str:
    """How many are expected, in a sentence: 0.0 would deny those that are."""
    if value == 0:
        return "none"
    return about(value) if value >= 0.05 else f"fewer than {fixed(0.1, 1)}"


def plain(value: float) -> str:
    """A number as short as it can be written."""
    return local(f"{value:g}")


def day(value: date | None) -> str:
    """A date in the reader's order."""
    return DASH if value is None else value.strftime(wish().language.day)


def share(nonconforming: int, judged: int) -> str:
    """Return n/N."""
    return f"{count(nonconforming)}/{count(judged)}"


def percent(fraction: float | None) -> str:
    """A fraction in per cent, one decimal; more where it would round to none or all."""
    if fraction is None:
        return NOTHING
    return f"{percent_number(fraction, most=5)}{SPACE}%"


def known_percent(fraction: float | None) -> str:
    """A fraction in whole per cent; a dash where it is not known."""
    return DASH if fraction is None else f"{100 * fraction:.0f}{SPACE}%"


def cone_percent(ratio: float | None) -> str:
    """What is left of a cone in whole per cent, rounded down: 99.6 % is not whole."""
    if ratio is None:
        return DASH
    # Below what floats add: a ratio of 0.7 is 70 %.
    return f"{floor(100 * ratio + 1e-9)}{SPACE}%"


def percent_number(fraction: float, most: int = 2) -> str:
    """`percent` without its sign; with up to `most` decimals."""
    for decimals in range(1, most + 1):
        shown = f"{100 * fraction:.{decimals}f}"
        if fraction in (0, 1) or float(shown) not in (0.0, 100.0):
            break
    return local(shown)


def interval(low: float | None, high: float | None) -> str:
    """An interval in per cent: 2.4–7.2 %."""
    if low is None or high is None:
        return ""
    return f"{percent_number(low)}{DASH}{percent_number(high)}{SPACE}%"


def quantity(
    value: float | None,
    unit: str,
    decimals: int = 1,
    beside: Sequence[float | None] = (),
) -> str:
    """A number with its unit, as `figure`; infinity is a clear distance."""
    text = figure(value, unit, decimals, beside)
    return text if text in (DASH, CLEAR) else f"{text}{SPACE}{unit_shown(unit)}"


def figure(
    value: float | None,
    unit: str,
    decimals: int = 1,
    beside: Sequence[float | None] = (),
) -> str:
    """A number of our `unit` in the reader's, without it; trailing zeros dropped.

    `decimals` are those in our unit. `beside`: what it is compared with on the page,
    shown by a call that has this value among its own `beside`: the two are never shown
    in the wrong order, nor alike where they differ (dashboard/units.py).
    """
    if value is None:
        return DASH
    if value == float("inf"):
        return CLEAR
    shown = decimals_for([value, *beside], unit, decimals)
    text = f"{scaled(value, unit):.{shown}f}"
    return local(text.rstrip("0").rstrip(".") if "." in text else text)


def total(frame: pl.DataFrame, name: str) -> int:
    """The sum of a column of counts."""
    return int(frame[name].sum())


def number(value: float | None, decimals: int = 1, unit: str = "") -> str:
    """A number of a column, whose head names the unit: decimals always written.

    `unit`: our unit, where the column is in the reader's (`unit_shown`).
    """
    if value is None:
        return DASH
    if value == float("inf"):
        return CLEAR
    return fixed(scaled(value, unit), decimals_for((), unit, decimals))


def signed(value: float | None, unit: str) -> str:
    """A margin: the sign is always written, and one that is not 0 is not shown as 0."""
    if value is None:
        return DASH
    if value in (float("inf"), float("-inf")):
        return "no limit near"
    sign = "+" if value >= 0 else "\N{MINUS SIGN}"
    return sign + quantity(abs(value), unit, beside=(0.0,))


def instant(value: datetime | None) -> str:
    """A UTC instant to the minute."""
    return DASH if value is None else f"{day(value)} {value:%H:%M} UTC"


def title(check_name: str) -> str:
    """The name of a check on screens."""
    if check_name == ANY_CHECK:
        return "Any check"
    return check_named(check_name).title


def and_list(items: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`; from the sixth on only how many more."""
    if len(items) > 6:
        items = [*items[:5], f"{len(items) - 5} more"]
    return (
        " and ".join([", ".join(items[:-1]), items[-1]])
        if len(items) > 1
        else ("".join(items))
    )


def plural(number: int, one: str, many: str | None = None) -> str:
    """A count with its noun: 1 site, 2 sites."""
    return f"{count(number)} {one if number == 1 else many or one + 's'}"


def sentence(text: str) -> str:
    """A text that says what is wrong, as a sentence of its own."""
    return f"{text[:1].upper()}{text[1:]}."


SIGNALS = {
    "beyond_upper": "above its upper limit",
    "beyond_lower": "below its lower limit",
    "run_above": "eight or more in a row above the centre",
    "run_below": "eight or more in a row below the centre",
    "drift_above": "slow drift upwards",
    "drift_below": "slow drift downwards",
    "gap_long": "longer without a nonconforming anchor than chance explains",
    "gaps_short": "nonconforming anchors closer together than chance explains",
}


def signals(names: list[str]) -> str:
    """What stands out in a period, in words; empty where nothing does."""
    return "; ".join(SIGNALS[name] for name in names)


def method(drill_method: str) -> str:
    """A drilling method on screens."""
    return drill_method.replace("_", " ")


def week_days(week: str) -> tuple[date, date]:
    """Return Monday and Sunday of an ISO week such as 2025-W07."""
    year, number = week.split("-W")
    monday = date.fromisocalendar(int(year), int(number), 1)
    return monday, monday + timedelta(days=6)


def scope(
    selection: Selection,
    first_on: date | None,
    last_on: date | None,
    names: dict[str, str],
) -> str:
    """Say what the filters leave, for readers and for paper."""
    if first_on is None or last_on is None:
        return "No installation is in this store yet."
    start = max(selection.from_on or first_on, first_on)
    end = min(selection.to_on or last_on, last_on)
    parts = [
        f"{day(start)} to {day(end)}" if start <= end else "no day with installations",
        and_list([names.get(code, code) for code in selection.site_codes])
        or "all sites",
        "crew " + and_list(list(selection.crew_codes))
        if selection.crew_codes
        else "all crews",
        and_list(list(selection.anchor_sizes)) or "all sizes",
    ]
    return " · ".join(parts)


def points(fraction: float | None) -> str:
    """A difference of rates in percentage points, its sign always written."""
    if fraction is None:
        return DASH
    text = fixed(100 * abs(fraction), 1)
    sign = "" if text == fixed(0, 1) else "+" if fraction > 0 else "\N{MINUS SIGN}"
    return sign + text
