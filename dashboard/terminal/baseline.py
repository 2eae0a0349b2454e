"""Commands that record from which dates a trend's limits come."""

import argparse
from datetime import UTC, datetime

from dashboard.terminal.options import one_check, selection_of
from dashboard.terminal.output import print_frame
from etl.baseline import record_baseline
from queries.errors import FirmsetError
from queries.readers.baselines import RecordedBaseline, read_baselines, stream_of
from queries.readers.choices import read_choices
from queries.readers.trend import read_trend
from queries.store import Store


def list_baselines(args: argparse.Namespace) -> int:
    """Print every baseline ever set."""
    with Store(args.store).reader() as con:
        print_frame(read_baselines(con), args.form)
    return 0


def set_baseline(args: argparse.Namespace) -> int:
    """Record a baseline and publish it; nothing recorded is ever changed."""
    store = Store(args.store)
    check_name = one_check(args.check)
    if args.from_on is None or args.to_on is None:
        raise FirmsetError("baseline set: expected --from DATE and --to DATE")
    for option, text in (("--author", args.author), ("--reason", args.reason)):
        if not text.strip():
            raise FirmsetError(f"{option}: expected words, found none")
    with store.reader() as con:
        selection = selection_of(args, read_choices(con))
        found = read_trend(
            con, check_name, args.by, selection, args.from_on, args.to_on
        )
    recorded = RecordedBaseline(
        stream_of(check_name, args.by, selection),
        args.from_on,
        args.to_on,
        args.author.strip(),
        args.reason.strip(),
        datetime.now(UTC),
    )
    edition_id = record_baseline(store, recorded, wait_s=args.wait)
    held = found.baseline
    if held:
        print(
            f"baseline of {check_name} by {args.by}: {held.first} to {held.last}, "
            f"{held.nonconforming}/{held.judged} nonconforming; edition {edition_id} "
            "published"
        )
    return 0
