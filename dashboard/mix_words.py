"""What of a difference is owed to the mix of work: pure."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboard import words

MIX = "mix of work"


def mix_words(rows: Sequence[Mapping[str, Any]], mix: str = MIX) -> str:
    """Name the group whose higher rate is owed to its mix more than to its doing.

    `mix`: what work was held alike by.
    """
    owed = [
        row
        for row in rows
        if row["mix_part"] is not None
        and row["low"] is not None
        and not row["flagged"]
        and row["rate"] - row["others_rate"] >= 0.005
        and row["mix_part"] > row["performance_part"]
    ]
    if not owed:
        return ""
    row = max(owed, key=lambda item: float(item["mix_part"]))
    return (
        f"{row['name']} is not out of line: of the "
        f"{words.points(row['rate'] - row['others_rate'])} points between it and the "
        f"others its {mix} makes {words.points(row['mix_part'])}, its doing "
        f"{doing_points(row)}."
    )


def doing_points(row: Mapping[str, Any]) -> str:
    """Return what the doing makes of a difference, so that the words add up.

    The rest of the rounded difference: each rounded by itself may miss it by a tenth.
    """
    whole, mix = (
        round(100 * value, 1)
        for value in (row["rate"] - row["others_rate"], row["mix_part"])
    )
    return words.points((whole - mix) / 100)
