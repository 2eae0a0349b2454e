"""Commands that answer from the published edition."""

import argparse
from collections.abc import Sequence
from dataclasses import fields

import duckdb
import polars as pl

from dashboard import words
from dashboard.anchor_section import section_of
from dashboard.shared_wrench_words import shared_wrench_lines
from dashboard.terminal.drawing import drawn_section
from dashboard.terminal.in_units import in_unit, in_units
from dashboard.terminal.options import selection_of
from dashboard.terminal.output import print_frame, print_object, print_rows, say
from dashboard.units import in_reader_units
from dashboard.wish import Wish, wishing
from dashboard.wrench_words import record_words
from queries.errors import FirmsetError
from queries.judgement import RATE_NAMES
from queries.proof import all_proofs, read_faults
from queries.readers.choices import read_choices
from queries.readers.corrections import read_corrections
from queries.readers.intake import read_receipts, read_rejects
from queries.readers.rates import check_rate_keys, read_rates, require_known
from queries.readers.records import (
    RATIO_CAUTION,
    Record,
    read_nonconforming_by_ratio,
    read_record,
)
from queries.readers.shared_wrenches import read_shared_wrenches
from queries.selection import Selection
from queries.store import Store

EXIT_FAULTS = 1


def rates(args: argparse.Namespace) -> int:
    """Print rates by the keys asked for."""
    check_rate_keys(args.by)
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        frame = (
            _rates_with_doubts(con, args.by, selection)
            if args.doubtful_unknown
            else read_rates(con, args.by, selection)
        )
    print_frame(frame, args.form)
    return 0


def _rates_with_doubts(
    con: duckdb.DuckDBPyConnection, by: Sequence[str], selection: Selection
) -> pl.DataFrame:
    # These bring scipy along, which plain rates need not wait for.
    from queries.readers.doubted_rates import read_doubted_rates
    from queries.readers.doubts import read_doubts

    return read_doubted_rates(con, by, selection, read_doubts(con).listed)


def ratios(args: argparse.Namespace) -> int:
    """Print nonconforming anchors by indicative cone ratio, with its caution."""
    with Store(args.store).reader(args.edition) as con:
        selection = selection_of(args, read_choices(con))
        require_known("check", selection.check_names, RATE_NAMES)
        frame = read_nonconforming_by_ratio(con, selection)
    print_frame(frame, args.form)
    if args.form == "table":
        say(f"\n{RATIO_CAUTION}")
    return 0


def receipts(args: argparse.Namespace) -> int:
    """Print what became of each file."""
    with Store(args.store).reader(args.edition) as con:
        print_frame(read_receipts(con), args.form)
        asked = shared_wrench_lines(
            read_shared_wrenches(con), dict(read_choices(con).sites)
        )
    if asked and args.form == "table":
        say("\n" + "\n".join(asked))
    return 0


def rejects(args: argparse.Namespace) -> int:
    """Print the rows that could not be taken; as CSV in a form to correct and load."""
    if args.with_cleared and args.form == "csv":
        raise FirmsetError(
            "--with-cleared: csv gives back the rows to correct, and those are "
            "settled; expected --format table or json"
        )
    with Store(args.store).reader(args.edition) as con:
        if args.receipt is not None:
            _require_receipt(con, args.receipt)
        if args.form == "csv":
            frame = read_corrections(con, args.receipt)
        else:
            frame = read_rejects(con, args.receipt, with_cleared=args.with_cleared)
    print_frame(frame, args.form)
    return 0


def _require_receipt(con: duckdb.DuckDBPyConnection, source_file_id: int) -> None:
    known = read_receipts(con).filter(pl.col.source_file_id == source_file_id)
    if known.is_empty():
        raise FirmsetError(
            f"--receipt {source_file_id}: there is none with this number; "
            "firmset receipts lists them"
        )
    [taken_back_at] = known["unloaded_at"]
    if taken_back_at is not None:
        raise FirmsetError(
            f"--receipt {source_file_id}: it was taken back, and its rows with it"
        )


