"""`firmset changes`: what changed since last month."""

import argparse

from dashboard.change_words import change_words, changed_words, silence_words
from dashboard.terminal.options import selection_of
from dashboard.terminal.output import print_frame, say
from queries.readers.changes import read_changes
from queries.readers.choices import read_choices
from queries.store import Store

# What a terminal's width leaves; csv and json have all of it.
TABLE_COLUMNS = (
    "group",
    "check",
    "earlier_nonconforming",
    "earlier_judged",
    "earlier_rate",
    "later_nonconforming",
    "later_judged",
    "later_rate",
    "points",
    "points_low",
    "points_high",
    "q_value",
    "is_changed",
)


def changes(args: argparse.Namespace) -> int:
    """Print the last whole month beside the one before, each group and check."""
    with Store(args.store).reader(args.edition) as con:
        choices = read_choices(con)
        selection = selection_of(args, choices)
        found = read_changes(con, args.by, selection)
    if args.form != "table":
        print_frame(found.looks, args.form)
        return 0
    in_points = found.looks.with_columns(
        points=found.looks["difference"] * 100,
        points_low=found.looks["low"] * 100,
        points_high=found.looks["high"] * 100,
    )
    print_frame(in_points.select(TABLE_COLUMNS), "table")
    names = dict(choices.sites) if args.by == "site" else {}
    check_names = found.looks["check"].unique(maintain_order=True).to_list()
    said = changed_words(found, names) + silence_words(found, names)
    said += change_words(found, args.by, names, (check_names or [""])[0])
    say("\n" + "\n".join(said))
    return 0
