"""Commands that record from which dates a trend's limits come."""

import argparse
from datetime import UTC, datetime

from dashboard.terminal.options import one_check, selection_of
from dashboard.terminal.output import print_frame, say
from etl.baseline import record_baseline
from queries.errors import FirmsetError
from queries.readers.baselines import RecordedBaseline, read_baselines, stream_of
from queries.readers.choices import read_choices
from queries.readers.trend import read_trend
from queries.statistics.charted import Baseline
from queries.statistics.rebase import worsening_p
from queries.store import Store

# A baseline that is worse than this chance allows is warned of.
WORSE_AT = 0.05


def list_baselines(args: argparse.Namespace) -> int:
    """Print every baseline ever set."""
    with Store(args.store).reader(args.edition) as con:
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
        before = read_trend(con, check_name, args.by, selection).baseline
        held = read_trend(
            con, check_name, args.by, selection, args.from_on, args.to_on
        ).baseline
    recorded = RecordedBaseline(
        stream_of(check_name, args.by, selection),
        args.from_on,
        args.to_on,
        args.author.strip(),
        args.reason.strip(),
        datetime.now(UTC),
    )
    edition_id = record_baseline(store, recorded, wait_s=args.wait)
    if held:
        say(
            f"baseline of {check_name} by {args.by}: {held.first} to {held.last}, "
            f"{held.nonconforming}/{held.judged} nonconforming; edition {edition_id} "
            "published"
        )
        print(_warning(before, held), end="")
    return 0


def _warning(before: Baseline | None, after: Baseline) -> str:
    """Say where the new baseline is worse than the one it replaces, beyond chance."""
    p_value = worsening_p(before, after) if before else None
    if before is None or p_value is None or p_value > WORSE_AT:
        return ""
    return (
        f"careful: it is worse than the baseline before, {before.first} to "
        f"{before.last} with {before.nonconforming}/{before.judged} (mid-p "
        f"{p_value:.2g}); from now on the chart takes that worsening for normal. Set "
        "the earlier one again if that is not meant\n"
    )
