"""The checks, and the SQL that judges rows by all of them in one pass.

One SQL file a check in `queries/checks/` (their shape: `queries/check_file.py`). The
header of the file is what Method shows. A new check is one file and one line here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from queries.check_file import read_check_file
from queries.columns import LOGGED_NAMES
from queries.layers import CHECKS_A_NUMBER, Layers

# The position is the check's bit in the masks of a stored installation: append only.
CHECK_NAMES = (
    "anchor_length",
    "hole_depth",
    "embedment",
    "hole_cleaning",
    "edge_distance",
    "setting_torque",
    "anchor_type",
    "fixture_thickness",
    "drill_bit",
    "spacing",
    "member_thickness",
    "base_material",
    "torque_tool",
    "tilt",
)
# Not a check: an anchor that is nonconforming in one check or more, counted once. A
# rate of it is of anchors, a rate of a check of that check's verdicts.
ANY_CHECK = "any_check"
RATE_NAMES = (*CHECK_NAMES, ANY_CHECK)
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
MASKS = tuple(f"{verdict}_mask" for verdict in MASKED_VERDICTS)

# What judging adds to a logged row. cone_ratio is no verdict: it orders follow-up.
JUDGED_NAMES = (*MASKS, "cone_ratio")

# The columns of a stored installation.
INSTALLATION_NAMES = (
    "site_code",
    *LOGGED_NAMES,
    "source_file_id",
    "source_row",
    "field_fault_mask",
    *JUDGED_NAMES,
)


@dataclass(frozen=True)
class Check:
    """What Method says of a check; the texts are the header of its SQL file.

    `unit` is the unit of the margin, None where the check has none.
    """

    name: str
    title: str
    unit: str | None
    rule: str
    unrecorded: str
    source: str
    inapplicable: str | None
    is_headline: bool


def _read_check(name: str) -> Check:
    header = read_check_file(name).header
    return Check(
        name=name,
        title=header["title"],
        unit=None if header["unit"] == "none" else header["unit"],
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


def judgement_sql(logged: str, *, with_calibrations: bool) -> str:
    """Return SQL that adds JUDGED_NAMES to the columns of `logged`.

    `logged` names a relation of installation columns, one row an installation; its
    setting_code must exist in setting_data. An abandoned attempt is not judged: all
    its checks are inapplicable. Where `with_calibrations` is False, no calibration of
    any wrench is looked up (of a log without wrenches, there are none). How often a
    wrench was used is not known here: queries/wrench_use.py.
    """
    layers = Layers(
        CHECK_NAMES, logged, with_calibrations=with_calibrations, use="false"
    )
    judged = layers.judged_sql("verdict_bit")
    masks = ",\n    ".join(
        f"({_mask_sql(position)})::uinteger as {mask}"
        for position, mask in enumerate(MASKS)
    )
    words = ",\n    ".join(
        f"({' + '.join(f'{name}__verdict' for name in names)}) "
        f"* (outcome is distinct from 'abandoned')::ubigint as verdicts_{number}"
        for number, names in enumerate(_by_number())
    )
    helpers = [f"verdicts_{number}" for number in range(len(_by_number()))]
    return f"""
select * exclude (embedment_part, edge_part),
    if(
        outcome is distinct from 'abandoned',
        cone_ratio(embedment_part, edge_part), null
    ) as cone_ratio
from (
    select * exclude ({", ".join(helpers)}, effective_mm, nearest_mm, required_mm),
    {masks},
    embedment_ratio(effective_mm, required_mm) as embedment_part,
    edge_ratio(nearest_mm, required_mm) as edge_part
    from (
        select * exclude ({", ".join(layers.added)}),
        {words},
        effective_embedment_mm(
            embedment_mm, anchor_length_mm, fixture_thickness_mm, packing_mm,
            projection_mm, required__tip_mm
        ) as effective_mm,
        least(edge_1_mm, edge_2_mm) as nearest_mm,
        required__embedment_mm as required_mm
        from ({judged})
    )
)"""


def _by_number() -> list[tuple[str, ...]]:
    return [
        CHECK_NAMES[start : start + CHECKS_A_NUMBER]
        for start in range(0, len(CHECK_NAMES), CHECKS_A_NUMBER)
    ]


def _mask_sql(position: int) -> str:
    """Return one verdict's bits, gathered from the numbers that hold them."""
    parts = []
    for number in range(len(_by_number())):
        part = f"((verdicts_{number} >> {16 * position}) & 65535)"
        parts.append(f"({part} << {16 * number})" if number else part)
    return " | ".join(parts)


def verdict_rows_sql(
    logged: str, check_names: Sequence[str] = CHECK_NAMES, *, use: str | None = None
) -> str:
    """Return SQL that adds what people read of each check to the columns of `logged`.

    Adds, per check, `<check>__margin`, `__verdict`, `__direction` and `__words`. `use`
    is the SQL of a boolean over `logged`: whether the wrench had been used too often;
    by default it is what the stored verdict says.
    """
    layers = Layers(check_names, logged, with_calibrations=True, use=use or STORED_USE)
    last = ",\n        ".join(
        f"{layers.said(name, result)} as {name}__{result}"
        for name in check_names
        for result in ("direction", "words")
    )
    margins = ", ".join(
        f"{layers.said(name, 'margin')} as {name}__margin" for name in check_names
    )
    return f"""
    select
        logged.* replace ({margins}),
        {last}
    from ({layers.judged_sql("verdict_of")}) as logged"""


# The stored verdict knows the uses: where the rest of the check does not explain why it
# is nonconforming, they do.
STORED_USE = (
    f"(logged.nonconforming_mask >> {CHECK_NAMES.index('torque_tool')}) & 1 = 1"
    " and logged.installed_on <= calibration.last_valid_on"
    " and (reaches(required.setting_torque_nm, calibration.range_low_nm)"
    " and reaches(calibration.range_high_nm, required.setting_torque_nm)) is not false"
)


def installation_verdict_sql() -> str:
    """Return the view with one row an installation and check, in the trade's words.

    Columns: site_code, record_id, check_name, verdict, margin (the check's unit),
    direction, words. Verdicts are computed again from the row and the setting data;
    they equal the stored masks, which are for counting.
    """
    return f"""
create or replace view installation_verdict as
select site_code, record_id, unnest({_results_sql()}, recursive := true)
from ({verdict_rows_sql("installation")})"""


def _results_sql() -> str:
    """Return a list with a struct a check."""
    is_abandoned = "outcome is not distinct from 'abandoned'"
    structs = [
        f"""{{
        'check_name': '{name}',
        'verdict': if({is_abandoned}, 'inapplicable', {name}__verdict::varchar),
        'margin': if({is_abandoned}, null, {name}__margin),
        'direction': if({is_abandoned}, null, {name}__direction),
        'words': if({is_abandoned}, 'abandoned attempt: not judged', {name}__words)
    }}"""
        for name in CHECK_NAMES
    ]
    return "[" + ", ".join(structs) + "]"
