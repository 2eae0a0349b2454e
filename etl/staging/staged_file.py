"""The contract between the readers of files and everything after them."""

import json
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

# What a footer's first cell begins with, in the languages our sites write. Common
# practice, no source. A row is called a footer only where it has no usable identity.
TOTAL_WORDS = (
    "(grand |sub-?)?totals?|sum|total général|sous-total|somme|summe|gesamt|"
    "gesamtsumme|zwischensumme|suma|total general|subtotal|totaal|eindtotaal|som|"
    "totale|subtotale|somma|soma|summa|sammanlagt|i alt|yhteensä|razem|celkem|"
    "spolu|összesen|toplam|ukupno|skupaj|итого|всего|σύνολο|"
    "(day|daily|week|weekly|shift|page) totals?|tagessumme|wochensumme|dagtotaal|"
    "weektotaal|übertrag|carried forward|brought forward|à reporter|"
    "suma y sigue|suma anterior|riporto|a transportar|transporte"
)
TOTAL_PATTERN = rf"^({TOTAL_WORDS})($|[^\p{{L}}])"


@dataclass(frozen=True)
class StagedFile:
    """What staged_row holds: column c1 is the first header, and so on; is_blank_row.

    `first_row` is the number, in the file, of the row with rowid 0, counted from 1.
    A file whose rows are not one a line has `has_own_rows`: then staged_row also has
    file_row (the row's number), line_fault (why the row is not of the file's shape,
    or NULL) and line (its text; NULL where the cells say it all).
    `part` says which part of the file it is, where it is one of several: " [May]";
    `sha256` is that of the file's bytes.
    `header_cells` are the header's rows as they stood, the texts trimmed; `title_rows`
    are the rows above them, of a log on its side all rows before it was turned. `told`
    are the last of the headers, with the text that a title or the file's name gives for
    every row, `title_places` the rowids of the titles between the rows
    (etl/staging/told.py), `title_words` what is to be said of rows that look like one.
    `listed_words` say what was gathered of a log that lists its values
    (etl/staging/listed.py), `as_above_words` which cells repeat the one above
    (etl/staging/as_above.py), `struck_words` which rows of a workbook are struck out.
    Of a log of several sites `site_place` says which of them is meant, from 1, 0 for
    the rows that name none: staged_row then also has site_cell and site_place
    (etl/sites.py).
    `codes_as_stored` names canonical columns each of whose cells is blank (NULL) or the
    code that is stored: nothing needs to be read from them (etl/codes.py finds them).
    """

    path: Path
    headers: tuple[str, ...]
    first_row: int
    has_own_rows: bool = False
    header_cells: tuple[tuple[str, ...], ...] = ()
    title_rows: tuple[tuple[str, ...], ...] = ()
    told: tuple[tuple[str, str], ...] = ()
    listed_words: tuple[str, ...] = ()
    as_above_words: tuple[str, ...] = ()
    title_places: tuple[int, ...] = ()
    title_words: tuple[str, ...] = ()
    struck_words: tuple[str, ...] = ()
    part: str = ""
    sha256: str = ""
    site_place: int | None = None
    codes_as_stored: frozenset[str] = frozenset()

    def cell_sql(self, header: str) -> str:
        """Return the SQL column of a header."""
        return f"c{self.headers.index(header) + 1}"

    @property
    def row_sql(self) -> str:
        """Return the number, in the file, of a row of staged_row."""
        if self.has_own_rows:
            return "staged_row.file_row"
        return f"(staged_row.rowid + {self.first_row})"

    @property
    def is_elsewhere_sql(self) -> str:
        """Return the condition that a row is of another site than is meant."""
        if self.site_place is None:
            return "false"
        return f"staged_row.site_place != {self.site_place}"

    @property
    def unreadable_line_sql(self) -> str:
        """Return the condition that a row is not one of the file's shape."""
        return "line_fault is not null" if self.has_own_rows else "false"

    @property
    def line_fault_sql(self) -> str:
        """Return, in words, why a row is not of the file's shape; NULL where it is."""
        return "staged_row.line_fault" if self.has_own_rows else "null::varchar"

    @property
    def is_repeated_header_sql(self) -> str:
        """Return the condition that a row repeats one of the header's rows.

        In other capitals, too: a form is often typed anew for each page.
        """
        rows = [
            " and ".join(
                f"lower(coalesce({trimmed_sql(f'staged_row.c{i + 1}')}, ''))"
                f" = lower($r{row}_{i})"
                for i in range(len(cells))
            )
            for row, cells in enumerate(self.header_cells)
        ]
        return " or ".join(f"({row})" for row in rows) or "false"

    @property
    def is_footer_sql(self) -> str:
        """Return the condition that a row's first cell is a word for a total."""
        return f"regexp_matches({self._first_cell_sql}, $total_pattern)"

    def begins_sql(self, words: str) -> str:
        """Return the condition that a row's first cell begins with one of $words."""
        begins = f"lambda word: starts_with({self._first_cell_sql}, word)"
        return f"len(list_filter(${words}::varchar[], {begins})) > 0"

    @property
    def is_title_sql(self) -> str:
        """Return the condition that a row holds titles, between rows of the table."""
        return (
            f"staged_row.rowid in ({', '.join(map(str, self.title_places)) or 'null'})"
        )

    @property
    def _first_cell_sql(self) -> str:
        cells = [f"nullif(trim(staged_row.c{i + 1}), '')" for i in range(self.width)]
        return f"lower(coalesce({', '.join(cells)}))"

    @property
    def width(self) -> int:
        """How many columns c1, c2, ... there are."""
        return len(self.headers)

    @property
    def shape_parameters(self) -> dict[str, object]:
        """Return the parameters of is_repeated_header_sql and is_footer_sql."""
        return self.header_parameters | self.footer_parameters

    @property
    def header_parameters(self) -> dict[str, object]:
        """Return the parameters of is_repeated_header_sql."""
        return {
            f"r{row}_{i}": cell
            for row, row_cells in enumerate(self.header_cells)
            for i, cell in enumerate(row_cells)
        }

    @property
    def footer_parameters(self) -> dict[str, object]:
        """Return the parameters of is_footer_sql."""
        return {"total_pattern": TOTAL_PATTERN}

    def filled_rows_sql(self, filled: Collection[str]) -> str:
        """Return staged_row with the cells of the headers `filled` also filled down.

        Those stand in columns of their own, f1 beside c1: a footer is known by a blank.
        """
        columns = [
            f"{filled_down_sql(self.cell_sql(header))} as "
            f"{self.filled_cell_sql(header, filled)}"
            for header in filled
        ]
        if not columns:
            return "staged_row"
        return f"(select rowid, *, {', '.join(columns)} from staged_row) as staged_row"

    def filled_cell_sql(self, header: str, filled: Collection[str]) -> str:
        """Return the column of filled_rows_sql with the cell of a header."""
        cell = self.cell_sql(header)
        return f"f{cell[1:]}" if header in filled else cell

    def raw_text_sql(self, filled: Collection[str]) -> str:
        """Return a row of filled_rows_sql: its line, or a JSON object by header.

        A merged cell's value is part of each of its rows, so that one can stand alone;
        so is what the file's name tells, of a line that is a JSON object.
        """
        cells = [
            f"struct_pack(h := $h{i}, c := {self.filled_cell_sql(header, filled)})"
            for i, header in enumerate(self.headers)
        ]
        by_header = (
            "to_json(map_from_entries(list_filter("
            f"[{', '.join(cells)}], lambda x: x.c is not null)))::varchar"
        )
        if not self.has_own_rows:
            return by_header
        line = "line"
        if self.told:
            # A line that is kept without a fault is an object, and not an empty one.
            line = (
                "case when line_fault is null "
                "then left(line, -1) || ', ' || substr($told_text, 2) else line end"
            )
        return f"coalesce({line}, {by_header})"

    @property
    def raw_text_parameters(self) -> dict[str, object]:
        """Return the parameters of raw_text_sql."""
        headers: dict[str, object] = {f"h{i}": h for i, h in enumerate(self.headers)}
        if self.has_own_rows and self.told:
            headers["told_text"] = json.dumps(dict(self.told), ensure_ascii=False)
        return headers


