"""How often a wrench was used since its calibration: the part of a verdict that grows.

Whether a wrench has been used too often depends on the rows of other files, which may
come later. A load judges the check torque_tool by day and range; then the rows of the
wrenches it touched are judged again, so that the order of loading does not matter.
Uses are the torques logged with a wrench, superseded revisions left out; of one day,
in order of time.
"""

from queries.judgement import (
    CHECK_NAMES,
    INSTALLATION_NAMES,
    MASKED_VERDICTS,
    verdict_rows_sql,
)

CHECK = "torque_tool"
_POSITION = CHECK_NAMES.index(CHECK)
BIT = 1 << _POSITION


# A row of `logged` lies in the days for which a calibration is the newest.
IN_PERIOD = (
    "logged.wrench_code = calibration.wrench_code "
    "and logged.installed_on >= calibration.calibrated_on "
    "and logged.installed_on < calibration.replaced_on"
)


def touched_periods_sql(touched: str) -> str:
    """Return SQL of the calibrations, with their days, whose uses rows belong to.

    `touched` names a relation with wrench_code and installed_on. Columns: wrench_code,
    calibrated_on, replaced_on, most_uses.
    """
    return f"""
select wrench_code, calibrated_on, replaced_on, most_uses
from calibration
semi join {touched} as logged on {IN_PERIOD}"""


def overused_periods_sql(periods: str) -> str:
    """Return SQL of those periods in which the uses may change verdicts.

    `periods` names a relation as of touched_periods_sql. Of these, those with more
    uses than the calibration allows, and those with a nonconforming verdict, which
    fewer uses may have ended. One look at installation from the first of these days
    on; most often nothing comes of it.
    """
    return f"""
select wrench_code, calibrated_on, replaced_on, most_uses
from (
    select
        calibration.*,
        count(logged.setting_torque_nm) > any_value(calibration.most_uses)
        or bool_or((logged.nonconforming_mask >> {_POSITION}) & 1 = 1) as may_change
    from installation as logged
    inner join {periods} as calibration on {IN_PERIOD}
    where logged.installed_on >= (select min(calibrated_on) from {periods})
    group by all
)
where may_change"""


def changed_verdicts_sql(periods: str) -> str:
    """Return SQL of the installations whose stored torque_tool verdict is not right.

    Of those that belong to `periods`, a relation as of touched_periods_sql. Columns:
    those of installation, with the masks as they should be in `right_<mask>`.
    """
    used = f"""(
        select
            logged.*,
            count(logged.setting_torque_nm) over (
                partition by calibration.wrench_code, calibration.calibrated_on
                order by
                    logged.installed_on,
                    logged.installed_at nulls last,
                    logged.site_code,
                    logged.record_id
                rows between unbounded preceding and current row
            ) > calibration.most_uses as is_used_up
        from installation as logged
        inner join {periods} as calibration on {IN_PERIOD}
        where logged.installed_on >= (select min(calibrated_on) from {periods})
    )"""
    rows = verdict_rows_sql(
        used, (CHECK,), use="logged.is_used_up and calibration.most_uses is not null"
    )
    right = ", ".join(
        f"({verdict}_mask & ~{BIT}::uinteger) | "
        f"if(outcome is distinct from 'abandoned' and {CHECK}__verdict = '{verdict}', "
        f"{BIT}, 0)::uinteger as right_{verdict}_mask"
        for verdict in MASKED_VERDICTS
    )
    is_wrong = " or ".join(
        f"right_{verdict}_mask != {verdict}_mask" for verdict in MASKED_VERDICTS
    )
    return f"""
select * from (
    select {", ".join(INSTALLATION_NAMES)}, {right}
    from ({rows})
)
where {is_wrong}"""
