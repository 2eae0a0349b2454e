"""The one error that reaches people: it says what is wrong and what to do."""

from collections.abc import Sequence


class FirmsetError(Exception):
    """Something a person can put right; `str()` of it is one line for stderr.

    Names, where they apply, the file, the row, the column, the value found and
    what was expected. Of several faults each is a line of its own under the first.
    """


def faults_error(
    where: str, faults: Sequence[str], most: int | None = None
) -> FirmsetError:
    """Return the error of one fault or more, of what is called `where`.

    `most` are named, the others counted.
    """
    if len(faults) == 1:
        return FirmsetError(f"{where}: {faults[0]}")
    more = len(faults) - len(faults[:most])
    named = [*faults[:most], *([f"and {more} more"] if more else [])]
    return FirmsetError("\n".join((f"{where}: {len(faults)} faults:", *named)))
