"""`firmset revisions`: what revisions changed."""

import argparse

from dashboard.revised_words import revised_words
from dashboard.terminal.options import one_check, selection_of
from dashboard.terminal.output import print_frame, say
from queries.judgement import RATE_NAMES
from queries.readers.choices import read_choices
from queries.readers.revised import (
    changed_records,
    mended_by_check,
    read_first_rates,
    read_revised,
)
from queries.store import Store


def revisions(args: argparse.Namespace) -> int:
    """Print rates as first logged beside the present, or the revised records."""
    check_name = one_check(args.check, RATE_NAMES)
    with Store(args.store).reader(args.edition) as con:
        choices = read_choices(con)
        selection = selection_of(args, choices)
        revised = read_revised(con)
        if args.records:
            print_frame(changed_records(revised, selection, check_name), args.form)
            return 0
        mended = mended_by_check(revised, selection)
        rates = read_first_rates(con, args.by, selection, check_name, revised)
    if args.form != "table" or not rates.is_empty():
        print_frame(rates, args.form)
    if args.form == "table":
        names = dict(choices.sites) if args.by == "site" else {}
        say("\n" + " ".join(revised_words(rates, check_name, args.by, names, mended)))
    return 0
