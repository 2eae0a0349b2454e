"""What the page Records and `firmset records` say of a search."""

from dashboard import words
from queries.judgement import ANY_CHECK
from queries.readers.record_search import (
    NOT_ABANDONED,
    UNRECORDED_OUTCOME,
    RecordSearch,
)

ORDER_TITLES = {
    "newest": "newest first",
    "margin": "least margin first",
    "record": "by site and number",
}


def asked_words(search: RecordSearch) -> str:
    """Say what a search asks for beside dates, places and sizes."""
    said = [_verdict_words(search)]
    if search.outcome == UNRECORDED_OUTCOME:
        said.append("no outcome recorded")
    elif search.outcome == NOT_ABANDONED:
        said.append("not abandoned")
    elif search.outcome:
        said.append(f"outcome {search.outcome}")
    if search.record_id is not None:
        said.append(f"number {search.record_id}")
    if search.begins is not None:
        said.append(f"number beginning with {search.begins}")
    if search.wrench_code is not None:
        said.append(f"wrench {search.wrench_code}")
    return ", ".join(part for part in said if part) or "every record"


def _verdict_words(search: RecordSearch) -> str:
    if search.verdict is None:
        return ""
    checks = [words.title(name) for name in search.named_checks]
    if checks:
        return f"{search.verdict} in {' or '.join(checks)}"
    return {
        "conforming": "conforming in every check that was judged",
        "inapplicable": "no check applies",
    }.get(search.verdict, f"{search.verdict} in one check or more")


def found_words(search: RecordSearch, total: int, order: str) -> str:
    """Say how many records match, and what that does not say."""
    asked = asked_words(search)
    if total == 0:
        beside = (
            " That says nothing of anchors whose checks were not recorded: see the "
            "verdict unrecorded."
            if search.verdict == "nonconforming"
            else ""
        )
        return f"No record matches: {asked}.{beside}"
    verb = "matches" if total == 1 else "match"
    return (
        f"{words.plural(total, 'record')} {verb}: {asked}. The list runs "
        f"{ORDER_TITLES[order]}; each row leads to the anchor's cross-section and to "
        "the file and row of its log."
    )


def shown_check(search: RecordSearch) -> str:
    """Return the title of the check that the list shows margins of; else any."""
    return words.title(search.one_check or ANY_CHECK)
