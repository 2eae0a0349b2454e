"""Site maps: how one site's files, columns, units and codes become ours.

A site map is a TOML file; .readme/site-maps.md shows one. Every fault of a map is
reported at once, each with its line, key and value, and what was expected.
"""

from etl.site_map.columns import IDENTIFYING, NEEDED
from etl.site_map.model import (
    ENCODINGS,
    Beside,
    ListedValues,
    MappedColumn,
    Piece,
    Site,
    SiteMap,
    SitesWithin,
)
from etl.site_map.pieces import which_piece
from etl.site_map.reading import read_site_map
from etl.site_map.toml_text import read_toml

__all__ = [
    "ENCODINGS",
    "IDENTIFYING",
    "NEEDED",
    "Beside",
    "ListedValues",
    "MappedColumn",
    "Piece",
    "Site",
    "SiteMap",
    "SitesWithin",
    "read_site_map",
    "read_toml",
    "which_piece",
]
