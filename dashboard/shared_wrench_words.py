"""What to ask about wrench codes that several sites use on one day."""

from collections.abc import Mapping, Sequence

from dashboard import words
from queries.readers.shared_wrenches import SharedWrench

NAMED = 3


def shared_wrench_lines(
    found: Sequence[SharedWrench], names: Mapping[str, str]
) -> list[str]:
    """Return a question a wrench, the first few; none where no wrench is shared.

    `names`: of sites by code.
    """
    lines = [_question(each, names) for each in found[:NAMED]]
    if more := found[NAMED:]:
        codes = words.and_list([each.wrench_code for each in more])
        lines.append(f"So for {codes}.")
    return lines


def _question(shared: SharedWrench, names: Mapping[str, str]) -> str:
    sites = words.and_list([names.get(code, code) for code in shared.site_codes])
    days = words.plural(shared.days, "day")
    return (
        f"Ask {sites} whether {shared.wrench_code} is two wrenches: each site set "
        f"anchors with it on the same day, {words.day(shared.first_on)} first, on "
        f"{days} in all. Its calibrations and uses count for every site that logs it; "
        "two wrenches need a code each."
    )
