"""The checks, and how their verdicts are stored.

One SQL file a check in `queries/checks/`. Each defines four macros of the same shape
over a logged installation and the setting data it was specified by:
`<check>_margin`, and from the margin `<check>_verdict`, `<check>_direction` and
`<check>_words`. The header of the file is what Method shows. A new check is one file
and one line here.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from queries.header import read_header

CHECK_FOLDER = Path(__file__).parent / "checks"

# The position is the check's bit in the masks of a stored installation: append only.
CHECK_NAMES = (
    "anchor_length",
    "hole_depth",
    "embedment",
    "hole_cleaning",
    "edge_distance",
    "setting_torque",
)
HEADLINE_NAMES = ("anchor_length", "hole_cleaning", "setting_torque", "edge_distance")

VERDICTS = (
    "conforming",
    "nonconforming",
    "unrecorded",
    "unreadable",
    "inapplicable",
)
# Inapplicable has no mask: it is a bit that stands in none of them.
MASKED_VERDICTS = VERDICTS[:-1]


@dataclass(frozen=True)
class Check:
    """What Method says of a check; the texts are the header of its SQL file.

    `unit` is the unit of the margin.
    """

    name: str
    title: str
    unit: str
    rule: str
    unrecorded: str
    source: str
    inapplicable: str | None
    is_headline: bool


def check_sql(name: str) -> str:
    """Return the SQL text of a check's file."""
    return (CHECK_FOLDER / f"{name}.sql").read_text("utf-8")


def _read_check(name: str) -> Check:
    header = read_header(check_sql(name))
    return Check(
        name=name,
        title=header["title"],
        unit=header["unit"],
        rule=header["nonconforming"],
        unrecorded=header["unrecorded"],
        source=header["source"],
        inapplicable=header.get("inapplicable"),
        is_headline=name in HEADLINE_NAMES,
    )


@cache
def all_checks() -> tuple[Check, ...]:
    """Return every check in the order of CHECK_NAMES."""
    return tuple(_read_check(name) for name in CHECK_NAMES)


def check_named(name: str) -> Check:
    """Return one check; KeyError where there is none of that name."""
    return {check.name: check for check in all_checks()}[name]


def verdict_masks_sql(logged: str) -> str:
    """Return SQL that adds the four verdict masks to the columns of `logged`.

    `logged` names a relation of installation columns, one row an installation; its
    setting_code must exist in setting_data. An abandoned attempt is not judged: all
    its checks are inapplicable.
    """
    margins = ",\n            ".join(
        f"{name}_margin(logged, required) as {name}_margin" for name in CHECK_NAMES
    )
    verdicts = ",\n        ".join(
        f"{name}_verdict(logged, required, {name}_margin) as {name}_verdict"
        for name in CHECK_NAMES
    )
    masks = ",\n    ".join(_mask_sql(verdict) for verdict in MASKED_VERDICTS)
    helpers = ", ".join(
        f"{name}_{what}" for name in CHECK_NAMES for what in ("margin", "verdict")
    )
    # Margins first, in a subquery of their own: a macro's text is put in wherever it
    # is used, and planning it once a check instead of four times halves the cost of a
    # small load. The second join is to a table of a few hundred rows.
    return f"""
select
    * exclude ({helpers}),
    {masks}
from (
    select
        logged.*,
        {verdicts}
    from (
        select
            logged.*,
            {margins}
        from {logged} as logged
        inner join setting_data as required
            on logged.setting_code = required.setting_code
    ) as logged
    inner join setting_data as required
        on logged.setting_code = required.setting_code
)"""


def _mask_sql(verdict: str) -> str:
    """Return one mask; multiplied by 0 for an abandoned attempt, which is not judged.

    A CASE around the sum would make DuckDB work through it by selection, at four
    times the cost (measured at a million rows).
    """
    bits = " + ".join(
        f"if({name}_verdict = '{verdict}', {1 << position}, 0)"
        for position, name in enumerate(CHECK_NAMES)
    )
    is_judged = "(outcome is distinct from 'abandoned')::integer"
    return f"(({bits}) * {is_judged})::uinteger as {verdict}_mask"


def installation_verdict_sql() -> str:
    """Return the view with one row an installation and check, in the trade's words.

    Columns: site_code, record_id, check_name, verdict, margin (the check's unit),
    direction, words. Verdicts are computed again from the row and the setting data;
    they equal the stored masks, which are for counting.
    """
    branches = [
        f"""select
    logged.site_code, logged.record_id, '{name}' as check_name,
    if(
        is_abandoned, 'inapplicable',
        {name}_verdict(logged, required, logged.margin)::varchar
    ) as verdict,
    if(is_abandoned, null, logged.margin) as margin,
    if(is_abandoned, null, {name}_direction(logged, required, logged.margin))
        as direction,
    if(
        is_abandoned, 'abandoned attempt: not judged',
        {name}_words(logged, required, logged.margin)
    ) as words
from (
    select
        logged.*,
        outcome is not distinct from 'abandoned' as is_abandoned,
        {name}_margin(logged, required) as margin
    from installation as logged
    inner join setting_data as required
        on logged.setting_code = required.setting_code
) as logged
inner join setting_data as required
    on logged.setting_code = required.setting_code"""
        for name in CHECK_NAMES
    ]
    return "create or replace view installation_verdict as\n" + "\nunion all\n".join(
        branches
    )
