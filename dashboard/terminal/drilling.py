"""`firmset drilling`: embedments side by side, a list of anchors, the data's worth."""

import argparse
from dataclasses import asdict

import polars as pl

from dashboard import words
from dashboard.bill import parse_bill
from dashboard.drilling_options_words import (
    TRIGGER_ONLY,
    bill_words,
    handling_words,
    options_lead,
    options_words,
    place_words,
    shift_words,
)
from dashboard.drilling_words import (
    FATES,
    coverage_words,
    fates_words,
    thin_words,
)
from dashboard.terminal.in_units import in_units
from dashboard.terminal.output import print_frame, print_object, print_rows, say
from dashboard.units import in_reader_units
from dashboard.wish import Wish, wishing
from queries.errors import FirmsetError
from queries.readers.choices import read_choices
from queries.readers.drilling_bill import Bill, weigh_bill
from queries.readers.drilling_model import DrillingData, read_drilling_data
from queries.readers.drilling_options import (
    OPTIONS_CAUTION,
    VIBRATION_CAUTION,
    Comparison,
    compare_embedments,
    need_model,
    read_holes_per_shift,
)
from queries.readers.drilling_support import Asked, Offered, read_offered
from queries.statistics.drilling_model import DrillingModel, Lack
from queries.store import Store

# What a terminal's width leaves; csv and json have all of it.
OPTION_COLUMNS = (
    "embedment_mm",
    "hole_depth_mm",
    "p50_min",
    "p80_min",
    "low_min",
    "high_min",
    "hours_per_100_p50",
    "hours_per_100_p80",
    "saved_h_per_100",
    "abandoned_per_100",
    "bit_m_per_100",
    "cone_ratio",
    "min_per_ratio",
)
# What only a comparison of embedments reads, and what a bill reads as well.
OF_SIZE = (
    *("embedment", "reference", "method", "orientation", "vibration"),
    "holes_per_shift",
)
OF_PLACE = ("site", "crews")
POINT_COLUMNS = ("points_per_shift", "holes_to_action", "holes_to_limit")


def drilling(args: argparse.Namespace) -> int:
    """Print what is asked; tables for people in the units that they chose."""
    with wishing(Wish(units=args.units)):
        return _drilling(args)


def _refuse_idle(args: argparse.Namespace) -> None:
    """Refuse options that would change nothing of what is printed."""
    idle = [] if args.size else [name for name in OF_SIZE if getattr(args, name)]
    if not (args.size or args.bill):
        idle += [name for name in OF_PLACE if getattr(args, name) not in (None, 1)]
    if idle:
        named = ", ".join(f"--{name.replace('_', '-')}" for name in idle)
        asked = "--size" if args.bill else "--size or --bill"
        raise FirmsetError(f"drilling: {named}: expected {asked} with it")


def _drilling(args: argparse.Namespace) -> int:
    """Print options for a size, hours for a bill, or the model and its data."""
    if args.size and args.bill:
        raise FirmsetError("drilling: expected --size or --bill, not both")
    _refuse_idle(args)
    with Store(args.store).reader(args.edition) as con:
        data = read_drilling_data(con)
        offered = read_offered(con)
        per_shift = args.holes_per_shift or read_holes_per_shift(con)
        names = dict(read_choices(con).sites)
    is_given = args.holes_per_shift is not None
    place = place_words(args.site, names)
    if args.bill:
        bill = _bill(args, data, offered)
        _print_bill(args.form, bill, place)
    elif args.size:
        found = _compared(args, data, offered, float(per_shift))
        _print_options(args.form, data, found, place, is_given=is_given)
    else:
        _print_data(args.form, data)
    return 0


def _bill(args: argparse.Namespace, data: DrillingData, offered: Offered) -> Bill:
    terms = need_model(data).terms
    try:
        content = args.bill.read_bytes()
    except OSError as error:
        raise FirmsetError(f"{args.bill}: {error.strerror}") from error
    choices = {
        "size": offered.sizes(),
        "method": terms.methods,
        "orientation": terms.orientations,
    }
    lines = parse_bill(content, args.bill.name, choices)
    return weigh_bill(
        data,
        offered,
        lines,
        name=args.bill.name,
        site_code=args.site,
        crews=args.crews,
    )


def _compared(
    args: argparse.Namespace, data: DrillingData, offered: Offered, per_shift: float
) -> Comparison:
    embedments = args.embedment or offered.embedments(args.size)
    asked = [Asked(args.size, mm, args.method, args.orientation) for mm in embedments]
    if not asked:
        asked = [Asked(args.size, 0.0)]  # An unknown size: refused in words.
    return compare_embedments(
        data,
        offered,
        asked,
        site_code=args.site,
        holes_per_shift=per_shift,
        reference_mm=args.reference,
        vibration_m_s2=args.vibration,
        crews=args.crews,
    )


