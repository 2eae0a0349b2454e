"""What a crew's sheet says to a foreman: in words of the work, made-up counts."""

import re
from importlib.resources import files

from dashboard.sheets.foreman import WRONG, foreman_words
from queries.judgement import CHECK_NAMES


def plain(text: str) -> str:
    return text.replace("\xa0", " ")


ENTRY = {
    **{"check": "drill_bit", "direction": "undersize", "direction_share": 1.0},
    **{"nonconforming": 97, "judged": 122, "missing": 0, "planned": 106},
    **{"avoidable": 83.9, "reachable_rate": 0.00002},
}


def test_a_foreman_reads_the_words_of_the_work() -> None:
    assert foreman_words(ENTRY) == (
        "97 of 122 drill bits were undersize. The better quarter of the crews has "
        "none. "
        "About 84 of the next 106 holes would be spared."
    )
    few = {"reachable_rate": 0.004, "avoidable": 0.4, "missing": 263}
    assert plain(foreman_words(ENTRY | few)).endswith(
        "The better quarter of the crews has fewer than 1 in 100. Fewer than 1 of the "
        "next 106 "
        "holes would be spared. 263 of 385 were not written down; they are taken to be "
        "like the others."
    )


def test_every_side_of_every_check_has_its_words() -> None:
    for name in CHECK_NAMES:
        sql = files("queries.checks").joinpath(f"{name}.sql").read_text("utf-8")
        sides = (
            sql[: sql.index("end as direction")] if "end as direction" in sql else ""
        )
        sides = sides[sides.rindex("as verdict") :] if sides else ""
        said = re.findall(r"then '([a-z ]+)'", sides)
        said += re.findall(r"'([a-z ]+)', null\) as direction", sql)
        assert said, name
        for side in said:
            assert (name, side) in WRONG
