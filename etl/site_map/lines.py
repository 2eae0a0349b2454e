"""On which line of a TOML text each table and key stands: tomllib does not say."""

import re
import tomllib

Path = tuple[str, ...]

_PART = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')"""
_KEY = re.compile(rf"{_PART}(?:[ \t]*\.[ \t]*{_PART})*")
_BETWEEN = re.compile(r"(?:[\s,]|#[^\n]*)*")
_OPENING = re.compile(r"\[{1,2}[ \t]*")
_REST_OF_LINE = re.compile(r"[^\n]*")
_EQUALS = re.compile(r"[ \t]*=[ \t]*")
# Each kind of value that is neither an array nor an inline table.
_SCALAR = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
    r"|[^\s,\]}#][^,\]}#\n]*",
    re.DOTALL,
)


def key_lines(text: str) -> dict[Path, int]:
    """Return the line, from 1, of each table and key by its path.

    `text` is TOML that tomllib has read. A table that is only implied, as `a` by
    `[a.b]`, has the line that implies it. Keys inside inline tables are included.
    """
    scanner = _Scanner(text)
    scanner.scan()
    return scanner.lines


class _Scanner:
    """Walks over a valid text; it stops at whatever it does not know."""

    def __init__(self, text: str) -> None:
        self.lines: dict[Path, int] = {}
        self._text = text
        self._at = 0
        self._line = 1
        self._counted = 0

    def scan(self) -> None:
        table: Path = ()
        while self._skip(_BETWEEN) and self._at < len(self._text):
            if self._text[self._at] == "[":
                self._skip(_OPENING)
                table = self._key(())
                self._skip(_REST_OF_LINE)
            elif not self._pair(table):
                return

    def _pair(self, table: Path) -> bool:
        key = self._key(table)
        return key != table and self._skip(_EQUALS) and self._value(key)

    def _key(self, table: Path) -> Path:
        """Note a key and its parents; return its path, `table` if there is none."""
        found = _KEY.match(self._text, self._at)
        if found is None:
            return table
        self._line += self._text.count("\n", self._counted, self._at)
        self._counted = self._at
        self._at = found.end()
        path = table
        for part in _parts(found.group()):
            path = (*path, part)
            self.lines.setdefault(path, self._line)
        return path

    def _value(self, key: Path) -> bool:
        opening = self._text[self._at : self._at + 1]
        if opening not in ("[", "{"):
            return self._skip(_SCALAR)
        self._at += 1
        while self._skip(_BETWEEN) and self._at < len(self._text):
            if self._text[self._at] in "]}":
                self._at += 1
                return True
            if not (self._pair(key) if opening == "{" else self._value(key)):
                return False
        return False

    def _skip(self, pattern: re.Pattern[str]) -> bool:
        found = pattern.match(self._text, self._at)
        if found is not None:
            self._at = found.end()
        return found is not None


def _parts(key: str) -> list[str]:
    """Return the parts of a dotted key, quotes and escapes undone."""
    parts = []
    value: object = tomllib.loads(f"{key} = 0")
    while isinstance(value, dict):
        [(part, value)] = value.items()
        parts.append(part)
    return parts
