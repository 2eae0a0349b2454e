"""A question about a file of whose rows nearly all fail a check.

Work seldom is so; a column that holds something else mostly is: the size stamped on a
bit for what its edges measure, an embedment that was specified for one that was
measured, a length in another unit. What was logged stays as it was loaded.
"""

import json
import re
from collections import Counter
from collections.abc import Collection
from typing import Final

import duckdb

from etl.site_map import SiteMap
from queries.check_file import read_check_file
from queries.judgement import CHECK_NAMES

FEWEST: Final = 20
NEARLY_ALL_FRAC: Final = 0.9
# What a column may hold instead, where that is one thing mostly. Common practice.
_INSTEAD: Final = {
    "drill_bit": "; the size stamped on a bit is less than what its edges measure"
}
_LOGGED: Final = re.compile(r"\blogged\.(\w+)")


def questions_of_checks(
    con: duckdb.DuckDBPyConnection,
    site_map: SiteMap,
    source_file_id: int,
    *,
    explained: Collection[str] = (),
) -> list[str]:
    """Return a question for each check that NEARLY_ALL_FRAC of a file's rows fail.

    Of the rows that the check judged, FEWEST at least. Called as `questions` is.
    `explained`: columns that something else is asked about; their checks are not.
    """
    judged, failing = _counts(con, source_file_id)
    return [
        f"{name}: {failing[name]} of {judged[name]} judged rows are nonconforming, "
        f"which work seldom is: a question whether {_columns_of(name, site_map)} hold "
        f"what was measured, in the unit of the site map{_INSTEAD.get(name, '')}; "
        "nothing was changed"
        for name in CHECK_NAMES
        if judged[name] >= FEWEST
        and failing[name] >= NEARLY_ALL_FRAC * judged[name]
        and _read_by(name).isdisjoint(explained)
    ]


def _counts(
    con: duckdb.DuckDBPyConnection, source_file_id: int
) -> tuple[Counter[str], Counter[str]]:
    """Return how many rows each check judged, and how many of these fail it."""
    # Few combinations of verdicts occur: they are told apart here, not row by row.
    rows = con.execute(
        """
        select conforming_mask, nonconforming_mask, count(*)
        from installation
        where source_file_id = ?
        group by all
        """,
        [source_file_id],
    ).fetchall()
    judged, failing = Counter[str](), Counter[str]()
    for conforming, nonconforming, count in rows:
        for place, name in enumerate(CHECK_NAMES):
            bit = 1 << place
            judged[name] += count if (conforming | nonconforming) & bit else 0
            failing[name] += count if nonconforming & bit else 0
    return judged, failing


def _read_by(check_name: str) -> set[str]:
    """Return the logged columns that a check's SQL names."""
    sql = " ".join(read_check_file(check_name).expressions.values())
    return set(_LOGGED.findall(sql))


def _columns_of(check_name: str, site_map: SiteMap) -> str:
    """Return the site's own names of the columns that a check reads."""
    read = _read_by(check_name)
    headers = [
        header
        for found in site_map.columns
        if found.column.name in read - {"setting_code"}
        for header in found.own_headers or (found.header,)
    ]
    listed = ", ".join(
        json.dumps(header, ensure_ascii=False) for header in dict.fromkeys(headers)
    )
    return f"its columns ({listed})" if listed else "its columns"
