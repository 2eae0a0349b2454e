"""Hours for a list of anchors: the sum is simulated, never added up from its lines."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from queries.errors import FirmsetError
from queries.readers.drilling_model import DrillingData
from queries.readers.drilling_options import need_model, site_number
from queries.readers.drilling_support import Asked, Offered, Supported, support
from queries.readers.handling import STEPS, handling_of, seconds
from queries.statistics.drilling_model import DrillingModel
from queries.statistics.drilling_prediction import (
    draw,
    moments,
    quantile,
    spread_shares,
    total,
)


@dataclass(frozen=True)
class BillLine:
    """One line of a list: `count` holes. `row`: where it stood in the file."""

    row: int
    asked: Asked
    count: int


@dataclass(frozen=True)
class Bill:
    """Hours for a list. `lines`: a row a line with hours at P50 and P80 and its note.

    `p50_h`, `p80_h`, `low_h` to `high_h` (80 %) of the whole list; `sum_of_p80_h` is
    what adding up the lines' P80 would give, which overstates. `causes`: each cause's
    share of the spread, adding up to 1. `handling_h`: hours of cleaning and setting for
    the `handled` anchors for whose size and method they are logged; in no other figure.
    `is_all_handled`: both steps are logged for every line.
    """

    lines: pl.DataFrame
    site_code: str | None
    crews: int
    holes: int
    p50_h: float
    p80_h: float
    low_h: float
    high_h: float
    sum_of_p80_h: float
    causes: dict[str, float]
    handling_h: float
    handled: int
    is_all_handled: bool


def weigh_bill(
    data: DrillingData,
    offered: Offered,
    lines: Sequence[BillLine],
    *,
    name: str,
    site_code: str | None,
    crews: int = 1,
) -> Bill:
    """Return the hours of a list of anchors on a known site or a new one.

    `name` of the file, for errors: FirmsetError names every row outside the data, as a
    sum without it would be no answer. All lines share the site, the crews and the
    model's error in each draw.
    """
    model = need_model(data)
    site = site_number(model, site_code)
    found = _supported(data, model, offered, lines, name)
    work = [(one.hole, line.count) for one, line in zip(found, lines, strict=True)]
    draws = draw(model, site, crews=crews)
    by_line, whole = total(model, draws, work)
    low, p50, p80, high = quantile(whole / 3600, 0.1, 0.5, 0.8, 0.9)
    ends = np.quantile(by_line / 3600, [0.5, 0.8], axis=0)
    rows, steps = [], []
    for at, (line, one) in enumerate(zip(lines, found, strict=True)):
        per_hole = moments(model, draws, one.hole).mean_s / 60
        handling = handling_of(data, line.asked.anchor_size, one.drill_method)
        handling_s = seconds(handling)
        steps.append(set(handling["step"]))
        rows.append(
            {
                "row": line.row,
                "anchor_size": line.asked.anchor_size,
                "embedment_mm": line.asked.embedment_mm,
                "drilled_mm": one.depth_mm,
                "drill_method": one.drill_method,
                "orientation": line.asked.orientation or "as logged",
                "count": line.count,
                "min_per_hole": float(quantile(per_hole, 0.5)[0]),
                "p50_h": float(ends[0, at]),
                "p80_h": float(ends[1, at]),
                "handling_h": (
                    None if handling_s is None else line.count * handling_s / 3600
                ),
                "note": one.note,
            }
        )
    weighed = pl.DataFrame(rows, schema_overrides={"handling_h": pl.Float64})
    handled = weighed.filter(pl.col("handling_h").is_not_null())
    return Bill(
        lines=weighed,
        site_code=site_code,
        crews=crews,
        holes=sum(line.count for line in lines),
        p50_h=float(p50),
        p80_h=float(p80),
        low_h=float(low),
        high_h=float(high),
        sum_of_p80_h=float(ends[1].sum()),
        causes=spread_shares(model, site, crews, work),
        handling_h=float(handled["handling_h"].sum()),
        handled=int(handled["count"].sum()),
        is_all_handled=all(logged == STEPS for logged in steps),
    )


def _supported(
    data: DrillingData,
    model: DrillingModel,
    offered: Offered,
    lines: Sequence[BillLine],
    name: str,
) -> list[Supported]:
    found, faults = [], []
    for line in lines:
        try:
            found.append(support(data, model, offered, line.asked))
        except FirmsetError as error:
            faults.append(f"{name}, row {line.row}: {error}")
    if faults:
        raise FirmsetError("; ".join(faults))
    return found
