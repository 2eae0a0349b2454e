"""Commands that weigh counts: the trend of a check, the comparison of groups."""

import argparse
from dataclasses import asdict

from dashboard.comparison_words import comparison_words
from dashboard.in_common import in_common_words
from dashboard.retraining_words import entry_words, list_words
from dashboard.since import read_since
from dashboard.terminal.options import one_check, selection_of
from dashboard.terminal.output import print_frame, print_object, print_rows, say
from dashboard.words import plural
from queries.errors import FirmsetError
from queries.judgement import RATE_NAMES
from queries.readers.choices import read_choices
from queries.readers.comparison import read_calibration, read_comparison
from queries.readers.retraining import read_retraining
from queries.readers.trend import read_trend
from queries.statistics.charted import Trend
from queries.store import Store

POINT_COLUMNS = (
    "period",
    "judged",
    "nonconforming",
    "rate",
    "lower",
    "upper",
    "signals",
)
# What a terminal's width leaves of a comparison; csv and json have all of it.
TABLE_COLUMNS = (
    "group",
    "judged",
    "nonconforming",
    "rate",
    "others_rate",
    "expected",
    "ratio",
    "q_value",
    "flagged",
    "eb_rate",
    "rank_low",
    "rank_high",
    "mix_part",
    "performance_part",
    "detectable_rate",
)


def trend(args: argparse.Namespace) -> int:
    """Print one check over time."""
    check_name = one_check(args.check, RATE_NAMES)
    first, last = args.baseline_from, args.baseline_to
    if first and last and first > last:
        raise FirmsetError(f"--baseline-from {first} lies after --baseline-to {last}")
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        found = read_trend(con, check_name, args.by, selection, first, last)
    points = [asdict(point) for point in found.points]
    if args.form == "json":
        print_object(
            {
                "check": check_name,
                "by": args.by,
                **asdict(found),
                "baseline": _baseline(found),
            }
        )
        return 0
    print_rows(POINT_COLUMNS, points, args.form)
    if args.form == "table":
        say("\n" + "\n".join(trend_words(found)))
    return 0


def compare(args: argparse.Namespace) -> int:
    """Print each site or crew against the others."""
    check_name = one_check(args.check, RATE_NAMES)
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        weighed = read_comparison(
            con,
            args.by,
            check_name,
            selection,
            same_inspector=args.same_inspector,
        )
    if args.form != "table":
        print_frame(weighed.groups, args.form)
        return 0
    print_frame(weighed.groups.select(TABLE_COLUMNS), "table")
    said = comparison_words(weighed, args.by, same_inspector=args.same_inspector)
    say("\n" + said.replace(". ", ".\n"))
    return 0


def calibrate(args: argparse.Namespace) -> int:
    """Print how often the flags of a comparison are false on these very days."""
    check_name = one_check(args.check, RATE_NAMES)
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        found = read_calibration(
            con, args.by, check_name, selection, args.shuffles, args.seed
        )
    row = {"check": check_name, "by": args.by, **asdict(found), "seed": args.seed}
    if args.form == "json":
        print_object(row)
    elif args.form == "csv":
        print_rows(tuple(row), [row], "csv")
    else:
        say(
            f"{check_name} by {args.by}: the labels of whole days were dealt out again "
            f"{found.shuffles} times (seed {args.seed}). At least one {args.by} was "
            f"flagged, falsely, in {100 * found.any_share:.1f} % of them, "
            f"{found.flags:.2f} a time on average; taking the anchors of a day as "
            f"independent it would have been in {100 * found.any_naive:.1f} %."
        )
    return 0


def retrain(args: argparse.Namespace) -> int:
    """Print which crew to retrain on which check, first."""
    with Store(args.store).reader(args.edition) as con:
        choices = read_choices(con)
        selection = selection_of(args, choices)
        found = read_retraining(con, selection, args.budget)
        names = dict(choices.sites)
        common = in_common_words(con, selection, names)
        rows = found.entries.to_dicts()
        # Nothing of what is not clear of chance, as on the page.
        clear = [(row["crew"], row["check"]) for row in rows if row["is_clear"]]
        since = dict(zip(clear, read_since(con, clear, selection), strict=True))
        entries = [
            row
            | {
                "sentence": entry_words(
                    row, names, since.get((row["crew"], row["check"]), "")
                )
            }
            for row in rows
        ]
    if args.form != "table":
        print_rows((*found.entries.columns, "sentence"), entries, args.form)
        return 0
    if common:
        say(common + "\n")
    for number, entry in enumerate(entries, start=1):
        say(f"{number}. {entry['sentence']}")
    say("\n" + "\n".join(list_words(found, args.budget)))
    return 0


def _baseline(found: Trend) -> dict[str, object] | None:
    if found.baseline is None:
        return None
    values = asdict(found.baseline)
    return {"from": values.pop("first"), "to": values.pop("last"), **values}


def trend_words(found: Trend) -> list[str]:
    """Return what a reader must know of a trend, a line each."""
    lines = [f"Method: {found.method}."]
    base = found.baseline
    if base:
        lines.append(
            f"Baseline: {base.first} to {base.last}, "
            f"{plural(base.periods, 'period')}, {base.nonconforming}/{base.judged} "
            f"nonconforming ({base.chosen})."
        )
    lines += [
        f"Rule: {rule.words}. Where nothing changes, one false alarm in about "
        f"{rule.run_length:.0f} {rule.unit}."
        for rule in found.rules
    ]
    if base and found.run_length is not None:
        rare = any(rule.unit == "gaps" for rule in found.rules)
        known = (
            "were the baseline's rate known exactly"
            if rare
            else f"the rate being known from {plural(base.periods, 'period')} only"
        )
        lines.append(
            f"All rules together, {known}: a false alarm in about "
            f"{found.run_length:.0f} periods. No signal is not clearance."
        )
    return lines + [f"Note: {note}." for note in found.notes]
