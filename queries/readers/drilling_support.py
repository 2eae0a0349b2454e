"""Which holes the logs can speak of: sizes, embedments, depths, and how many."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

import duckdb
import numpy as np
import polars as pl

from queries.errors import FirmsetError
from queries.frames import read_frame
from queries.readers.drilling_model import DrillingData
from queries.readers.rates import require_known
from queries.statistics.drilling_effects import Band, band
from queries.statistics.drilling_model import DrillingModel
from queries.statistics.drilling_prediction import Hole, Mixture, depth_term
from queries.statistics.drilling_terms import DIAMETER_MM

# Holes of that size and method, within a tenth of the depth. Project defaults: fewer
# than FEWEST on all sites is outside the data, fewer than ENOUGH, or from one or two
# sites only, is thin.
FEWEST, ENOUGH, ENOUGH_SITES = 20, 200, 3
# What the views call a method, or an orientation, that no log says.
NOT_RECORDED = "not recorded"
NEAR_DEPTH = 0.10
LARGEST_EMBEDMENT_MM = 1000.0
# Embedments that differ by less are one: 82.55 mm is 83.
SAME_MM = 0.5


@dataclass(frozen=True)
class Asked:
    """A hole as an estimator names it. None: the size's commonest method, its mix."""

    anchor_size: str
    embedment_mm: float
    drill_method: str | None = None
    orientation: str | None = None


@dataclass(frozen=True)
class Supported:
    """A hole that the data speak of.

    `required_mm` is h_1, the deepest of the setting data of this embedment
    (`depths_mm`), without any as much deeper than the embedment as the nearest one of
    that size has it; `depth_mm` what crews drill for it:
    their mean depth beyond the required one added. `holes`, `sites`: timed ones like
    it. `thin` says what is thin of it, "" where nothing is.
    """

    asked: Asked
    drill_method: str
    required_mm: float
    depths_mm: tuple[float, ...]
    depth_mm: float
    drill_diameter_mm: float
    holes: int
    sites: int
    thin: str
    hole: Hole

    @property
    def note(self) -> str:
        """What to know of the hole before its time is used; "" where nothing is."""
        notes = [f"thin: {self.thin}"] if self.thin else []
        if not self.depths_mm:
            notes.append("hole depth as far beyond it as in the nearest setting data")
        if len(self.depths_mm) > 1:
            depths = ", ".join(f"{depth:g}" for depth in self.depths_mm)
            notes.append(
                f"its setting data ask for holes of {depths} mm: the deepest is taken"
            )
        return "; ".join(notes)


# The model's band by size and method.
Bands: TypeAlias = Mapping[tuple[str, str], Band]


@dataclass(frozen=True)
class Offered:
    """Setting data by size: embedment, hole depth and bit of each of its rows."""

    settings: pl.DataFrame

    def sizes(self) -> list[str]:
        """Return the sizes by diameter."""
        return self.settings["anchor_size"].unique(maintain_order=True).to_list()

    def embedments(self, anchor_size: str) -> list[float]:
        """Return a size's embedments, mm, the least first."""
        rows = self.settings.filter(pl.col("anchor_size") == anchor_size)
        return rows["embedment_mm"].unique().sort().to_list()


def read_offered(con: duckdb.DuckDBPyConnection) -> Offered:
    """Return what the setting data offer."""
    return Offered(
        read_frame(
            con,
            """
            select distinct
                anchor_size, diameter_mm, drill_diameter_mm, embedment_mm, hole_depth_mm
            from setting_data
            order by diameter_mm, anchor_size, embedment_mm, hole_depth_mm
            """,
        )
    )


