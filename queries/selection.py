"""What a reader asked to see: the filter bar and the terminal's filter options."""

from dataclasses import dataclass, replace
from datetime import date


@dataclass(frozen=True)
class Selection:
    """Filters of a question; an empty tuple or None means "all".

    `from_on` and `to_on` are site-local dates, both included.
    """

    from_on: date | None = None
    to_on: date | None = None
    site_codes: tuple[str, ...] = ()
    crew_codes: tuple[str, ...] = ()
    anchor_sizes: tuple[str, ...] = ()
    check_names: tuple[str, ...] = ()

    def chosen(self, by: str) -> tuple[str, ...]:
        """Return the codes of the filter on "site" or "crew" (`by`); empty: all."""
        return self.site_codes if by == "site" else self.crew_codes

    def choosing(self, by: str, codes: tuple[str, ...]) -> "Selection":
        """Return the selection with another filter on "site" or "crew" (`by`)."""
        if by == "site":
            return replace(self, site_codes=codes)
        return replace(self, crew_codes=codes)

    def parameters(self) -> dict[str, object]:
        """Return the named SQL parameters of this selection (NULL = not filtered)."""
        return {
            "from_on": self.from_on,
            "to_on": self.to_on,
            "site_codes": list(self.site_codes) or None,
            "crew_codes": list(self.crew_codes) or None,
            "anchor_sizes": list(self.anchor_sizes) or None,
        }
