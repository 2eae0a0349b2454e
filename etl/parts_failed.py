"""The parts of a file that could not be loaded, where the others were."""

from pathlib import Path

from queries.errors import FirmsetError


class PartsFailed:
    """Gathers the failures of a file's parts; `report` raises them, if any, as one."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._parts: dict[str, list[str]] = {}
        self._cause: FirmsetError | None = None

    def add(self, part: str, error: FirmsetError) -> None:
        """Add why a part, " [May]" or "", failed."""
        self._cause = error
        self._parts.setdefault(str(error), []).append(part)

    def report(self, because: str | None = None) -> None:
        """Raise FirmsetError with every failure once, and the parts it is of.

        `because` says why the site map was taken.
        """
        failures = [
            error.replace(f"{self._path}:", f"{self._path}{_listed(parts)}:", 1)
            for error, parts in self._parts.items()
        ]
        if not failures:
            return
        reason = f" (site map {because})" if because else ""
        raise FirmsetError("; ".join(failures) + reason) from self._cause


def _listed(parts: list[str]) -> str:
    """Return the part that failed; of several, the first and how many more."""
    first, *others = parts
    return f"{first} and {len(others)} more" if others else first
