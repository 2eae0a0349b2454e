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


def overused_wrenches_sql(touched: str) -> str:
    """Return SQL of the wrenches whose verdicts the uses may change: wrench_code.

    `touched` names a relation with a column wrench_code. Of these, the wrenches with
    more uses on one calibration than it allows, and those with a nonconforming
    verdict, which fewer uses may have ended. One look at installation; most often
    nothing comes of it.
    """
    return f"""
select distinct wrench_code
from (
    select
        calibration.wrench_code,
        count(installation.setting_torque_nm) > any_value(calibration.most_uses)
        or bool_or((nonconforming_mask >> {_POSITION}) & 1 = 1) as may_change
    from installation
    inner join calibration
        on
            installation.wrench_code = calibration.wrench_code
            and installation.installed_on >= calibration.calibrated_on
            and installation.installed_on < calibration.replaced_on
    where installation.wrench_code in (
        select wrench_code from {touched} where wrench_code is not null
    )
    group by calibration.wrench_code, calibration.calibrated_on
)
where may_change"""


def changed_verdicts_sql(wrenches: str) -> str:
    """Return SQL of the installations whose stored torque_tool verdict is not right.

    `wrenches` names a relation with a column wrench_code. Columns: those of
    installation, with the masks as they should be in `right_<mask>`.
    """
    used = f"""(
        select
            installation.*,
            count(installation.setting_torque_nm) over (
                partition by installation.wrench_code, calibration.calibrated_on
                order by
                    installation.installed_on,
                    installation.installed_at nulls last,
                    installation.site_code,
                    installation.record_id
                rows between unbounded preceding and current row
            ) > calibration.most_uses as is_used_up
        from installation
        left join calibration
            on
                installation.wrench_code = calibration.wrench_code
                and installation.installed_on >= calibration.calibrated_on
                and installation.installed_on < calibration.replaced_on
        where installation.wrench_code in (select wrench_code from {wrenches})
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
