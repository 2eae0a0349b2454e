"""The faults of one site map, gathered so that all are reported at once."""

from pathlib import Path

from etl.site_map.lines import key_lines
from queries.errors import faults_error

_LONGEST_VALUE = 60


class Faults:
    """Collects faults with their lines; `report` raises them, if any, as one error."""

    def __init__(self, path: Path, text: str) -> None:
        self._path = path
        self._lines = key_lines(text)
        self._found: list[tuple[int, str]] = []

    def add(self, where: tuple[str, ...], words: str) -> None:
        """Add a fault of the key at `where`, or of the nearest table around it."""
        self._found.append((self.line_of(where), words))

    def line_of(self, where: tuple[str, ...]) -> int:
        """Return the line of a key, else of the nearest table around it, else 1."""
        while where and where not in self._lines:
            where = where[:-1]
        return self._lines.get(where, 1)

    def report(self) -> None:
        """Raise FirmsetError with every fault, in the order of their lines."""
        if not self._found:
            return
        faults = dict.fromkeys(sorted(self._found))
        raise faults_error(
            str(self._path), [f"line {line}: {words}" for line, words in faults]
        )


def shown(value: object) -> str:
    """Return a value as a fault shows it: quoted, on one line, and not too long."""
    try:
        text = "nothing" if value is None else repr(value)
    except ValueError:  # Python writes no number of over 4,300 digits.
        text = "a number without end"
    return text if len(text) <= _LONGEST_VALUE else f"{text[:_LONGEST_VALUE]}..."


def key_shown(key: str) -> str:
    """Return a key as TOML writes it: bare where it may be."""
    bare = key.replace("_", "").replace("-", "")
    return key if bare.isascii() and bare.isalnum() else shown(key)
