"""What revisions changed, in sentences for the pages and the terminal."""

from collections.abc import Mapping

import polars as pl

from dashboard import words
from queries.judgement import ANY_CHECK

CAUTION = (
    "A revision may be right: a figure was mistyped, or the anchor was set again and "
    "measured anew. The first entry says more of the work, the last one of the anchor; "
    "every other figure here is of the last."
)
# Of one record, and of several.
_BECAME = {
    "mended": (
        "was nonconforming and is conforming now",
        "were nonconforming and are conforming now",
    ),
    "worsened": (
        "was conforming and is nonconforming now",
        "were conforming and are nonconforming now",
    ),
    "answered": ("had no answer and has one now", "had no answer and have one now"),
    "withdrawn": ("had an answer and has none now", "had an answer and have none now"),
}
NONE = "No record of this selection has been revised."


def revised_words(
    rates: pl.DataFrame,
    check_name: str,
    by: str,
    names: Mapping[str, str],
    mended: Mapping[str, int],
) -> list[str]:
    """Return sentences on the rates as first logged, as read_first_rates gives them.

    `names` are those of the sites by code, `mended` the counts of mended_by_check.
    """
    if rates.is_empty():
        return [NONE]
    revised = int(rates["revised"].sum())
    check = words.title(check_name).lower()
    parts = [
        words.plural(number, one, many)
        for name, (one, many) in _BECAME.items()
        if (number := int(rates[name].sum()))
    ]
    have = "has" if revised == 1 else "have"
    records = f"{words.plural(revised, 'record')} of this selection {have}"
    changed = (
        f"Of their first entries on {check}, {'; '.join(parts)}."
        if parts
        else f"No verdict on {check} changed by it."
    )
    said = [f"{records} been revised.", changed]
    if rates["mended"].sum():
        said.append(_most(rates.row(0, named=True), names))
    if mended and check_name not in (ANY_CHECK, next(iter(mended))):
        name, number = next(iter(mended.items()))
        title = words.title(name).lower()
        said.append(f"Most often {title} was mended ({words.count(number)}).")
    return [*said, *_order_words(rates, by, names), CAUTION]


def mended_words(row: Mapping[str, object], site: str = "") -> str:
    """Return sentences on a row of read_much_mended; `site` is named where given."""
    title = words.title(str(row["check"]))
    subject = f"{site}, {title.lower()}" if site else title
    return (
        f"{subject}: {words.count(_whole(row['mended']))} first "
        f"entries that were nonconforming have been revised and conform now. As first "
        f"logged {_rate(row, 'first_')} were nonconforming, now {_rate(row, '')}."
    )


def _most(row: Mapping[str, object], names: Mapping[str, str]) -> str:
    name = names.get(str(row["group"]), row["group"])
    return (
        f"Most mended are {name}'s ({words.count(_whole(row['mended']))}): "
        f"{_rate(row, 'first_')} were nonconforming as first logged, {_rate(row, '')} "
        "are now."
    )


def _order_words(rates: pl.DataFrame, by: str, names: Mapping[str, str]) -> list[str]:
    """Say where the highest rate is another's for the revisions, of those revised."""
    judged = rates.filter(pl.col("judged") > 0, pl.col("first_judged") > 0)
    if judged.height < 2:
        return []
    first = judged.sort("first_rate", descending=True, maintain_order=True)
    now = judged.sort("rate", descending=True, maintain_order=True)
    was, present = first.row(0, named=True), now.row(0, named=True)
    # Of several with the highest rate none gave its place away.
    if present["first_rate"] == was["first_rate"] or was["rate"] == present["rate"]:
        return []
    first_name, name = (names.get(row["group"], row["group"]) for row in (was, present))
    said = (
        f"Of the {by}s with revised records, {first_name} has the highest rate as "
        f"first logged, {_rate(was, 'first_')}; as it stands now {name} has, "
        f"{_rate(present, '')}."
    )
    return [said]


def _rate(row: Mapping[str, object], of: str) -> str:
    found, judged = (_whole(row[f"{of}{name}"]) for name in ("nonconforming", "judged"))
    if not judged:
        return words.NOTHING
    return f"{words.percent(found / judged)} ({words.share(found, judged)})"


def _whole(value: object) -> int:
    return int(str(value))
