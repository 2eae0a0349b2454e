"""`firmset unlogged`: planned holes of which no log shows an anchor."""

import argparse

from dashboard.terminal.options import selection_of
from dashboard.terminal.output import print_frame, say
from dashboard.unlogged_words import unlogged_words
from queries.readers.choices import read_choices
from queries.readers.unlogged import read_unlogged, unlogged_by_site
from queries.store import Store


def unlogged(args: argparse.Namespace) -> int:
    """Print planned holes beside anchors logged, by site or by setting data."""
    with Store(args.store).reader(args.edition) as con:
        choices = read_choices(con)
        selection = selection_of(args, choices)
        lines = read_unlogged(con, selection)
    by_site = unlogged_by_site(lines)
    if args.form != "table" or not by_site.is_empty():
        print_frame(lines if args.settings else by_site, args.form)
    if args.form == "table":
        said = unlogged_words(by_site, dict(choices.sites), selection)
        say("\n" + " ".join(said))
    return 0
