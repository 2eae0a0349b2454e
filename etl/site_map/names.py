"""What the name of a file or of a sheet tells of all its rows.

`{Crew}_*.csv` is a pattern as `*_*.csv` is, and what stands for the braces is a column
named Crew.
"""

import re
from collections.abc import Iterable, Sequence
from fnmatch import fnmatchcase, translate

_KEPT = re.compile(r"\{([^{}]+)\}")
# Where one of two neighbours ends could not be told.
_BESIDE = re.compile(r"[*}]\{[^{}]+\}|\{[^{}]+\}\*")
# No name of a file has this sign, which translate() leaves as it is.
_MARK = "\ue000"


def names_kept(pattern: str) -> tuple[str, ...]:
    """Return the names in braces, in order."""
    return tuple(" ".join(name.split()) for name in _KEPT.findall(pattern))


def plain_pattern(pattern: str) -> str:
    """Return the pattern for fnmatch: one sign or more stands for the braces."""
    return _KEPT.sub("?*", pattern)


def meant_by(name: str, patterns: Sequence[str]) -> str | None:
    """Return the first pattern that a sheet's name fits, None where none does."""
    fits = (
        pattern for pattern in patterns if fnmatchcase(name, plain_pattern(pattern))
    )
    return next(fits, None)


def sheets_meant(
    names: Iterable[str], patterns: Sequence[str], but: Sequence[str]
) -> dict[str, str]:
    """Return the sheets that patterns mean, each with its pattern, but those of `but`.

    One that is named in full is meant whatever `but` says.
    """
    return {
        name: pattern
        for name in names
        if (pattern := meant_by(name, patterns)) is not None
        and (pattern == name or meant_by(name, but) is None)
    }


def unclear_part(pattern: str) -> str | None:
    """Return what of a pattern leaves open where a name in braces ends; None: nothing.

    Braces beside braces or beside a `*`.
    """
    found = _BESIDE.search(pattern)
    return found.group() if found else None


def told_by(pattern: str, name: str) -> dict[str, str] | None:
    """Return what stands for each name in braces; None where `name` does not fit.

    Of several readings the one with the shortest text for the first braces.
    """
    marked = translate(_KEPT.sub(_MARK, pattern))
    found = re.match(marked.replace(_MARK, "(.+?)"), name, re.IGNORECASE)
    if found is None:
        return None
    return dict(zip(names_kept(pattern), map(str.strip, found.groups()), strict=True))
