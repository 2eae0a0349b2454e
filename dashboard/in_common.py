"""What all crews of a site have in common, which comparing them does not show."""

from collections.abc import Mapping

from dashboard import words
from dashboard.comparison_words import times_words
from queries.readers.comparison import Compared


def in_common_words(weighed: Mapping[str, Compared], names: Mapping[str, str]) -> str:
    """Say on what the sites chosen are out of line beside the others; "" where on none.

    `weighed`: comparisons of sites by the name of the check, those chosen shown.
    """
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
