"""Flags that are owed to one group that shows next to nothing. Expected by hand."""

from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.mix_words import doing_points
from dashboard.yardstick import sunk_words
from tests.builders import Row, build_store

Group = dict[str, object]


def group(name: str, nonconforming: int, judged: int = 1000) -> Group:
    return {"name": name, "nonconforming": nonconforming, "judged": judged}


# Of A 30 of 1000; the others 60 of 3000 (2 %), without NONE 60 of 2000 (3 %).
GROUPS = [group("A", 30), group("B", 30), group("C", 30), group("NONE", 0)]
FLAGGED = GROUPS[0] | {"others_rate": 0.02, "ratio_low": 1.1}


def test_a_flag_is_owed_to_one_beside_which_alone_it_stands_out() -> None:
    # 1.1 times 2 % is below 3 %.
    assert sunk_words([FLAGGED], GROUPS) == (
        "A stands out only beside NONE (0/1000): at the rate of the others without it "
        "it would not. Ask of NONE, too: so little may be good work, or a record that "
        "is none."
    )
    second = FLAGGED | {"name": "B"}
    assert sunk_words([FLAGGED, second], GROUPS).startswith("A and B stand out only")


@pytest.mark.parametrize(
    ("flagged", "groups"),
    [
        # 1.6 times 2 % is above 3 %.
        (FLAGGED | {"ratio_low": 1.6}, GROUPS),
        # 16 of 1000 are no less than half of 3 %.
        (FLAGGED, [*GROUPS[:3], group("NONE", 16)]),
        # No third to compare with.
        (FLAGGED, [GROUPS[0], GROUPS[3]]),
        (FLAGGED, []),
    ],
)
def test_other_flags_are_owed_to_nobody(flagged: Group, groups: list[Group]) -> None:
    assert sunk_words([flagged], groups) == ""


def test_the_terminal_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The band is 54 to 66 Nm. Some 30 of 400 each but for one crew with none.
    rows: list[Row] = [
        {
            "record_id": f"{crew}-{number}",
            "crew_code": crew,
            "installed_on": f"2026-05-{1 + number % 20:02d}",
            "setting_torque_nm": "80" if number < bad else "60",
        }
        for crew, bad in (("A", 40), ("B", 32), ("C", 30), ("NONE", 0))
        for number in range(400)
    ]
    store = build_store(tmp_path, rows)
    words = ["compare", "--by", "crew", "--check", "setting_torque"]
    assert main([*words, "--store", str(store.folder)]) == 0
    said = capsys.readouterr().out
    assert "A stands out only beside NONE (0/400)" in said


def test_the_parts_of_a_difference_add_up_as_they_are_written() -> None:
    # 1.86 points are 2.33 of mix and -0.47 of doing: +1.9 is +2.3 and -0.4.
    row = {"rate": 0.0386, "others_rate": 0.02, "mix_part": 0.0233}
    assert doing_points(row) == "\N{MINUS SIGN}0.4"