def filled_down_sql(cell: str) -> str:
    """Return a cell of staged_row, or where it is blank the last one above that is not.

    Spreadsheets keep a merged cell's value in its first row only. What stands in a row
    that is none of the table's (etl/staging/no_rows.py) is its own alone.
    """
    held = f"nullif(trim({cell}), '')"
    above = (
        f"last_value(if(is_no_row, null, {held}) ignore nulls) over "
        "(order by rowid rows between unbounded preceding and current row)"
    )
    return f"if(is_no_row, {held}, {above})"


def trimmed_sql(cell: str) -> str:
    """Return the SQL of a header's cell as `trimmed` has it."""
    return rf"regexp_replace(trim({cell}), '\s+', ' ', 'g')"


def trimmed(cell: str | None) -> str:
    """Return a header's cell on one line, without the spaces around it."""
    return " ".join((cell or "").split())


def joined_headers(rows: list[list[str]]) -> tuple[str, ...]:
    """Return the names of the columns under one or several header rows.

    Cells of a column are joined with a space. In all rows but the last a blank takes
    the text to its left: a merged cell holds it in its first column only.
    """
    width = max(len(row) for row in rows)
    padded = [[*map(trimmed, row), *[""] * (width - len(row))] for row in rows]
    for row in padded[:-1]:
        for i in range(1, width):
            row[i] = row[i] or row[i - 1]
    return unique_headers([" ".join(parts) for parts in zip(*padded, strict=True)])


def unique_headers(cells: list[str]) -> tuple[str, ...]:
    """Return headers as a site map names them: trimmed, a repeat as "name (2)"."""
    seen: dict[str, int] = {}
    headers = []
    for position, cell in enumerate(cells, start=1):
        name = trimmed(cell) or f"column {position}"
        seen[name] = seen.get(name, 0) + 1
        headers.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(headers)
