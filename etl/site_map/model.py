"""What a valid site map says."""

from dataclasses import dataclass, field
from datetime import date, time
from fnmatch import fnmatch
from pathlib import Path

from etl.site_map.directives import is_day_first
from etl.site_map.names import plain_pattern
from etl.site_map.years import YearFrom
from queries.columns import Column

# Names of the IANA register of character sets, which Python knows them by, too.
ENCODINGS = (
    *("utf-8", "utf-16", "latin-1", "windows-1252", "windows-1250", "iso-8859-2"),
    *("windows-1251", "windows-1253", "windows-1254", "windows-1257", "ibm850"),
    "macintosh",
)


@dataclass(frozen=True)
class Piece:
    """Which value of a cell is read that holds `count` of them, parted by `sign`.

    `place` counts from 1.
    """

    sign: str
    place: int
    count: int


@dataclass(frozen=True)
class MappedColumn:
    """Where a canonical column stands in a site's file.

    `header` names it: of `parts`, whose cells make one text or answer, all; `always` is
    what holds for every row of a file that does not say it.
    `factor` turns the site's unit into ours. `fill_down` repeats a value until the
    next one: for merged cells, which hold it in their first row only. `within` are
    the headers of what a record's number counts within, as a day and a crew, where it
    begins again in the next. `piece` says which value of a cell is meant, where it
    holds several, as 90/93. `marks` may stand beside a figure and are not read, as in
    58 i.O. `ticked`: what each of the `parts` is called, where its text is the name of
    the one that is ticked. `week`: "from" or "to", where the `parts` are a week's first
    or last day and the weekday.
    """

    column: Column
    header: str
    unit: str | None
    factor: float
    fill_down: bool
    within: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    always: str | None = None
    piece: Piece | None = None
    marks: tuple[str, ...] = ()
    ticked: tuple[str, ...] = ()
    week: str = ""

    @property
    def is_answers(self) -> bool:
        """Whether the cells of its `parts` each say yes or no."""
        return self.column.kind == "yes_no" and bool(self.parts) and not self.ticked

    @property
    def own_headers(self) -> tuple[str, ...]:
        """The headers of the cells that hold its value; none where it is `always`."""
        return () if self.always is not None else self.parts or (self.header,)

    @property
    def headers(self) -> tuple[str, ...]:
        """All headers that the column is read from."""
        return (*self.within, *self.own_headers)


@dataclass(frozen=True)
class Beside:
    """Which of a row's anchors is read: its place, counted from 1.

    `headers` are those of what is logged of each of them, by place, `beyond` those
    that one more would have: where they stand, the map names too few.
    """

    place: int
    headers: tuple[tuple[str, ...], ...]
    beyond: tuple[str, ...]


@dataclass(frozen=True)
class ListedValues:
    """Where a log has its values that lists them, one a row, below one another.

    Rows that are alike under the headers `anchor` are of one anchor; `fill_down` where
    it is only named in its first row. Under the header `name` stands what a value is,
    under `value` the value, under `unit` its unit. In JSON these may be those of the
    objects of a list, "answers.question".
    """

    anchor: tuple[str, ...]
    name: str
    value: str
    unit: str | None
    fill_down: bool

    @property
    def headers(self) -> tuple[str, ...]:
        """All headers that a listed value is known by."""
        return (*self.anchor, *self.of_value)

    @property
    def of_value(self) -> tuple[str, ...]:
        """The headers of name, value and unit."""
        unit = () if self.unit is None else (self.unit,)
        return (self.name, self.value, *unit)

    @property
    def within(self) -> str:
        """The name of the list in a JSON record that holds the values; "": none."""
        lists = {header.rpartition(".")[0] for header in self.of_value}
        return lists.pop() if len(lists) == 1 else ""


@dataclass(frozen=True)
class Site:
    """A site, the code in capitals."""

    code: str
    name: str
    time_zone: str


