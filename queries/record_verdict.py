"""The verdicts of one record, with the words for them.

What the verdicts are is stored; only margins, directions and words are worked out. A
question about one row is planning and little else, so nothing stands in it that the
verdicts make idle: of `installation_verdict`, filtered, it costs half.
"""

import re
from collections.abc import Mapping

from queries.judgement import (
    CHECK_NAMES,
    INSTALLATION_NAMES,
    MASKED_VERDICTS,
    STORED_USE,
)
from queries.layers import Layers


def stored_verdicts(installation: Mapping[str, object]) -> dict[str, str]:
    """Return the verdict of each check, by the masks of a stored installation."""
    return {
        name: next(
            (
                verdict
                for verdict in MASKED_VERDICTS
                if int(str(installation[f"{verdict}_mask"])) >> position & 1
            ),
            "inapplicable",
        )
        for position, name in enumerate(CHECK_NAMES)
    }


def record_words_sql(verdicts: Mapping[str, str], *, with_calibrations: bool) -> str:
    """Return SQL with a row for one record: $source_file_id, $source_row.

    `verdicts` are those stored of it, an abandoned attempt's excepted, of which there
    is nothing to say. Without `with_calibrations` no wrench is looked up. Columns:
    `<check>__margin`, `__direction` and `__words`; a margin is NULL where it does
    not belong to the verdict, a direction unless nonconforming.
    """
    layers = Layers(
        CHECK_NAMES,
        "subject",
        with_calibrations=with_calibrations,
        use=STORED_USE,
        verdicts=verdicts,
    )
    source = layers.judged_sql("verdict_of")
    columns = ", ".join(
        f"{_result_sql(layers, name, result, verdict)} as {name}__{result}"
        for name, verdict in verdicts.items()
        for result in ("margin", "direction", "words")
    )
    asked = f"select {columns} from ({source}) as logged"
    mentioned = set(re.findall(r"\blogged\.(\w+)", asked))
    taken = ", ".join(name for name in INSTALLATION_NAMES if name in mentioned)
    return f"""
with subject as (
    select {taken} from installation
    where source_file_id = $source_file_id and source_row = $source_row
)
{asked}"""


def _result_sql(layers: Layers, name: str, result: str, verdict: str) -> str:
    if result == "margin" and verdict not in ("conforming", "nonconforming"):
        return "null::double"
    if result == "direction" and verdict != "nonconforming":
        return "null::varchar"
    return layers.said(name, result)
