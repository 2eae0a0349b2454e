"""Stage a file's cells, as text and in file order, in the temporary table staged_row.

Everything a site sent is there before anything is interpreted: a cell is cast only
from this table, so that no reader can drop or abort on a row because of its contents.
The table's rowid is the order in the file: rows are inserted in that order.
"""

from etl.staging.as_above import folded_mark
from etl.staging.json_records import WHOLE
from etl.staging.sideways import turned
from etl.staging.stage import stage_file
from etl.staging.staged_file import (
    TOTAL_WORDS,
    StagedFile,
    filled_down_sql,
    joined_headers,
    trimmed,
    unique_headers,
)
from etl.staging.titles import title_in, titled
from etl.staging.told import told_words

__all__ = [
    "TOTAL_WORDS",
    "WHOLE",
    "StagedFile",
    "filled_down_sql",
    "folded_mark",
    "joined_headers",
    "stage_file",
    "title_in",
    "titled",
    "told_words",
    "trimmed",
    "turned",
    "unique_headers",
]