@dataclass(frozen=True)
class SitesWithin:
    """The sites of a log that holds several: the column `header` says which.

    `words` are what may stand there, each with the code of its site. `fill_down` as of
    a MappedColumn.
    """

    header: str
    fill_down: bool
    sites: tuple[Site, ...]
    words: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SiteMap:
    """One site's map. `codes` holds, per column, the site's words in lower case.

    Of a log of several sites, `sites` says which of them a row is of; `site_code` and
    `site_name` are blank there, but of a map for the rows of one of them, for one load
    (etl/sites.py).

    `sheet` names the one sheet of a workbook, None the first; `sheets` are the names
    or patterns where several are taken, of a map for one of them too
    (etl/file_parts.py); `not_sheets` those of sheets that are no logs, even
    where a pattern takes them.
    `titles` name what stands above the column names for all rows of a file, `told` is
    what the file's and the sheet's name say so, by name: set for one file at a time.
    `said_once` are the names of both where a file of corrections has them as columns.
    `anchors` tell several anchors of a row apart, by what stands for {anchor} in the
    headers, `anchor_count` is the header of how many a row has; of a map for one of
    them `beside` says which (etl/site_map/beside.py).
    `sideways`: the names stand below one another and an anchor is a column; what is
    said of rows is meant of columns then.
    `listed`: a row holds one value, and what is named there is a column
    (etl/staging/listed.py).
    `not_rows` are what rows begin with that are no installations, as a signature.
    `as_above` is what a cell holds that repeats the cell above it, as a ditto mark.
    `records` is the JSON Pointer of the list of records in a JSON object, "" where the
    object is the one record; None: its only list of objects.
    `valid_from` is the first day of this format, where the site had another before.
    `date_format` (strptime) and `day_first` exclude each other; with neither, dates
    are ISO 8601. `date_year` is that of dates without one. `night_until`: a row
    with an earlier time stands under the date of the evening before. `chosen_because`
    says why this map and no other was taken for a file, where there was a choice.
    """

    path: Path
    sha256: str
    site_code: str
    site_name: str
    time_zone: str
    match: str
    columns: tuple[MappedColumn, ...]
    codes: dict[str, dict[str, str]] = field(default_factory=dict)
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    header_rows: tuple[int, ...] = (1,)
    sideways: bool = False
    listed: ListedValues | None = None
    sheet: str | None = None
    sheets: tuple[str, ...] = ()
    not_sheets: tuple[str, ...] = ()
    titles: tuple[str, ...] = ()
    not_rows: tuple[str, ...] = ()
    as_above: tuple[str, ...] = ()
    records: str | None = None
    anchors: tuple[str, ...] = ()
    anchor_count: str | None = None
    beside: Beside | None = None
    told: tuple[tuple[str, str], ...] = ()
    said_once: tuple[str, ...] = ()
    valid_from: date | None = None
    date_format: str | None = None
    date_year: YearFrom | None = None
    day_first: bool | None = None
    night_until: time | None = None
    chosen_because: str | None = None
    sites: SitesWithin | None = None

    @property
    def whose(self) -> str:
        """Its site in words, by its code, or that it is of several."""
        if self.sites is not None and not self.site_code:
            return "several sites"
        return f"the site {self.site_code}"

    @property
    def all_sites(self) -> tuple[Site, ...]:
        """Its site, or all of them."""
        if self.sites is not None:
            return self.sites.sites
        return (Site(self.site_code, self.site_name, self.time_zone),)

    @property
    def header_row(self) -> int:
        """The last row of the header; data begin in the next."""
        return self.header_rows[-1]

    @property
    def filled_headers(self) -> tuple[str, ...]:
        """The headers of merged cells, each once."""
        filled = [
            header
            for found in self.columns
            if found.fill_down
            for header in found.parts or (found.header,)
        ]
        if self.sites is not None and self.sites.fill_down:
            filled.append(self.sites.header)
        return tuple(dict.fromkeys(filled))

    @property
    def has_day_first(self) -> bool:
        """Whether of two figures of a date the first is the day, or it is not said."""
        if self.date_format is None:
            return self.day_first is not False
        return is_day_first(self.date_format)

    @property
    def headers_read(self) -> dict[str, str]:
        """What each header that holds a row's values is read for, each once."""
        taken = {
            header: found.column.name
            for found in self.columns
            for header in found.headers
        }
        # What a record's number counts within is mostly a column of its own: said once.
        taken |= {
            header: found.column.name
            for found in self.columns
            for header in found.own_headers
        }
        count = {self.anchor_count: "anchor_count"} if self.anchor_count else {}
        site = {self.sites.header: "site"} if self.sites else {}
        return site | taken | count

    @property
    def counts_within(self) -> tuple[str, ...]:
        """The headers of what the records' numbers count within."""
        named = {found.column.name: found.within for found in self.columns}
        return named.get("record_id", ())

    def fits(self, path: Path) -> bool:
        """Say whether this map is one for a file, by the file's name."""
        return fnmatch(path.name, plain_pattern(self.match))
