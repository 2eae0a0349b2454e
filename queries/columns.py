"""The canonical columns of an installation: the only list of them.

Units are the last word of a name: `_mm`, `_mpa`, `_s`, `_deg`, and `_nm`, which
means newton metre everywhere in firmset (never nanometre).
"""

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "text", "code", "number", "integer", "yes_no", "choice", "date", "time", "instant"
]


@dataclass(frozen=True)
class Column:
    """One canonical column: how a cell of it is read.

    `unit` is the canonical unit of a number. `choices` are the words a `choice`
    may take. `is_clearable` marks distances for which "clear" (nothing near) is an
    entry; it is stored as infinity, so that every comparison with a limit holds.
    """

    name: str
    kind: Kind
    unit: str | None = None
    choices: tuple[str, ...] = ()
    is_clearable: bool = False


def _number(name: str, unit: str, *, is_clearable: bool = False) -> Column:
    return Column(name, "number", unit, is_clearable=is_clearable)


# Order is part of the contract: a row's field_fault_mask numbers columns by it.
LOGGED_COLUMNS: tuple[Column, ...] = (
    Column("record_id", "text"),
    Column("revision", "integer"),
    Column("installed_at", "instant"),
    Column("installed_on", "date"),
    Column("crew_code", "code"),
    Column("setting_code", "code"),
    Column("installer_code", "code"),
    Column("inspector_code", "code"),
    Column("work_area", "text"),
    Column("orientation", "choice", choices=("floor", "wall", "soffit")),
    Column("outcome", "choice", choices=("set", "abandoned", "replaced")),
    Column("anchor_type_code", "code"),
    _number("anchor_length_mm", "mm"),
    Column("length_mark", "code"),
    Column("base_material", "code"),
    _number("concrete_mpa", "MPa"),
    _number("member_thickness_mm", "mm"),
    Column("drill_method", "choice", choices=("hammer", "hollow_bit", "core")),
    Column("extraction_on", "yes_no"),
    Column("bit_code", "code"),
    _number("bit_diameter_mm", "mm"),
    Column("bit_worn", "yes_no"),
    _number("hole_depth_mm", "mm"),
    _number("tilt_deg", "deg"),
    Column("rebar_hit", "yes_no"),
    Column("brush_count", "integer"),
    Column("blow_count", "integer"),
    Column("vacuumed", "yes_no"),
    Column("cleaned", "yes_no"),
    _number("fixture_thickness_mm", "mm"),
    _number("packing_mm", "mm"),
    _number("projection_mm", "mm"),
    _number("embedment_mm", "mm"),
    _number("edge_1_mm", "mm", is_clearable=True),
    _number("edge_2_mm", "mm", is_clearable=True),
    _number("spacing_mm", "mm", is_clearable=True),
    _number("setting_torque_nm", "Nm"),
    _number("recheck_torque_nm", "Nm"),
    Column("recheck_at", "instant"),
    Column("wrench_code", "code"),
    _number("drill_s", "s"),
    _number("cleaning_s", "s"),
    _number("setting_s", "s"),
    Column("note", "text"),
)

# A site may log date and time of day apart; the time only helps to build the instant.
INSTALLED_TIME = Column("installed_time", "time")

COLUMN_BY_NAME = {column.name: column for column in LOGGED_COLUMNS} | {
    INSTALLED_TIME.name: INSTALLED_TIME
}
LOGGED_NAMES = tuple(column.name for column in LOGGED_COLUMNS)


def spoken_name(name: str) -> str:
    """Return a column's name in words, its unit left off: "hole depth"."""
    for ending in ("_mm", "_nm", "_mpa", "_deg", "_code"):
        name = name.removesuffix(ending)
    return name.replace("_", " ")
