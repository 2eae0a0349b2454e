"""Nights whose small hours stand under the date of the evening before.

A night shift writes the date of its beginning on all of its rows: 22:00, 23:30, 00:30,
each as of the 16th. The small hours are stored 24 hours early then, and a day early.

Asked only where a crew's rows stand in order of time and the times of a date fall once,
from the evening to the small hours, and stay before where they began. Dated rightly,
the small hours stand first; newest first, or sorted otherwise, times fall elsewhere,
too.
"""

from typing import Final

import duckdb

from etl.site_map import SiteMap

EVENING: Final = "20:00"
SMALL_HOURS: Final = "06:00"
# Steps back in time of a crew's rows that are slips of a log in order of time.
FEW_BACK_FRAC: Final = 0.1


def question_of_nights(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, source_file_id: int
) -> list[str]:
    """Ask whether small hours are dated by the evening; as etl.questions.questions."""
    [(rows, row, day, time, before)] = con.execute(
        """
        with timed as (
            select
                crew_code, installed_on, source_row,
                installed_at at time zone $time_zone as at_local
            from installation
            -- From an evening to small hours a day has 14 hours or more, of which a
            -- clock change may take one; of all rows few are read further.
            semi join (
                select crew_code, installed_on
                from installation
                where source_file_id = $source_file_id
                group by crew_code, installed_on
                having max(installed_at) - min(installed_at) > interval 13 hours
            ) as long_day using (crew_code, installed_on)
            where source_file_id = $source_file_id and installed_at is not null
        ),

        stepped as (
            select
                *,
                lag(at_local) over in_file as before,
                lag(installed_on) over in_file = installed_on as is_same_day,
                coalesce(
                    is_same_day
                    and before::time >= $evening::time
                    and at_local::time < $small_hours::time,
                    false
                ) as is_fall,
                at_local < before and not is_fall as is_back
            from timed
            window in_file as (partition by crew_code order by source_row)
        ),

        ordered as (
            select crew_code
            from stepped
            group by crew_code
            having
                bool_or(is_same_day and at_local > before)
                and count(*) filter (where is_back)
                <= $few_back * count(*) filter (where at_local > before)
        ),

        night as (
            select
                crew_code, installed_on,
                arg_min(at_local, source_row) as begun_at,
                min(source_row) filter (where is_fall) as fall_row
            from stepped
            semi join ordered using (crew_code)
            group by crew_code, installed_on
            having
                count(*) filter (where is_fall) = 1
                and not coalesce(bool_or(is_same_day and is_back), false)
                and arg_max(at_local, source_row) < begun_at
        )

        select
            count(*) filter (where source_row >= fall_row),
            min(fall_row),
            arg_min(installed_on, source_row) filter (where source_row = fall_row),
            arg_min(strftime(at_local, '%H:%M'), source_row)
                filter (where source_row = fall_row),
            arg_min(strftime(before, '%H:%M'), source_row)
                filter (where source_row = fall_row)
        from stepped
        inner join night using (crew_code, installed_on)
        """,
        {
            "source_file_id": source_file_id,
            "time_zone": site_map.time_zone,
            "evening": EVENING,
            "small_hours": SMALL_HOURS,
            "few_back": FEW_BACK_FRAC,
        },
    ).fetchall()
    if not rows:
        return []
    are = "is" if rows == 1 else "are"
    names = {found.column.name for found in site_map.columns}
    told = (
        f' ([dates] night_until = "{SMALL_HOURS}" in the site\'s map says so)'
        if "installed_time" in names
        else ""
    )
    question = (
        f"{rows} time{'' if rows == 1 else 's'} of small hours {are} logged behind an "
        f"evening of the same date, as row {row}: {time} on {day} behind {before}: a "
        f"question whether the date is that of the shift's beginning{told}; nothing "
        "was changed"
    )
    return [question]
