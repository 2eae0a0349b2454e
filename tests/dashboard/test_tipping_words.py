"""The sentence on missing answers, from rows through the loader to what is read."""

from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.tipping_words import plausible_tipping_words, tipping_sentence
from tests.builders import Row, build_store


def log(judged: int, nonconforming: int, missing: int) -> list[Row]:
    torques = ["75"] * nonconforming + ["55"] * (judged - nonconforming)
    return [{"setting_torque_nm": torque} for torque in torques + [""] * missing]


# By hand. Own: NORTH 12/60 and 20 missing beside 3/60: (32 - k) / 80 <= 5 % from k = 28
# of 20, so its own cannot; all conforming 12/80 = 15 %, and SOUTH's (3 + 40 - k) / 100
# reaches it for k <= 28.
@pytest.mark.parametrize(
    ("north", "south", "said"),
    [
        (
            (60, 12, 20),
            (60, 3, 40),
            "whatever its own missing answers are, but not if 28 (70.0 %) or fewer of",
        ),
        (
            (60, 4, 40),
            (60, 3, 4),
            # (44 - k) / 100 <= 5 % from k = 39.
            "unless 39 (97.5 %) or more of its 40 missing answers conform.",
        ),
    ],
)
def test_compare_says_what_would_turn_it(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    north: tuple[int, int, int],
    south: tuple[int, int, int],
    said: str,
) -> None:
    store = build_store(tmp_path, sites={"NORTH": log(*north), "SOUTH": log(*south)})
    options = ["--check", "setting_torque", "--store", str(store.folder)]
    assert main(["compare", *options]) == 0
    words = capsys.readouterr().out.replace("\xa0", " ")
    lines = [line for line in words.splitlines() if "plain rate" in line]
    start = "NORTH's plain rate is above the others' "
    assert [line.startswith(start + said) for line in lines] == [True]


def row(side: int, by: str, conforming: int) -> dict[str, object]:
    return {
        "tips_side": side,
        "tips_by": by,
        "tips_conforming": conforming,
        "missing": 8,
        "others_missing": 1,
    }


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (row(1, "own", 8), "above the others' unless all of its 8 missing answers"),
        (row(-1, "own", 0), "below the others' unless none of its 8 missing answers"),
        (row(-1, "own", 2), "unless 2 (25.0 %) or fewer of its 8 missing answers"),
        (
            row(-1, "others", 1),
            "but not if all of the others' 1 missing answer conforms.",
        ),
        (row(1, "nobody", -1), "above the others' whatever the missing answers are."),
        (row(0, "", -1), ""),
        (row(1, "nobody", -1) | {"missing": 0, "others_missing": 0}, ""),
    ],
)
def test_sentences(given: dict[str, object], said: str) -> None:
    assert said in tipping_sentence("A", given).replace("\xa0", " ")
    assert bool(said) == bool(tipping_sentence("A", given))


@pytest.mark.parametrize(
    ("side", "by", "conforming", "is_told"),
    [
        # Of 8 missing: 7 or more conform, or all of them.
        (1, "own", 7, True),
        (1, "own", 8, False),
        # 4 of 8 or fewer conform: half are nonconforming; 3: more than half.
        (-1, "own", 4, True),
        (-1, "own", 3, False),
        (-1, "own", 0, False),
        # Not its own.
        (1, "others", 1, False),
        (1, "nobody", -1, False),
        (0, "", -1, False),
    ],
)
def test_the_table_tells_only_what_could_well_be(
    side: int, by: str, conforming: int, is_told: bool
) -> None:
    one = row(side, by, conforming)
    told = plausible_tipping_words(one)
    assert bool(told) == is_told
    assert not told or told in tipping_sentence("A", one)
