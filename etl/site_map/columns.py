"""The table [columns]: where each canonical column stands in the site's file."""

from collections.abc import Collection

from etl.site_map.faults import Faults, shown
from etl.site_map.marks import MARK_KEYS, read_marks
from etl.site_map.model import MappedColumn
from etl.site_map.pieces import PIECE_KEYS, read_piece
from etl.site_map.tables import LONGEST_NAME, Table, nearest, too_long
from etl.site_map.weeks import WEEK_KEYS, read_week
from etl.units import FACTORS, units_of
from queries.columns import COLUMN_BY_NAME, Column

# What every row needs, and a day or an instant.
NEEDED = ("record_id", "crew_code", "setting_code")
IDENTIFYING = (*NEEDED, "installed_on", "installed_at")

_KEYS = ("from", "unit", "fill_down", *PIECE_KEYS)
_RECORD_KEYS = ("from", "fill_down", "within")
_TEXTS = ("text", "code")
_FIGURES = ("number", "integer")
_TIMES = ("time", "instant")
_FIGURE_AND_UNIT = 2
# Yes where each of several headers says yes. Of the others one alone would do.
_ALL_YES = ("cleaned",)
# A column of these cannot read the names of two that are ticked: none is lost silently.
_TICKED = ("choice", "yes_no", "integer")


def read_columns(
    table: Table, translated: Collection[str], faults: Faults
) -> tuple[MappedColumn, ...]:
    """Return the mapped columns in the map's order; faults are added.

    `translated`: the names of the columns that have words under [codes].
    """
    mapped = tuple(
        found
        for name, value in table.values.items()
        if name in COLUMN_BY_NAME
        and (found := _mapped_column(COLUMN_BY_NAME[name], value, faults))
    )
    _check_needed(set(table.values), faults)
    _check_times(set(table.values), faults)
    _check_headers(mapped, translated, faults)
    return mapped


def _mapped_column(
    column: Column, value: object, faults: Faults
) -> MappedColumn | None:
    where = ("columns", column.name)
    spec = value if isinstance(value, dict) else {"from": value}
    keys = _keys(column)
    for key in spec.keys() - set(keys):
        faults.add(
            (*where, key),
            f"[columns] {column.name} has no key {shown(key)}, expected "
            f"{nearest(key, keys)}",
        )
    fill_down = spec.get("fill_down", False)
    if not isinstance(fill_down, bool):
        faults.add(
            (*where, "fill_down"),
            f"[columns] {column.name} fill_down = {shown(fill_down)}: expected true "
            "or false",
        )
    if "always" in spec and "always" in keys:
        return _unlogged(column, spec, faults)
    if "ticked" in spec and "ticked" in keys:
        return _ticked(column, spec, faults)
    if column.kind == "date" and spec.keys() & set(WEEK_KEYS):
        return read_week(column, spec, faults)
    headers = _headers(column, spec.get("from"))
    if not headers or (len(headers) > 1 and fill_down):
        faults.add(where, _expected_header(column, value, headers))
        return None
    unit = _unit(column, spec.get("unit", column.unit), faults)
    piece = read_piece(column.name, spec, len(headers), faults)
    return MappedColumn(
        column=column,
        header=" + ".join(headers),
        unit=unit,
        factor=FACTORS[unit][1] if unit else 1.0,
        fill_down=fill_down is True,
        within=_within(headers[0], spec, faults) if column.name == "record_id" else (),
        parts=headers if len(headers) > 1 else (),
        piece=piece,
        marks=read_marks(column.name, spec, faults),
    )


def _keys(column: Column) -> tuple[str, ...]:
    if column.name == "record_id":
        return _RECORD_KEYS
    keys = [*_KEYS]
    if column.kind in _FIGURES:
        keys += MARK_KEYS
    if column.kind in (*_TEXTS, "choice"):
        keys.append("always")
    if column.kind == "date":
        keys += WEEK_KEYS
    if column.kind in _TICKED or column.name == "setting_code":
        keys.append("ticked")
    return tuple(keys)


def _headers(column: Column, given: object) -> tuple[str, ...]:
    """Return the header, or those of a text, of a figure and its unit, or of answers.

    None where they are something else.
    """
    takes_several = column.kind in (*_TEXTS, "number") and column.name != "record_id"
    takes_several = takes_several or column.name in _ALL_YES
    listed = given if isinstance(given, list) and takes_several else [given]
    headers = [name for name in listed if isinstance(name, str) and name.strip()]
    is_whole = len(set(headers)) == len(listed)
    most = _FIGURE_AND_UNIT if column.kind == "number" else len(headers)
    return tuple(headers) if is_whole and len(headers) <= most else ()


def _expected_header(column: Column, value: object, headers: tuple[str, ...]) -> str:
    said = f"[columns] {column.name} = {shown(value)}"
    if len(headers) > 1:
        return f"{said}: fill_down is for one header, not for several read together"
    return f"{said}: expected a header, or {_example(column)}"


def _example(column: Column) -> str:
    """Return what else than a header may be written for a column."""
    if column.name == "record_id":
        return '{from = "header", within = ["Date"]}'
    if column.name in _ALL_YES:
        return '{from = ["Brushed", "Blown"]}, which is yes where both are'
    if column.unit:
        return f'{{from = "header", unit = "{units_of(column.unit)[-1]}"}}'
    if column.kind in _TEXTS:
        return '{from = ["header", "another"]}'
    return '{from = "header", fill_down = true}'


