"""A day by its week and weekday: `{week_from = "Week commencing", weekday = "Day"}`."""

from etl.site_map.faults import Faults, shown
from etl.site_map.model import MappedColumn
from queries.columns import Column

WEEK_KEYS = ("week_from", "week_to", "weekday")


def read_week(
    column: Column, spec: dict[str, object], faults: Faults
) -> MappedColumn | None:
    """Return a day that stands in two columns; None and a fault where one is wrong."""
    ways = [key for key in WEEK_KEYS[:2] if key in spec]
    headers = [spec.get(key) for key in (*ways, "weekday")]
    texts = tuple(text for text in headers if isinstance(text, str) and text.strip())
    others = spec.keys() - {*ways, "weekday", "fill_down"}
    if len(ways) == 1 and len({*texts}) == 2 and not others:
        return MappedColumn(
            column,
            header=" + ".join(texts),
            unit=None,
            factor=1.0,
            fill_down=spec.get("fill_down") is True,
            parts=texts,
            week=ways[0].removeprefix("week_"),
        )
    faults.add(
        ("columns", column.name, (*ways, "weekday")[0]),
        f"[columns] {column.name} = {shown(spec)}: expected the header of a week's "
        'first day and that of the weekday, as {week_from = "Week commencing", weekday '
        '= "Day"}, or week_to for its last day, and no other key but fill_down',
    )
    return None
