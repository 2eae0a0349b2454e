"""What decides a hole's time, as terms of a linear model, and their sums by cell."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.statistics.mixed_model import Floats, Groups

# What the logarithms are taken of: a hole 100 mm deep, a bit of 12 mm, 30 MPa.
DEPTH_MM, DIAMETER_MM, STRENGTH_MPA = 100.0, 12.0, 30.0
# Terms that vary within a cell, by the letter drilling_cell.sql sums them under.
VARYING = {"depth": "z", "bit metres": "w", "strength": "c"}
FLAGS = {
    "bit metres unknown": "is_bit_unknown",
    "strength unknown": "is_strength_unknown",
    "bit worn": "is_worn",
    "through rebar": "is_through_rebar",
    "abandoned": "is_abandoned",
}
KEYS = (
    "site_code",
    "crew_code",
    "drill_diameter_mm",
    "drill_method",
    "orientation",
    *FLAGS.values(),
)
SUMS = (
    "n",
    *(f"sum_{letter}" for letter in "zwcy"),
    *(f"sum_{one}{two}" for one, two in ("zz", "zw", "zc", "zy", "ww", "wc", "wy")),
    *(f"sum_{one}{two}" for one, two in ("cc", "cy", "yy")),
    "sum_v",
)


@dataclass(frozen=True)
class Terms:
    """The terms of a store, in order: those of every store, then its own words.

    `methods` and `orientations`: the first is the reference, the others have a term.
    """

    methods: tuple[str, ...]
    orientations: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the terms, the intercept first."""
        return (
            *("intercept", "depth", "diameter", "bit metres", "strength"),
            *FLAGS,
            *(f"method {name}" for name in self.methods[1:]),
            *(f"orientation {name}" for name in self.orientations[1:]),
        )

    def row(self, **values: float) -> Floats:
        """Return one row of terms; names with "_" for blanks, all others 0.

        The intercept is 1. depth and diameter are logarithms of mm over DEPTH_MM and
        DIAMETER_MM.
        """
        names = self.names
        found = np.zeros(len(names))
        found[0] = 1.0
        for name, value in values.items():
            found[names.index(name.replace("_", " "))] = value
        return found

    def index(self, name: str) -> int:
        """Return where a term stands."""
        return self.names.index(name)


def terms_of(cells: pl.DataFrame) -> Terms:
    """Return the terms of cells: methods and orientations, the commonest first."""
    return Terms(_levels(cells, "drill_method"), _levels(cells, "orientation"))


def _levels(cells: pl.DataFrame, name: str) -> tuple[str, ...]:
    counted = cells.group_by(name).agg(pl.col("n").sum())
    return tuple(counted.sort("n", name, descending=[True, False])[name])


def constant_part(cells: pl.DataFrame, terms: Terms) -> Floats:
    """Return the terms of each cell that do not vary in it; 0 for those that do."""
    names = terms.names
    found = np.zeros((cells.height, len(names)))
    found[:, 0] = 1.0
    found[:, 2] = np.log(cells["drill_diameter_mm"].to_numpy() / DIAMETER_MM)
    for at, name in enumerate(names):
        if name in FLAGS:
            found[:, at] = cells[FLAGS[name]].cast(pl.Float64).to_numpy()
        elif name.startswith("method "):
            found[:, at] = (cells["drill_method"] == name[7:]).to_numpy()
        elif name.startswith("orientation "):
            found[:, at] = (cells["orientation"] == name[12:]).to_numpy()
    return found


def mean_terms(cells: pl.DataFrame, terms: Terms) -> Floats:
    """Return the mean terms of the holes of cells."""
    n = cells["n"].cast(pl.Float64).to_numpy()
    mean = (n @ constant_part(cells, terms)) / n.sum()
    for name, letter in VARYING.items():
        mean[terms.index(name)] = float(cells[f"sum_{letter}"].sum()) / n.sum()
    return np.asarray(mean)


@dataclass(frozen=True)
class Labels:
    """Which site (code) and crew (site code, crew code) the numbers stand for."""

    sites: tuple[str, ...]
    crews: tuple[tuple[str, str], ...]


def labels_of(cells: pl.DataFrame) -> Labels:
    """Return sites and crews of cells, sorted; a crew on two sites is two."""
    crews = cells.select("site_code", "crew_code").unique().sort(pl.all())
    return Labels(
        tuple(cells["site_code"].unique().sort()),
        tuple((site, crew) for site, crew in crews.iter_rows()),
    )