def support(
    data: DrillingData, model: DrillingModel, offered: Offered, asked: Asked
) -> Supported:
    """Return the hole asked for; raises FirmsetError where the data do not reach it.

    The words name what was asked, what was expected, and what the data hold.
    """
    require_known("size", [asked.anchor_size], offered.sizes())
    if not 0 < asked.embedment_mm <= LARGEST_EMBEDMENT_MM:
        raise FirmsetError(
            f"embedment {asked.embedment_mm:g} mm: expected mm above 0, at most "
            f"{LARGEST_EMBEDMENT_MM:g}"
        )
    required, diameter, depths = _required(offered, asked)
    method = _method(data, model, asked)
    if asked.orientation is not None:
        require_known("orientation", [asked.orientation], model.terms.orientations)
    same = data.depths.filter(
        (pl.col("anchor_size") == asked.anchor_size)
        & (pl.col("drill_method") == method)
        & (pl.col("completed") > 0)
    )
    depth = required + _extra(same)
    near = same.filter(
        (pl.col("depth_from_mm") + 2.5).is_between(
            depth * (1 - NEAR_DEPTH), depth * (1 + NEAR_DEPTH)
        )
    )
    holes = int(near["used"].sum())
    sites = near.filter(pl.col("used") > 0)["site_code"].n_unique()
    from_mm = pl.col("depth_from_mm")
    held = {
        "near": holes,
        "as shallow as": int(same.filter(from_mm <= depth)["used"].sum()),
        "as deep as": int(same.filter(from_mm + 5 > depth)["used"].sum()),
    }
    where, fewest = min(held.items(), key=lambda one: one[1])
    if fewest < FEWEST:
        few = f"{fewest} timed holes {where} {depth:.0f} mm"
        raise FirmsetError(_outside(asked, method, few, same))
    oriented = near
    if asked.orientation is not None:
        oriented = near.filter(pl.col("orientation") == asked.orientation)
    return Supported(
        asked=asked,
        drill_method=method,
        required_mm=required,
        depths_mm=depths,
        depth_mm=depth,
        drill_diameter_mm=diameter,
        holes=holes,
        sites=sites,
        thin=_thin(asked, holes, sites, int(oriented["used"].sum())),
        hole=_hole(
            model, _terms(model, asked, method, depth, diameter, near), depth, asked
        ),
    )


class _Required(NamedTuple):
    """The hole that setting data ask for; `depths_mm` of all that have the embedment.

    None has it where the depth had to be derived from the nearest.
    """

    depth_mm: float
    diameter_mm: float
    depths_mm: tuple[float, ...]


def _required(offered: Offered, asked: Asked) -> _Required:
    """Return the hole asked for: of several for one embedment the deepest."""
    rows = offered.settings.filter(pl.col("anchor_size") == asked.anchor_size)
    nearest = min(
        rows.iter_rows(named=True),
        key=lambda row: (
            abs(row["embedment_mm"] - asked.embedment_mm),
            -row["hole_depth_mm"],
        ),
    )
    depth, diameter = nearest["hole_depth_mm"], nearest["drill_diameter_mm"]
    alike = rows.filter((pl.col("embedment_mm") - asked.embedment_mm).abs() <= SAME_MM)
    if alike.is_empty():
        beyond = depth - nearest["embedment_mm"]
        return _Required(asked.embedment_mm + beyond, diameter, ())
    depths = alike["hole_depth_mm"].unique().sort().to_list()
    return _Required(depth, diameter, tuple(depths))


def _method(data: DrillingData, model: DrillingModel, asked: Asked) -> str:
    """Return the method asked for, else the commonest of the size."""
    if asked.drill_method is not None:
        require_known("method", [asked.drill_method], model.terms.methods)
        return asked.drill_method
    counted = (
        data.depths.filter(pl.col("anchor_size") == asked.anchor_size)
        .group_by("drill_method")
        .agg(pl.col("used").sum())
        .sort("used", "drill_method", descending=[True, False])
    )
    return str(counted["drill_method"][0]) if counted.height else model.terms.methods[0]


def _extra(same: pl.DataFrame) -> float:
    completed = float(same["completed"].sum())
    return float(same["sum_extra_mm"].sum()) / completed if completed else 0.0


def by_method(drill_method: str) -> str:
    """Return a method as it is said behind holes: with hammer."""
    if drill_method == NOT_RECORDED:
        return "by an unrecorded method"
    return f"with {drill_method.replace('_', ' ')}"


