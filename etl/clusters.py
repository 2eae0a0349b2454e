"""Does a crew's torque or depth cluster where another unit would put it?

Logged values scatter around what is required: their ratio to it lies around 1. Typed in
another unit they lie around a known factor instead. The rule asks only where at least
20 values are there, at least half of them lie at the factor, and more do than at 1.

False alarms: whatever its spread, a normal scatter around 1 puts at most 5.4 % of its
values within 4 % of 0.7376, and at most 7.4 % within 4 % of 1.3558 (the worst spread is
the distance itself). Ten of 20 then come by luck less than once in a million times;
more values make it rarer. A crew that truly sets at three quarters, with a spread of
8 %, has 37 % there: seldom half. The rule misses a mixture where under half are typed
wrongly. Figures: tests/etl/test_questions.py.

Five times off or more no scatter reaches: there three values are asked about, whatever
the others are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import duckdb

from etl.site_map import SiteMap
from etl.units import FACTORS
from queries.readers.unit_questions import UNITS_ASKED

FEWEST: Final = 20
SHARE: Final = 0.5
FAR: Final = 5.0
FEWEST_FAR: Final = 3
CREWS_NAMED: Final = 8


@dataclass(frozen=True)
class Counts:
    """One crew's ratios: how many, how many at 1, how many in each cluster."""

    total: int
    at_one: int
    near: tuple[int, ...]

    def __add__(self, other: "Counts") -> "Counts":
        near = tuple(a + b for a, b in zip(self.near, other.near, strict=True))
        return Counts(self.total + other.total, self.at_one + other.at_one, near)


@dataclass(frozen=True)
class Cluster:
    """The ratio at which values lie that were typed in one unit as if in another."""

    ratio: float
    typed: str
    taken: str

    @property
    def is_far(self) -> bool:
        """Say whether no scatter around 1 comes near it."""
        return not 1 / FAR < self.ratio < FAR


@dataclass(frozen=True)
class Probe:
    """A logged column to compare with the same column of the setting data."""

    column: str
    plural: str
    singular: str
    tolerance: float
    clusters: tuple[Cluster, ...]

    def ratio_sql(self) -> str:
        """Return the ratio of logged to required, as column <column>_ratio."""
        return f"logged.{self.column} / required.{self.column} as {self.column}_ratio"

    def counts_sql(self) -> list[str]:
        """Return the counts of a Counts, in its order."""
        ratio, room = f"{self.column}_ratio", self.tolerance
        centres = (1.0, *(cluster.ratio for cluster in self.clusters))
        return [
            f"count({ratio})",
            *(
                f"count(*) filter (where {ratio} between {centre * (1 - room)!r} "
                f"and {centre * (1 + room)!r})"
                for centre in centres
            ),
        ]


_FOOT_POUND: Final = FACTORS["ft·lbf"][1]
_KILOGRAM_METRE: Final = (FACTORS["kgf·m"][1] * FACTORS["daN·m"][1]) ** 0.5
_LENGTHS: Final = (
    Cluster(1 / FACTORS["cm"][1], "cm", "mm"),
    Cluster(FACTORS["cm"][1], "mm", "cm"),
    Cluster(1 / FACTORS["in"][1], "in", "mm"),
    Cluster(FACTORS["in"][1], "mm", "in"),
)
# Holes are drilled deeper than required by as much as the driller likes, so lengths are
# given more room; nothing but a unit is a factor of ten.
PROBES: Final = (
    Probe(
        "setting_torque_nm",
        "setting torques",
        "setting torque",
        0.04,
        (
            Cluster(1 / _FOOT_POUND, "ft·lbf", "Nm"),
            Cluster(_FOOT_POUND, "Nm", "ft·lbf"),
            # The two lie within the room of both.
            Cluster(1 / _KILOGRAM_METRE, "kgf·m or daN·m", "Nm"),
            Cluster(_KILOGRAM_METRE, "Nm", "kgf·m or daN·m"),
        ),
    ),
    Probe("hole_depth_mm", "hole depths", "required depth", 0.25, _LENGTHS),
    Probe("anchor_length_mm", "anchor lengths", "specified length", 0.25, _LENGTHS),
)


