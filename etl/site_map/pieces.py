"""Several values in a cell, as `90/93`: which of them a column is."""

import re

from etl.site_map.faults import Faults, shown
from etl.site_map.model import Piece

PIECE_KEYS = ("split", "piece")
_MOST = 9
_PIECE = re.compile(r"\s*([1-9])\s+of\s+([2-9])\s*", re.IGNORECASE)


def which_piece(piece: Piece) -> str:
    """Return which of a cell's values is meant, as a site map says it."""
    return f"{piece.place} of {piece.count}"


def read_piece(
    name: str, spec: dict[str, object], headers: int, faults: Faults
) -> Piece | None:
    """Return which value of its cells a column is; None: the whole cell.

    `headers`: how many it is read from. Faults are added.
    """
    if not set(PIECE_KEYS) & spec.keys():
        return None
    sign, text = spec.get("split"), spec.get("piece")
    found = _PIECE.fullmatch(text) if isinstance(text, str) else None
    if not isinstance(sign, str) or not sign:
        faults.add(
            ("columns", name, "split"),
            f"[columns] {name} split = {shown(sign)}: expected what parts the values "
            'of a cell, such as "/", beside piece',
        )
    elif found is None or found[1] > found[2]:
        faults.add(
            ("columns", name, "piece"),
            f"[columns] {name} piece = {shown(text)}: expected which of the values of "
            f'a cell, such as "1 of 2" ({_MOST} at most), beside split',
        )
    elif headers > 1:
        faults.add(
            ("columns", name, "split"),
            f"[columns] {name}: split is for one header, not for several that make a "
            "text",
        )
    else:
        return Piece(sign, int(found[1]), int(found[2]))
    return None
