"""What stands behind a title: expected by hand, as a form means it."""

import pytest

from etl.staging import title_in


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        ([["Day", "4 May"]], "4 May"),
        ([["Day :", "", "4 May"]], "4 May"),
        ([["x", "Day: 4 May"]], "4 May"),
        ([["Day:", "Crew:", "C1"], ["4 May", "C1"]], "4 May"),
        ([["Day", "Crew"], ["4 May", "C1"]], "4 May"),
        ([["Day"], ["Crew"]], ""),
        ([["Day: ", " "]], ""),
        ([["Days", "4 May"], ["Day of: ", "May"]], None),
        ([["Day 4"]], "4"),
        ([["Day 4", "Day"], ["x", "5"]], "5"),
        ([["Shift: 1   Day: 4 May | Crew: C1"]], "4 May"),
        ([["Shift: 1 Day: 7:45 Crew: C1"]], "7:45"),
        ([["Shift: 1, Day:4 May\nCrew lead: C1"]], "4 May"),
        ([["Shift: 1; Day:   Crew: C1", "x"]], ""),
        ([["Crew: C1 Day:", "4 May"]], "4 May"),
        ([["Day: hall: east 7:30"]], "hall: east 7:30"),
        ([["Shift: Day 1"]], None),
        ([["Shift: 1 PayDay: 4 May"]], None),
        ([[f"Day: 4 May{' ' * 1000}Night: 2"]], "4 May Night: 2"),
        ([["Day\n of ", "x"], ["  Day  ", "4 May"]], "4 May"),
        ([["DAY: 4 May"]], "4 May"),
        # Behind the name of a part of the building, and a code behind it.
        ([["Level 1 - Day 4"]], "4"),
        ([["Level 1 - day: 4"]], "4"),
        ([["Deck A Day 4"]], "4"),
        ([["East/Day Four"]], "Four"),
        ([["Level 1 - Day 4 (late)"]], "4 (late)"),
        ([["Level 1 - Day 4", "Day 5"]], "5"),
        ([["Time of Day 7"], ["Level 1 - Day work"], ["Level 1 - Payday 4"]], None),
        ([["Level 1 - Day sheet 4"], ["Hours: 1 Day 4"]], None),
        ([["Level 1 - Day 4 of many more"]], None),
        ([], None),
    ],
)
def test_what_stands_behind_a_title(rows: list[list[str]], text: str | None) -> None:
    assert title_in(rows, "Day", ["Day", "Crew"]) == text


def test_the_longer_of_two_titles_is_meant() -> None:
    cell = "Shift: 1 Start Day: 4 May"
    titles = ["Day", "Start Day"]
    assert [title_in([[cell]], title, titles) for title in titles] == [None, "4 May"]


def test_behind_a_part_the_longer_of_two_titles_is_meant() -> None:
    titles = ["Crew", "Crew of"]
    cell = "Level 1 - Crew of 4"
    assert [title_in([[cell]], title, titles) for title in titles] == [None, "4"]