def mapped_probes(site_map: SiteMap) -> list[Probe]:
    """Return the probes of the columns that a site logs."""
    names = {found.column.name for found in site_map.columns}
    return [probe for probe in PROBES if probe.column in names]


def count_ratios(
    con: duckdb.DuckDBPyConnection, probes: Sequence[Probe], source_file_id: int
) -> dict[str, list[Counts]]:
    """Count, per crew, a file's ratios of each probe: all, at one, in each cluster."""
    counts = [term for probe in probes for term in probe.counts_sql()]
    ratios = [probe.ratio_sql() for probe in probes]
    rows = con.execute(
        f"""
        select crew_code, {", ".join(counts)}
        from (
            select logged.crew_code, {", ".join(ratios)}
            from installation as logged
            inner join setting_data as required
                on logged.setting_code = required.setting_code
            where logged.source_file_id = $source_file_id
        )
        group by crew_code
        order by crew_code
        """,
        {"source_file_id": source_file_id},
    ).fetchall()
    by_crew: dict[str, list[Counts]] = {}
    for crew_code, *numbers in rows:
        by_crew[crew_code] = []
        for probe in probes:
            width = 2 + len(probe.clusters)
            (total, at_one, *near), numbers = numbers[:width], numbers[width:]
            by_crew[crew_code].append(Counts(total, at_one, tuple(near)))
    return by_crew


def is_cluster(total: int, at_one: int, near: int, *, is_far: bool = False) -> bool:
    """Say whether a cluster is worth a question; see the head of this file."""
    if is_far:
        return near >= FEWEST_FAR
    return total >= FEWEST and near >= SHARE * total and near > at_one


def unit_questions(
    by_crew: dict[str, list[Counts]], probes: Sequence[Probe]
) -> dict[str, list[str]]:
    """Return the questions by column: for the file, or those of its crews that do so.

    Columns without one are left out.
    """
    asked: dict[str, list[str]] = {}
    for position, probe in enumerate(probes):
        counts = {crew: found[position] for crew, found in by_crew.items()}
        for place, cluster in enumerate(probe.clusters):
            if said := _questions(counts, place, probe, cluster):
                asked.setdefault(probe.column, []).extend(said)
    return asked


def _questions(
    by_crew: dict[str, Counts], place: int, probe: Probe, cluster: Cluster
) -> list[str]:
    def is_found(counts: Counts) -> bool:
        near = counts.near[place]
        return is_cluster(counts.total, counts.at_one, near, is_far=cluster.is_far)

    def words(counts: Counts, whose: str) -> str:
        times = "of" if cluster.ratio < 1 else "times"
        ratio = f"{round(cluster.ratio, 2):g} {times} the {probe.singular}"
        return (
            f"{counts.near[place]} of {counts.total} {probe.plural}{whose} lie at "
            f"{ratio}, as if {cluster.typed} had been typed as {cluster.taken}: "
            f"{UNITS_ASKED}"
        )

    total = sum(by_crew.values(), Counts(0, 0, (0,) * len(probe.clusters)))
    found = [crew for crew, counts in by_crew.items() if is_found(counts)]
    others = [
        crew
        for crew, counts in by_crew.items()
        if (counts.total >= FEWEST or cluster.is_far) and crew not in found
    ]
    if is_found(total) and not (found and others):
        return [words(total, "")]
    named = [words(by_crew[crew], f" of crew {crew}") for crew in found[:CREWS_NAMED]]
    if len(found) > CREWS_NAMED:
        named.append(f"the same of {len(found) - CREWS_NAMED} further crews")
    return named
