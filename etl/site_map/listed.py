"""A log that lists its values, one a row: `[listed]` says where name and value are."""

from collections.abc import Iterable

from etl.site_map.faults import Faults, shown
from etl.site_map.model import ListedValues, MappedColumn
from etl.site_map.tables import Table

_NAMES = {
    "anchor": 'a header such as "Anchor", or a list of them, that tell anchors apart',
    "name": 'a header such as "Item", under which stands what a value is',
    "value": 'a header such as "Result", under which the values stand',
    "unit": 'a header such as "Unit", under which their units stand',
}


def read_listed(
    table: Table, columns: Iterable[MappedColumn], faults: Faults
) -> ListedValues | None:
    """Return where the values are listed; None where they are not, or with a fault."""
    if not table.values:
        return None
    anchor = _headers(table, faults)
    name, value = (table.text(key, _NAMES[key]) for key in ("name", "value"))
    unit = table.text("unit", _NAMES["unit"]) if "unit" in table.values else None
    fill_down = table.yes_or_no("fill_down")
    headers = [header for header in (*anchor, name, value, unit) if header]
    if len({*headers}) < len(headers):
        faults.add(
            ("listed",),
            f"[listed] {shown(table.values)}: expected each header once",
        )
    for found in columns:
        for header in found.headers:
            if header in (name, value, unit):
                faults.add(
                    ("columns", found.column.name),
                    f"[columns] {found.column.name} takes {shown(header)}, under which "
                    "[listed] has the values of all columns: expected what stands "
                    f"under {shown(name)}, or a header of the file",
                )
    return ListedValues(anchor, name, value, unit, fill_down=fill_down)


def _headers(table: Table, faults: Faults) -> tuple[str, ...]:
    value = table.values.get("anchor", [])
    given = value if isinstance(value, list) else [value]
    headers = [name for name in given if isinstance(name, str) and name.strip()]
    if headers and len(headers) == len(given):
        return tuple(headers)
    said = f"anchor = {shown(value)}" if "anchor" in table.values else "lacks anchor"
    faults.add(("listed", "anchor"), f"[listed] {said}: expected {_NAMES['anchor']}")
    return ()
