"""What a draft found in a file, and what it lacks."""

from dataclasses import dataclass, field
from pathlib import Path

from etl.draft.codes import Codes, Part
from etl.draft.dates import DateStyle
from etl.draft.header import Header
from etl.draft.placed import Placed
from etl.draft.said import Said
from etl.draft.sample import Kind
from etl.draft.sites import SitesFound, code_of, code_of_file
from etl.site_map import NEEDED


@dataclass(frozen=True)
class Draft:
    """All that was found in a file. What concerns another kind of file is None.

    `together`: columns that may, only together, be the setting code. `sites`: what
    says whose a row is, where the file seems to be of several sites; `site`: what names
    the one site of all rows, and the name. `sheets`: those of a workbook that only a
    list takes, where `sheet` is the one that was looked at.
    """

    path: Path
    kind: Kind
    match: str
    encoding: Said[str] | None
    delimiter: Said[str] | None
    decimal: Said[str]
    sheet: Said[str] | None
    header: Header
    placed: tuple[Placed, ...]
    codes: dict[str, Codes]
    fill_down: dict[str, Said[bool]]
    within: Said[tuple[str, ...]] | None
    dates: DateStyle
    together: tuple[Part, ...] = ()
    sites: SitesFound | None = None
    site: tuple[str, str] | None = None
    records: Said[str] | None = None
    sheets: tuple[str, ...] = ()
    remarks: tuple[str, ...] = field(default=())

    @property
    def sheet_taken(self) -> Said[str | list[str]] | None:
        """Return what the map says of the sheet: a name, a pattern or a list."""
        if self.sheet is None:
            return None
        taken = [*self.sheets] or self.sheet.value
        return Said(taken, self.sheet.sureness, self.sheet.reason)

    @property
    def site_code(self) -> tuple[str, str]:
        """Return a code for the one site of all rows, and what it is a guess from."""
        if self.site is not None:
            title, name = self.site
            return code_of(name), repr(title)
        return code_of_file(self.path.name.partition(".")[0]), "the file's name"

    @property
    def active(self) -> tuple[Placed, ...]:
        """Return the columns that the map takes without being asked."""
        return tuple(one for one in self.placed if one.said.is_active)

    @property
    def not_found(self) -> tuple[str, ...]:
        """Return the needed columns that no header was taken for."""
        names = {one.column.name for one in self.active}
        missing = [name for name in NEEDED if name not in names]
        if not names & {"installed_on", "installed_at"}:
            missing.append("installed_on or installed_at")
        return tuple(missing)

    @property
    def only_guessed(self) -> tuple[str, ...]:
        """Return those of `not_found` that a header may be, which has to be asked."""
        guessed = {one.column.name for one in self.placed}
        return tuple(name for name in self.not_found if name in guessed)

    @property
    def unplaced(self) -> tuple[str, ...]:
        """Return the headers that no column was found for."""
        taken = {one.header for one in self.placed}
        taken |= {name for one in self.placed for name in one.ticked.values()}
        taken |= {one.unit_header or "" for one in self.placed}
        taken |= {one.week.header for one in self.placed if one.week}
        taken |= {*self.within.value} if self.within is not None else set()
        if self.header.listed is not None:
            taken |= {*self.header.listed.value.headers}
        if self.sites is not None:
            taken |= {self.sites.header, self.sites.named_by or ""}
        return tuple(
            name
            for place, name in enumerate(self.header.names)
            if place not in self.header.pieces and name not in taken
        )
