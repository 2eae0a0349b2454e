"""What all crews of a site have in common, which comparing them does not show."""

from collections.abc import Mapping
from dataclasses import replace

import duckdb

from dashboard import words
from dashboard.comparison_words import times_words
from dashboard.kept import read_kept_comparisons
from queries.judgement import HEADLINE_NAMES
from queries.selection import Selection


def in_common_words(
    con: duckdb.DuckDBPyConnection, selection: Selection, names: Mapping[str, str]
) -> str:
    """Say on what the sites chosen are out of line beside the others.

    "" where on none of the headline checks, or where no site is chosen. `names`: the
    names of sites by code.
    """
    if not selection.site_codes:
        return ""
    every = replace(selection, crew_codes=(), check_names=())
    weighed = read_kept_comparisons(con, "site", HEADLINE_NAMES, every)
    told = [
        f"{words.title(check).lower()} at {names.get(row['group'], row['group'])} "
        f"({words.share(row['nonconforming'], row['judged'])}, {times_words(row)})"
        for check, compared in weighed.items()
        for row in compared.flags.to_dicts()
        if row["flagged"]
    ]
    if not told:
        return ""
    return (
        "Ask first what all crews there lack: beside the other sites "
        f"{words.and_list(told)} {'is' if len(told) == 1 else 'are'} out of line, "
        "which does not show among them."
    )