def verify(args: argparse.Namespace) -> int:
    """Ask every proof of the published edition; print what is wrong."""
    proofs = all_proofs()
    with Store(args.store).reader(args.edition) as con:
        faults = read_faults(con, proofs)
    if args.form != "table" or not faults.is_empty():
        print_frame(faults, args.form)
    if args.form == "table":
        wrong = set(faults["proof"])
        for proof in proofs:
            say(f"{'WRONG' if proof.title in wrong else 'ok   '}  {proof.title}")
    return EXIT_FAULTS if faults.height else 0


def record(args: argparse.Namespace) -> int:
    """Print one installation, its verdicts and where it came from."""
    with Store(args.store).reader(args.edition) as con:
        found = read_record(con, args.site_code.upper(), args.record_id)
    if found is None:
        raise FirmsetError(
            f"no record {args.record_id!r} of site {args.site_code!r}: expected a "
            "record number as the site logged it"
        )
    if args.form == "json":
        print_object(
            _as_object(found)
            | {"caution": words.CAUTION, "ratio_caution": RATIO_CAUTION}
        )
    elif args.form == "csv":
        print_frame(found.verdicts, "csv")
    else:
        with wishing(Wish(units=args.units)):
            _print_record(found)
    return 0


def _as_object(found: Record) -> dict[str, object]:
    values = {item.name: getattr(found, item.name) for item in fields(found)}
    return {
        name: value.to_dicts() if isinstance(value, pl.DataFrame) else value
        for name, value in values.items()
    }


def _print_beside(found: Record) -> None:
    """Print what is known beside the verdicts, and judges nothing."""
    for question in found.questions:
        say(f"\nQuestion to the site: {in_reader_units(question)}")
    if found.found_out is not None:
        say(f"\n{record_words(found.found_out)}")
    if found.recheck is not None:
        say("\nFound later (preload relaxes: not judged):")
        print_rows(*in_units(list(found.recheck), [found.recheck]), "table")
    if found.ratio["cone_ratio"] is not None:
        parts = ", ".join(
            f"{name.replace('_', ' ')} {100 * value:.0f} %"
            for name, value in found.ratio.items()
            if value is not None
        )
        say(f"\nIndicative: {parts}. {RATIO_CAUTION}")


def _verdict(row: dict[str, object]) -> dict[str, object]:
    unit = str(row["unit"] or "")
    margin = row["margin"]
    return {
        "check": row["check"],
        "verdict": row["verdict"],
        "margin": words.signed(margin, unit) if isinstance(margin, float) else "-",
        "words": in_reader_units(str(row["words"] or ""), unit),
    }


def _print_record(found: Record) -> None:
    logged = found.logged
    say(
        f"{logged['site_code']} record {logged['record_id']}, revision "
        f"{logged['revision']}: {found.required['anchor_size']} "
        f"({logged['setting_code']}), crew {logged['crew_code']}, "
        f"{logged['installed_on']}"
    )
    say(f"from {found.file_name}, row {found.source_row}\n")
    print_rows(
        ("check", "verdict", "margin", "words"),
        [_verdict(row) for row in found.verdicts.to_dicts()],
        "table",
    )
    if logged["outcome"] != "abandoned":
        print()
        section = section_of(logged, found.required, found.verdicts)
        print("\n".join(drawn_section(section)))
    if not found.faults.is_empty():
        say("\nCould not be read:")
        print_frame(found.faults, "table")
    if found.revisions.height > 1:
        say("\nRevisions:")
        print_frame(found.revisions, "table")
    _print_beside(found)
    say("\nLogged:")
    hidden = ("_mask", "source_")
    print_rows(
        ("column", "value"),
        [
            dict(zip(("column", "value"), in_unit(name, value), strict=True))
            for name, value in logged.items()
            if value is not None
            and not name.endswith(hidden[0])
            and not name.startswith(hidden[1])
        ],
        "table",
    )
    say(f"\n{words.CAUTION}")
