"""`firmset training`: what trainings changed, placebos, and whom to train next."""

import argparse
from collections.abc import Sequence
from dataclasses import asdict

from dashboard.terminal.options import one_check, selection_of
from dashboard.terminal.output import print_object, print_rows, say
from dashboard.training_rows import COLUMNS, result_row
from dashboard.training_words import (
    next_words,
    placebo_words,
    register_words,
    training_words,
)
from queries.errors import FirmsetError
from queries.judgement import CHECK_NAMES
from queries.readers.choices import read_choices
from queries.readers.next_trainings import read_next_trainings
from queries.readers.placebo import read_placebo
from queries.readers.rates import require_known
from queries.readers.training import read_training_effect, read_training_results
from queries.readers.trainings import RegisteredTraining, read_trainings
from queries.store import Store


def training(args: argparse.Namespace) -> int:
    """Print what was asked of trainings; without an option, every registered one."""
    if args.placebo:
        return _placebo(args)
    if args.next_count:
        return _next(args)
    return _one(args) if args.on else _register(args)


def _register(args: argparse.Namespace) -> int:
    require_known("check", args.check, CHECK_NAMES)
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        results = read_training_results(con, selection, args.weeks)
    if args.form != "table":
        print_rows(COLUMNS, [result_row(result) for result in results], args.form)
        return 0
    for result in results:
        said = training_words(result.found) if result.found else [result.problem]
        say("\n".join(said) + "\n")
    say("\n".join(register_words(results)))
    return 0


def _one(args: argparse.Namespace) -> int:
    check_name = one_check(args.check)
    if len(args.crew) != 1:
        raise FirmsetError(f"--crew {','.join(args.crew)}: expected one crew")
    if args.from_on or args.to_on:
        raise FirmsetError("training: expected --on and --weeks, not --from or --to")
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        found = read_training_effect(
            con, args.crew[0], check_name, args.on, selection, args.weeks
        )
    values = asdict(found)
    effect = values.pop("effect")
    row = values | effect
    if args.form == "json":
        print_object(row)
    elif args.form == "csv":
        print_rows(tuple(row), [row], "csv")
    else:
        say("\n".join(training_words(found)))
    return 0


def _placebo(args: argparse.Namespace) -> int:
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        tests = [
            read_placebo(con, name, selection, args.weeks)
            for name in _asked(args.check, read_trainings(con, selection))
        ]
    rows = []
    for found in tests:
        values = asdict(found)
        rows.append(values | values.pop("test"))
    if args.form != "table":
        print_rows(tuple(rows[0]), rows, args.form)
        return 0
    for found in tests:
        say("\n".join(placebo_words(found)))
    return 0


def _asked(
    check_names: Sequence[str], register: Sequence[RegisteredTraining]
) -> list[str]:
    """Return the checks to test: those named, else those that were taught."""
    require_known("check", check_names, CHECK_NAMES)
    taught = {entry.check_name for entry in register}
    names = list(check_names) or [name for name in CHECK_NAMES if name in taught]
    if not names:
        raise FirmsetError(
            "--placebo: no training on a check is registered; expected --check "
            f"{', '.join(CHECK_NAMES)}"
        )
    return names


def _next(args: argparse.Namespace) -> int:
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        found = read_next_trainings(con, selection, args.next_count)
    if args.form != "table":
        print_rows(found.plan.columns, found.plan.to_dicts(), args.form)
        return 0
    say("\n".join(next_words(found)))
    return 0
