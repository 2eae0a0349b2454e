"""`firmset inspectors`: crews told apart from the inspectors who judged them."""

import argparse

from dashboard.crossed_words import crossed_words
from dashboard.terminal.options import one_check, selection_of
from dashboard.terminal.output import print_frame, print_object, say
from queries.readers.choices import read_choices
from queries.readers.crossed import read_crossed
from queries.store import Store


def inspectors(args: argparse.Namespace) -> int:
    """Print crews under an average inspector, inspectors, and what cannot be told."""
    check_name = one_check(args.check)
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        found = read_crossed(con, check_name, selection)
    if args.form == "csv":
        print_frame(found.crews, "csv")
    elif args.form == "json":
        print_object(
            {
                "check": check_name,
                "crews": found.crews.to_dicts(),
                "inspectors": found.inspectors.to_dicts(),
                "bridges": found.bridges.to_dicts(),
                "unnamed": found.unnamed,
                "correlation": found.correlation,
                "crew_spread": found.crew_spread,
                "inspector_spread": found.inspector_spread,
                "words": crossed_words(found),
            }
        )
    else:
        print_frame(found.crews, "table")
        print()
        print_frame(found.inspectors, "table")
        said = crossed_words(found, ": --format json lists all")
        say("\n" + "\n".join(said))
    return 0
