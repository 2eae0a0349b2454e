"""Several sites in one file: a map is for one, and would give all rows to it."""

from collections.abc import Sequence

from etl.draft.columns import Placed
from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import is_site

_MOST_NAMED = 3
# Where nearly every value is another, they are no sites.
_MOST_DISTINCT = 0.5
_NO_OTHER = {"work_area"}


def sites_said(
    header: Header, looks: Sequence[Looks], placed: Sequence[Placed]
) -> list[str]:
    """Say which columns may name several sites, with some of their words."""
    taken = {one.header for one in placed if one.column.name not in _NO_OTHER}
    said = []
    for place, its in enumerate(looks):
        name = header.names[place]
        words = dict.fromkeys(its.filled)
        if (
            name not in taken
            and any(map(is_site, header.spoken(place)))
            and len(words) > 1
            and its.distinct_share < _MOST_DISTINCT
        ):
            listed = ", ".join(map(repr, list(words)[:_MOST_NAMED]))
            more = ", ..." if len(words) > _MOST_NAMED else ""
            said.append(
                f"{name!r} holds {len(words)} words ({listed}{more}): if these are "
                "sites, send a file for each, as a map is for one site"
            )
    return said
