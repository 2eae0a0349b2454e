"""How a code is spelled: what its spellings share, and which of them is stored.

C-07, c07 and "C 7" differ in nothing but case, separators and leading zeros, and are
one code; "Team A+" is another than "Team A". A code is stored under one spelling, the
same whatever was loaded first: the longest (it tells most), of equals the first by
alphabet. No spelling is stored with signs that a reader cannot see or tell apart: see
`plain_spelling`.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping

# Codes that count or link rows. What a code of a site means elsewhere is not joined:
# a type code or a base material is compared as it stands.
JOINED_COLUMNS = (
    "crew_code",
    "installer_code",
    "inspector_code",
    "bit_code",
    "wrench_code",
)

# What writers put between the parts of a code or leave out, blanks and dashes being one
# of each by then; the last stands between a size and a length. Any other sign is part
# of the code.
SEPARATORS = frozenset(" -_./\\,;'\"`‘’“”„«»()[]{}×")


def code_key(spelling: str) -> str:
    """Return what spellings of one code share: capitals, no SEPARATORS or zeros before.

    That two digits are apart stays: 1-23 and 12-3 are two codes.
    """
    plain = plain_spelling(spelling).upper()
    parts: list[str] = re.findall(r"[^\W\d_]+|\d+|[\W_]+", plain)
    key = ""
    for part in parts:
        if part.isdecimal():
            digits = part.lstrip("0") or "0"
            key += f"-{digits}" if key[-1:].isdecimal() else digits
        else:
            key += "".join(sign for sign in part if sign not in SEPARATORS)
    return key or plain


def plain_spelling(spelling: str) -> str:
    """Return a code as a reader sees it.

    Full-width signs as usual ones (Unicode NFKC), every dash as "-", blanks of any kind
    as one blank, without signs that have no width (Unicode categories Cc and Cf). A
    code of nothing else keeps itself.
    """
    if spelling.isascii() and spelling.isprintable():
        # No form but its own, no dash but "-", no sign without a width.
        return " ".join(spelling.split()) or spelling
    signs = unicodedata.normalize("NFKC", spelling)
    dashed = ("-" if _is_dash(sign) else sign for sign in signs)
    spaced = " ".join("".join(dashed).split())
    seen = (sign for sign in spaced if unicodedata.category(sign) not in ("Cc", "Cf"))
    return "".join(seen).strip() or spelling


def _is_dash(sign: str) -> bool:
    return unicodedata.category(sign) == "Pd" or sign == "\N{MINUS SIGN}"


def preferred(spellings: Iterable[str]) -> str:
    """Return the spelling a code is stored by; the same for any order of spellings."""
    plain = {plain_spelling(spelling) for spelling in spellings}
    return min(plain, key=lambda spelling: (-len(spelling), spelling))


def meant_codes(
    spellings: Iterable[str], by_key: Mapping[str, set[str]]
) -> dict[str, str]:
    """Return the code that each spelling means, of codes by `code_key`.

    A spelling that may be several, or none, is left out.
    """
    meant = {spelling: by_key.get(code_key(spelling), set()) for spelling in spellings}
    return {
        spelling: next(iter(codes))
        for spelling, codes in meant.items()
        if len(codes) == 1
    }
