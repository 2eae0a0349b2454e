"""A TOML file's text and tables, of files that anybody may have sent."""

import re
import tomllib
from pathlib import Path
from typing import Final

from queries.errors import FirmsetError

MAX_BYTES: Final = 1024**2
# A site map's keys have three at most. tomllib's time grows with their square.
MAX_KEY_DOTS: Final = 20

# What is no key, or may hold dots. A text that is never closed is one to its end, for
# there tomllib stops, too; and each pattern takes whatever it begins with, so that the
# file is looked at once.
_TEXT_OR_COMMENT: Final = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+(?:""")?'
    r"|'''(?:[^']|'(?!''))*+(?:''')?"
    r'|"(?:[^"\\\n]|\\.)*+"?'
    r"|'[^'\n]*+'?"
    r"|#[^\n]*+",
    re.DOTALL,
)
_LONG_KEY: Final = re.compile(
    rf"(?<![\w-])(?:[\w-]++[ \t]*+\.[ \t]*+){{{MAX_KEY_DOTS + 1}}}"
)


def read_toml(path: Path) -> tuple[bytes, dict[str, object]]:
    """Return a file's content, which is text in UTF-8, and its tables.

    FirmsetError where it cannot be read or is no TOML.
    """
    content = _content(path)
    try:
        text = content.decode("utf-8")
        _require_short_keys(path, text)
        return content, tomllib.loads(text)
    # Besides its own error tomllib lets through those of endless numbers and nesting.
    except (ValueError, RecursionError) as error:
        raise FirmsetError(f"{path}: not a TOML file in UTF-8: {error}") from error


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            content = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise FirmsetError(f"{path}: cannot be read: {error.strerror}") from error
    if len(content) > MAX_BYTES:
        raise FirmsetError(f"{path}: over 1 MB, which no site map is")
    return content


def _require_short_keys(path: Path, text: str) -> None:
    """Raise FirmsetError where a key has more dots than a site map's can have."""
    found = _LONG_KEY.search(_TEXT_OR_COMMENT.sub(_blanked, text))
    if found is None:
        return
    line = text.count("\n", 0, found.start()) + 1
    raise FirmsetError(
        f"{path}: line {line}: a key of more than {MAX_KEY_DOTS} dots, "
        f"{text[found.start() :][:20]!r}...; expected those of a site map, as "
        "edge_1_mm.from"
    )


def _blanked(found: re.Match[str]) -> str:
    """Return as many signs in the same lines: a text may be part of a key."""
    sign = " " if found[0].startswith("#") else "_"
    return re.sub(r"[^\n]", sign, found[0])