def crew_numbers(cells: pl.DataFrame, labels: Labels) -> NDArray[np.int64]:
    """Return the number of each cell's crew."""
    numbers = pl.DataFrame(
        [(*crew, number) for number, crew in enumerate(labels.crews)],
        schema={"site_code": pl.String, "crew_code": pl.String, "crew": pl.Int64},
        orient="row",
    )
    joined = cells.select("site_code", "crew_code").join(
        numbers, on=["site_code", "crew_code"], how="left", maintain_order="left"
    )
    return joined["crew"].to_numpy()


def groups_of_cells(cells: pl.DataFrame, terms: Terms, labels: Labels) -> Groups:
    """Return the sums within crews of cells (drilling_cell.sql), for fit_mixed.

    Terms are centred at their means afterwards, which loses no digits: the cells' sums
    are of logarithms about a middling hole already.
    """
    merged = cells.group_by(KEYS, maintain_order=True).agg(pl.col(SUMS).sum())
    crew = crew_numbers(merged, labels)
    constant = constant_part(merged, terms)
    n = merged["n"].cast(pl.Float64).to_numpy()
    k = constant.shape[1] + 1
    letters: dict[int, str] = {terms.index(x): letter for x, letter in VARYING.items()}
    letters[k - 1] = "y"
    sums, cross = np.zeros((len(labels.crews), k)), np.zeros((len(labels.crews), k, k))

    def column(name: str) -> Floats:
        return merged[name].cast(pl.Float64).to_numpy()

    for i in range(k):
        first = column(f"sum_{letters[i]}") if i in letters else n * constant[:, i]
        sums[:, i] = np.bincount(crew, first, len(labels.crews))
        for j in range(i, k):
            if i in letters and j in letters:
                product = column("sum_" + _pair(letters[i], letters[j]))
            elif i in letters:
                product = first * constant[:, j]
            elif j in letters:
                product = column(f"sum_{letters[j]}") * constant[:, i]
            else:
                product = first * constant[:, j]
            cross[:, i, j] = cross[:, j, i] = np.bincount(
                crew, product, len(labels.crews)
            )
    site_at = {code: number for number, code in enumerate(labels.sites)}
    site = np.asarray([site_at[code] for code, _ in labels.crews], dtype=np.int64)
    return _centred(sums, cross, site)


def _pair(one: str, two: str) -> str:
    order = "zwcy"
    return "".join(sorted((one, two), key=order.index))


def _centred(sums: Floats, cross: Floats, site: NDArray[np.int64]) -> Groups:
    rows = cross[:, 0, 0]
    centre = sums.sum(axis=0) / rows.sum()
    centre[0] = 0.0
    moved = sums - rows[:, None] * centre
    cross = (
        cross
        - sums[:, :, None] * centre[None, None, :]
        - centre[None, :, None] * sums[:, None, :]
        + rows[:, None, None] * np.outer(centre, centre)
    )
    return Groups(moved, cross, site, centre)


@dataclass(frozen=True)
class Residuals:
    """Residuals of log seconds by cell: `n` holes, their mean, variance within it.

    `mean` is about the fixed part and the effects given.
    """

    n: Floats
    mean: Floats
    var: Floats


def residuals_of(
    cells: pl.DataFrame, terms: Terms, beta: Floats, base: Floats
) -> Residuals:
    """Return the residuals of cells: y less terms @ beta less `base` (a cell).

    Exact: the cells' sums hold mean and variance of any linear part.
    """
    n = cells["n"].cast(pl.Float64).to_numpy()
    weights: Mapping[str, float] = {
        "y": 1.0,
        **{letter: -float(beta[terms.index(x)]) for x, letter in VARYING.items()},
    }
    mean = sum_of(cells, [(letter, weight) for letter, weight in weights.items()]) / n
    square = np.zeros(cells.height)
    for one, a in weights.items():
        for two, b in weights.items():
            square += a * b * cells[f"sum_{_pair(one, two)}"].to_numpy()
    var = np.maximum(square / n - mean**2, 0.0)
    return Residuals(n, mean - constant_part(cells, terms) @ beta - base, var)


def depth_products(
    cells: pl.DataFrame, terms: Terms, beta: Floats, base: Floats
) -> Floats:
    """Return each cell's sum of residual (`residuals_of`) times depth term; exact."""
    found = cells["sum_zy"].to_numpy() - cells["sum_z"].to_numpy() * (
        constant_part(cells, terms) @ beta + base
    )
    for name, letter in VARYING.items():
        weight = float(beta[terms.index(name)])
        found = found - weight * cells[f"sum_{_pair('z', letter)}"].to_numpy()
    return np.asarray(found)


def sum_of(cells: pl.DataFrame, weights: Sequence[tuple[str, float]]) -> Floats:
    """Return a weighted sum of the cells' sums of single letters."""
    found = np.zeros(cells.height)
    for letter, weight in weights:
        found += weight * cells[f"sum_{letter}"].to_numpy()
    return found
