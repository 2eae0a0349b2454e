"""Numbers in words, the same on every page."""

from datetime import date, datetime, timedelta

import polars as pl

from queries.judgement import ANY_CHECK, check_named
from queries.selection import Selection

# A no-break space between number and sign, a narrow one between thousands (ISO
# 80000-1: neither comma nor point, which readers of two languages read differently).
SPACE = "\N{NO-BREAK SPACE}"
THIN = "\N{NARROW NO-BREAK SPACE}"
DASH = "\N{EN DASH}"
NOTHING = "nothing to judge"
CAUTION = (
    "For review and conversation. firmset does not accept, reject or certify an "
    "anchor; the published instructions, local codes and the engineer responsible do."
)


def count(number: int | None) -> str:
    """1234567 as 1 234 567; four digits stay together."""
    if number is None:
        return DASH
    return str(number) if abs(number) < 10_000 else f"{number:,}".replace(",", THIN)


def share(nonconforming: int, judged: int) -> str:
    """Return n/N."""
    return f"{count(nonconforming)}/{count(judged)}"


def percent(fraction: float | None) -> str:
    """A fraction in per cent, one decimal, two where one would round to nothing."""
    if fraction is None:
        return NOTHING
    return f"{percent_number(fraction)}{SPACE}%"


def known_percent(fraction: float | None) -> str:
    """A fraction in whole per cent; a dash where it is not known."""
    return DASH if fraction is None else f"{100 * fraction:.0f}{SPACE}%"


def percent_number(fraction: float) -> str:
    """`percent` without its sign."""
    shown = f"{100 * fraction:.1f}"
    return f"{100 * fraction:.2f}" if shown == "0.0" and fraction > 0 else shown


def interval(low: float | None, high: float | None) -> str:
    """An interval in per cent: 2.4–7.2 %."""
    if low is None or high is None:
        return ""
    return f"{percent_number(low)}{DASH}{percent_number(high)}{SPACE}%"


def quantity(value: float | None, unit: str, decimals: int = 1) -> str:
    """A number with its unit; trailing zeros dropped; infinity is a clear distance."""
    if value is None:
        return DASH
    if value == float("inf"):
        return "clear"
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text}{SPACE}{unit}"


def total(frame: pl.DataFrame, name: str) -> int:
    """The sum of a column of counts."""
    return int(frame[name].sum())


def number(value: float | None, decimals: int = 1) -> str:
    """A number of a column, whose head names the unit: decimals always written."""
    if value is None:
        return DASH
    return "clear" if value == float("inf") else f"{value:.{decimals}f}"


def signed(value: float | None, unit: str) -> str:
    """A margin: the sign is always written."""
    if value is None:
        return DASH
    if value in (float("inf"), float("-inf")):
        return "no limit near"
    sign = "+" if value >= 0 else "\N{MINUS SIGN}"
    return sign + quantity(abs(value), unit)


def instant(value: datetime | None) -> str:
    """A UTC instant to the minute."""
    return DASH if value is None else f"{value:%Y-%m-%d %H:%M} UTC"


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
        f"{start} to {end}" if start <= end else "no day with installations",
        and_list([names.get(code, code) for code in selection.site_codes])
        or "all sites",
        "crew " + and_list(list(selection.crew_codes))
        if selection.crew_codes
        else "all crews",
        and_list(list(selection.anchor_sizes)) or "all sizes",
    ]
    return " · ".join(parts)