def _outside(asked: Asked, method: str, few: str, same: pl.DataFrame) -> str:
    whose = f"{asked.anchor_size} {by_method(method)}"
    steps = same.group_by("depth_from_mm").agg(pl.col("used").sum())
    held = steps.filter(pl.col("used") >= FEWEST)["depth_from_mm"].sort().to_list()
    reach = (
        f"timed holes of {whose} are {held[0]:.0f} to {held[-1] + 5:.0f} mm deep"
        if held
        else f"there are too few timed holes of {whose}"
    )
    return (
        f"embedment {asked.embedment_mm:g} mm of {whose}: "
        f"outside the data ({few}, expected {FEWEST} or more; {reach})"
    )


def _thin(asked: Asked, holes: int, sites: int, oriented: int) -> str:
    found = []
    if holes < ENOUGH:
        found.append(f"{holes} timed holes like it")
    if sites < ENOUGH_SITES:
        found.append("from one site" if sites == 1 else f"from {sites} sites")
    if asked.orientation is not None and oriented < FEWEST:
        found.append(f"{oriented} of them on {asked.orientation}")
    return ", ".join(found)


def _terms(
    model: DrillingModel,
    asked: Asked,
    method: str,
    depth_mm: float,
    diameter_mm: float,
    near: pl.DataFrame,
) -> np.ndarray:
    """Return the terms of a completed hole by bits as worn as they are on average."""
    terms = model.terms
    found = terms.row(
        depth=depth_term(depth_mm),
        diameter=float(np.log(diameter_mm / DIAMETER_MM)),
        bit_metres=model.usual_bit_m,
        strength=model.usual_strength,
        bit_worn=model.usual_worn,
    )
    if method in terms.methods[1:]:
        found[terms.index(f"method {method}")] = 1.0
    total = max(float(near["used"].sum()), 1.0)
    for name in terms.orientations[1:]:
        here = near.filter(pl.col("orientation") == name)
        share = float(here["used"].sum()) / total
        if asked.orientation is not None:
            share = float(asked.orientation == name)
        found[terms.index(f"orientation {name}")] = share
    return found


def _hole(
    model: DrillingModel, terms: np.ndarray, depth_mm: float, asked: Asked
) -> Hole:
    """Return the hole, its bit worn as often as they are, and where that is not said
    on walls, floors and soffits as often as logged."""
    worn = model.terms.index("bit worn")
    mixed: list[Mixture] = [((worn, float(terms[worn])),)]
    if asked.orientation is None:
        places = [
            model.terms.index(f"orientation {name}")
            for name in model.terms.orientations[1:]
        ]
        mixed.append(tuple((place, float(terms[place])) for place in places))
    return Hole(terms, depth_mm, tuple(mixture for mixture in mixed if mixture))


def read_bands(data: DrillingData, offered: Offered) -> Bands:
    """Return the model's band of each size and method over the depths it was drilled.

    Only steps of 5 mm with FEWEST timed holes; empty without a model.
    """
    model = data.model
    if model is None:
        return {}
    diameters = dict(
        offered.settings.select("anchor_size", "drill_diameter_mm").iter_rows()
    )
    found: dict[tuple[str, str], Band] = {}
    by = ["anchor_size", "drill_method"]
    for (size, method), here in data.depths.partition_by(by, as_dict=True).items():
        steps = here.group_by("depth_from_mm").agg(pl.col("used").sum())
        held = steps.filter(pl.col("used") >= FEWEST)["depth_from_mm"]
        if held.len() < 2 or method not in model.terms.methods:
            continue
        depths = np.linspace(float(held.to_numpy().min()), held.to_numpy().max() + 5, 9)
        asked = Asked(str(size), 0.0, str(method))
        terms = _terms(model, asked, str(method), 1.0, diameters[str(size)], here)
        found[str(size), str(method)] = band(model, terms, depths)
    return found
