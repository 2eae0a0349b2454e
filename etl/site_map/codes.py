"""The tables [codes.x]: a site's words and what they stand for."""

from etl.site_map.faults import Faults, key_shown, shown
from etl.site_map.tables import LONGEST_NAME, Table
from queries.columns import COLUMN_BY_NAME, Column

_LARGEST = 1e15


def read_codes(
    table: Table, mapped: set[str], decimal: str, faults: Faults
) -> dict[str, dict[str, str]]:
    """Return, per column, the site's words in lower case and what to read for them.

    `mapped` are the names of the mapped columns. A number is given back with the
    site's decimal sign, since it is read as if it stood in the cell.
    """
    codes: dict[str, dict[str, str]] = {}
    for name, words in table.values.items():
        column = COLUMN_BY_NAME.get(name)
        if column is None:  # Reported with the other names.
            continue
        if not isinstance(words, dict):
            faults.add(
                ("codes", name),
                f"[codes] {name} = {shown(words)}: expected a table, "
                f'[codes.{name}] with "word" = "ours"',
            )
            continue
        if name not in mapped:
            faults.add(
                ("codes", name),
                f"[codes.{name}] is for a column that is not mapped: expected {name} "
                "in [columns]",
            )
        codes[name] = _read_words(column, words, decimal, faults)
    return codes


def _read_words(
    column: Column, words: dict[str, object], decimal: str, faults: Faults
) -> dict[str, str]:
    read: dict[str, str] = {}
    first: dict[str, str] = {}
    for word, ours in words.items():
        where = ("codes", column.name, word)
        plain = word.strip().lower()
        said = f"[codes.{column.name}] {key_shown(word)} = {shown(ours)}"
        if not plain:
            faults.add(where, f"{said}: a blank cell is unrecorded, expected a word")
        elif plain in first:
            line = faults.line_of(("codes", column.name, first[plain]))
            faults.add(
                where,
                f"{said}: is the same word as {key_shown(first[plain])} on line "
                f"{line} (capitals and spaces around do not count), expected it once",
            )
        value = _value(column, ours, decimal)
        if value is None:
            faults.add(where, f"{said}: expected {_expected(column)}")
        else:
            read[plain] = value
        first.setdefault(plain, word)
    return read


def _value(column: Column, ours: object, decimal: str) -> str | None:
    """Return what to read for a word, or None where it does not suit the column."""
    if ours == "":  # The word means that nothing was recorded.
        return ""
    match column.kind:
        case "choice":
            return ours if isinstance(ours, str) and ours in column.choices else None
        case "yes_no":
            text = str(ours).lower() if isinstance(ours, bool | str) else ""
            return text if text in ("true", "false", "yes", "no") else None
        case "number" | "integer":
            return _number(column, ours, decimal)
        case "text":
            return ours if isinstance(ours, str) else None
        case "code":
            is_code = isinstance(ours, str) and len(ours) <= LONGEST_NAME
            return str(ours) if is_code else None
        case _:
            is_several = isinstance(ours, bool | int | float | list | dict)
            return None if is_several else str(ours)


def _number(column: Column, ours: object, decimal: str) -> str | None:
    if column.is_clearable and ours == "clear":
        return "clear"
    if isinstance(ours, bool) or not isinstance(ours, int | float):
        return None
    if not 0 <= ours <= _LARGEST:  # Neither inf nor nan is between.
        return None
    if column.kind == "integer" and ours != int(ours):
        return None
    text = str(int(ours)) if ours == int(ours) else f"{ours:f}"
    return text.replace(".", decimal)


def _expected(column: Column) -> str:
    match column.kind:
        case "choice":
            what = f"one of {', '.join(column.choices)}"
        case "yes_no":
            what = "true or false"
        case "number":
            clear = ' or "clear"' if column.is_clearable else ""
            what = f"a number, 0 or more{clear}"
        case "integer":
            what = "a whole number, 0 or more"
        case "text":
            what = "a text"
        case "code":
            what = f"a text of at most {LONGEST_NAME} characters"
        case _:
            what = "a date or time"
    return f'{what}, or "" for nothing recorded'
