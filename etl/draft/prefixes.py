"""What several columns have before their names, as "Anchor - Depth" of an app."""

import re
from collections import Counter
from dataclasses import replace

from etl.draft.header import Header

_PREFIXED = re.compile(
    r"(?P<prefix>[^\W\d].{0,40}?)\s*(?:\s[-–|>]\s|::?\s)\s*(?P<name>.+)"
)
_FEWEST = 2


def with_prefixes(header: Header) -> Header:
    """Return the header with what several columns have before their names as a group.

    As a group's words, they may speak against a column: "Recheck - Torque".
    """
    found = {
        place: match
        for place, name in enumerate(header.bare)
        if (match := _PREFIXED.fullmatch(name))
    }
    often = Counter(match["prefix"] for match in found.values())
    shared = {
        place: match
        for place, match in found.items()
        if often[match["prefix"]] >= _FEWEST
    }
    return replace(
        header,
        bare=tuple(
            shared[place]["name"] if place in shared else name
            for place, name in enumerate(header.bare)
        ),
        prefixes={place: match["prefix"] for place, match in shared.items()},
    )
