"""A header of a file in a canonical column."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from etl.draft.looks import Looks
from etl.draft.said import Said
from etl.draft.specified import NOTHING_TOLD, Specified
from etl.site_map import Piece
from queries.columns import Column

MAY_MEAN = "the header may mean something else"


@dataclass(frozen=True)
class WeekOf:
    """What names the week of a weekday: its `texts` say the first day or the last."""

    way: str
    header: str
    texts: tuple[str, ...]


@dataclass(frozen=True)
class Placed:
    """A header in a canonical column. `said` holds the unit to read it in.

    `unit_choices` are the units it may be in, where that is a question. `piece` says
    which value of a cell it is, `marks` what stands beside its figures, `told` what the
    setting data tell of these, `week` what names the week, of a header of weekdays.
    """

    column: Column
    header: str
    looks: Looks
    said: Said[str | None]
    unit_choices: tuple[str, ...] = ()
    piece: Piece | None = None
    marks: tuple[str, ...] = ()
    ticked: Mapping[str, str] = field(default_factory=dict)
    unit_header: str | None = None
    told: Specified = NOTHING_TOLD
    week: WeekOf | None = None