def _unlogged(
    column: Column, spec: dict[str, object], faults: Faults
) -> MappedColumn | None:
    """Return a column that no cell says: it is the same for every row."""
    where = ("columns", column.name, "always")
    value = spec["always"]
    said = f"[columns] {column.name} always = {shown(value)}"
    if len(spec) > 1:
        others = ", ".join(key for key in spec if key != "always")
        faults.add(where, f"{said} beside {others}: expected it alone")
    elif not isinstance(value, str) or not value.strip():
        faults.add(where, f"{said}: expected a text")
    elif column.kind == "code" and len(value) > LONGEST_NAME:
        faults.add(where, f"{said}: {too_long(value)}")
    elif column.choices and value not in column.choices:
        faults.add(where, f"{said}: expected one of {', '.join(column.choices)}")
    else:
        label = f"{column.name} of the site map"
        return MappedColumn(column, label, None, 1.0, fill_down=False, always=value)
    return None


def _ticked(
    column: Column, spec: dict[str, object], faults: Faults
) -> MappedColumn | None:
    """Return a column that says which of several headers has a mark below it."""
    value = spec["ticked"]
    given = value if isinstance(value, list) else [value]
    headers = tuple(name for name in given if isinstance(name, str) and name.strip())
    said = f"[columns] {column.name} ticked = {shown(value)}"
    where = ("columns", column.name, "ticked")
    if len(spec) > 1:
        others = ", ".join(key for key in spec if key != "ticked")
        faults.add(where, f"{said} beside {others}: expected it alone")
    elif len(headers) < max(len(given), 2) or len({*headers}) < len(headers):
        faults.add(
            where,
            f"{said}: expected two headers or more, each once, of which one is ticked "
            'in a row, as ["Clean yes", "Clean no"]',
        )
    else:
        return MappedColumn(
            column,
            header=" + ".join(headers),
            unit=column.unit,
            factor=1.0,
            fill_down=False,
            parts=headers,
            ticked=headers,
        )
    return None


def _within(header: str, spec: dict[str, object], faults: Faults) -> tuple[str, ...]:
    """Return the headers of what a record's number counts within."""
    value = spec.get("within", [])
    given = value if isinstance(value, list) else [value]
    headers = [name for name in given if isinstance(name, str) and name.strip()]
    plain = {" ".join(name.split()) for name in (header, *headers)}
    if len(headers) == len(given) and len(plain) == len(headers) + 1:
        return tuple(headers)
    faults.add(
        ("columns", "record_id", "within"),
        f"[columns] record_id within = {shown(value)}: expected a list of other "
        'headers than its own, each once, such as ["Date", "Crew"], within which '
        "the numbers count",
    )
    return ()


def _unit(column: Column, unit: object, faults: Faults) -> str | None:
    allowed = units_of(column.unit) if column.unit else ()
    if isinstance(unit, str) and unit in allowed:
        return unit
    if unit != column.unit:
        faults.add(
            ("columns", column.name, "unit"),
            f"[columns] {column.name} unit = {shown(unit)}: expected "
            f"{', '.join(allowed) or 'no unit'}",
        )
    return column.unit


def _check_needed(names: set[str], faults: Faults) -> None:
    for needed in NEEDED:
        if needed not in names:
            faults.add(("columns",), f"[columns] lacks {needed}, which every row needs")
    if not names & {"installed_on", "installed_at"}:
        faults.add(
            ("columns",),
            "[columns] lacks installed_on or installed_at: a date is needed",
        )


def _check_times(names: set[str], faults: Faults) -> None:
    """A time of day is used only with a day, and not beside an instant."""
    if "installed_time" not in names:
        return
    where = ("columns", "installed_time")
    if "installed_at" in names:
        faults.add(
            where,
            "[columns] installed_time beside installed_at: expected one of them; "
            "installed_at holds a time already",
        )
    elif "installed_on" not in names:
        faults.add(
            where, "[columns] installed_time without installed_on: expected both"
        )


def _check_headers(
    mapped: tuple[MappedColumn, ...], translated: Collection[str], faults: Faults
) -> None:
    takers: dict[str, list[MappedColumn]] = {}
    for found in mapped:
        header, name = " ".join(found.header.split()), found.column.name
        earlier = takers.setdefault(header, [])
        wrong = [one for one in earlier if not _may_share(one, found, translated)]
        earlier.append(found)
        if wrong:
            other = wrong[0].column.name
            line = faults.line_of(("columns", other))
            faults.add(
                ("columns", name),
                f"[columns] {name} takes {shown(header)}, and so does {other} on line "
                f"{line}: expected a header for one column only, but for what "
                "[codes] translates from a code; a header that the file repeats is "
                f'"{header} (2)"',
            )


def _may_share(
    one: MappedColumn, other: MappedColumn, translated: Collection[str]
) -> bool:
    """Say whether two columns may take one header.

    A time may tell a crew's anchors: it is the record's number then, which counts
    within something. A cell may hold a value for each. And one word may say which
    anchor it was and how long.
    """
    if one.within or other.within:
        return not {one.column.kind, other.column.kind}.isdisjoint(_TIMES)
    if one.piece != other.piece:
        return True
    return any(
        first.column.kind in _TEXTS
        and second.column.kind != "text"
        and second.column.name in translated
        for first, second in ((one, other), (other, one))
    )