def _print_options(
    form: str, data: DrillingData, found: Comparison, place: str, *, is_given: bool
) -> None:
    model = need_model(data)
    cautions = [OPTIONS_CAUTION, TRIGGER_ONLY]
    if found.vibration_m_s2 is not None:
        cautions += [shift_words(found, is_given=is_given), VIBRATION_CAUTION]
    if form == "csv":
        print_frame(found.options, "csv")
        return
    if form == "json":
        print_object(
            {
                "site": found.site_code,
                "reference_mm": found.reference_mm,
                "vibration_m_s2": found.vibration_m_s2,
                "holes_per_shift": found.holes_per_shift,
                "options": found.options.to_dicts(),
                "handling": found.handling.to_dicts(),
                "model": _as_object(model),
                "cautions": cautions,
            }
        )
        return
    points = POINT_COLUMNS if found.vibration_m_s2 is not None else ()
    handling = (
        ("handling_s", "hours_per_100_with_handling") if found.handling.height else ()
    )
    shown = found.options.select(*OPTION_COLUMNS, *handling, *points)
    print_rows(*in_units(shown.columns, shown.to_dicts()), "table")
    notes = [
        f"{words.quantity(row['embedment_mm'], 'mm')}: {in_reader_units(row['note'])}"
        for row in found.options.to_dicts()
        if row["note"]
    ]
    said = [*options_lead(found, place), options_words(found, place), *notes]
    say("\n" + "\n".join(line for line in said if line))
    handled = handling_words(found.handling)
    say("\n".join([coverage_words(model), *cautions, handled]))


def _print_bill(form: str, bill: Bill, place: str) -> None:
    if form == "csv":
        print_frame(bill.lines, "csv")
        return
    if form == "json":
        values = {name: value for name, value in vars(bill).items() if name != "lines"}
        print_object(values | {"lines": bill.lines.to_dicts()})
        return
    shown = bill.lines.drop("note")
    print_rows(*in_units(shown.columns, shown.to_dicts()), "table")
    notes = bill.lines.filter(pl.col("note") != "")
    for row in notes.to_dicts():
        say(f"row {row['row']}: {in_reader_units(row['note'])}")
    say(f"\n{bill_words(bill, place)}\n{TRIGGER_ONLY}")


def _print_data(form: str, data: DrillingData) -> None:
    model = data.model
    if form == "csv":
        print_frame(data.fates, "csv")
    elif form == "json":
        print_object(
            {
                "sites": data.fates.to_dicts(),
                "model": None if model is None else _as_object(model),
            }
        )
    else:
        names = [name for name in FATES if data.fates[name].sum()]
        columns = ["site", "attempts", "used", *names, "over_limit"]
        print_frame(data.fates.select(columns), "table")
        say("\n" + f"{fates_words(data.fates)} {thin_words(data.depths)}".strip())
        if isinstance(data.fitted, Lack):
            say(f"\nNo model of drilling time: expected {data.fitted.value}.")
        else:
            print()
            rows = _terms(data.fitted)
            print_rows(("term", "estimate", "standard_error"), rows, "table")
            say("\n" + coverage_words(data.fitted))


def _terms(model: DrillingModel) -> list[dict[str, object]]:
    """Return each term that could be told apart, as text with four decimals."""
    errors = model.fit.covariance.diagonal() ** 0.5
    return [
        {"term": name, "estimate": f"{value:.4f}", "standard_error": f"{error:.4f}"}
        for name, value, error, is_kept in zip(
            model.terms.names, model.fit.beta, errors, model.fit.is_kept, strict=True
        )
        if is_kept and name != "intercept"
    ]


def _as_object(model: DrillingModel) -> dict[str, object]:
    fit = model.fit
    errors = fit.covariance.diagonal() ** 0.5
    return {
        "holes": model.holes,
        "sites": len(model.labels.sites),
        "terms": {
            name: {"estimate": float(value), "standard_error": float(error)}
            for name, value, error, is_kept in zip(
                model.terms.names, fit.beta, errors, fit.is_kept, strict=True
            )
            if is_kept
        },
        "residual_sd": model.noise_var**0.5,
        "site_sd": fit.site_var**0.5,
        "crew_sd": fit.crew_var**0.5,
        "smearing": model.completed.mean,
        "coverage_80": model.covered,
        "coverage": [asdict(one) for one in model.coverage],
    }
