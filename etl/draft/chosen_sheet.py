"""Which sheets of a workbook are logs, and what a map says to take them."""

from collections.abc import Callable
from pathlib import Path

from etl.draft.header import Header
from etl.draft.layout import sheets_of
from etl.draft.names import pattern_of_sheets
from etl.draft.said import Said
from etl.draft.sample import Layout
from etl.site_map.names import meant_by
from queries.errors import FirmsetError

_MOST_SHEETS = 8


def best_sheet(
    path: Path,
    sheet: str | None,
    header_of: Callable[[Layout], Header],
    placed_in: Callable[[Header], int],
) -> tuple[Said[str], tuple[str, ...], Header]:
    """Return the named sheet, or the one whose header has the most known words.

    What a map says of the sheet (or the first of a list), the sheets that have its
    columns, itself first, and its header. `header_of` reads one, `placed_in` counts
    the columns that are placed in it.
    """
    names = sheets_of(path)
    if sheet is not None or len(names) == 1:
        name = sheet if sheet is not None else names[0]
        reason = "it was asked for" if sheet is not None else "the only sheet"
        header = header_of(Layout(sheet=name))
        return Said(name, "sure", reason), (name,), header
    found: list[tuple[int, str, Header]] = []
    looked_at = names[:_MOST_SHEETS]
    for name in looked_at:
        try:
            header = header_of(Layout(sheet=name))
        except FirmsetError:  # An empty sheet, or one of pictures.
            continue
        found.append((placed_in(header), name, header))
    if not found:
        raise FirmsetError(f"{path}: none of its sheets holds rows")
    found.sort(key=lambda one: -one[0])
    count, name, header = found[0]
    alike = tuple(other for _, other, its in found if its.names == header.names)
    if len(alike) == len(looked_at):
        which = "looked at" if len(looked_at) < len(names) else "there are"
        reason = f"the {len(looked_at)} sheets {which} have these columns, each a log"
        return Said("*", "likely", reason), alike, header
    pattern = pattern_of_sheets(alike, [n for n in looked_at if n not in alike])
    meant = (*alike, pattern or name)
    rest = [other for other in names if meant_by(other, meant) is None]
    reason = f"{count} of its headers were placed"
    if len(alike) > 1:
        reason = f"{', '.join(alike)} have the same columns, each a log"
    reason += f"; other sheets: {', '.join(rest)}"
    rivals = [placed for placed, other, _ in found if other not in alike]
    is_alone = not rivals or rivals[0] < count - 2
    said = Said(pattern or name, "likely" if is_alone else "guess", reason)
    return said, alike, header
