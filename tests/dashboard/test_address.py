"""An address says a view and a view its address; nonsense is answered in words."""

from datetime import date

import pytest

from dashboard.address import format_search, parse_view
from queries.readers.choices import Choices
from queries.selection import Selection

CHOICES = Choices(
    sites=(("A", "Site A"), ("B", "Site B")),
    crew_codes=("C1", "C 2"),
    anchor_sizes=("M6", "M12", "1/2"),
    first_on=date(2026, 1, 1),
    last_on=date(2026, 6, 30),
)


@pytest.mark.parametrize(
    "selection",
    [
        Selection(),
        Selection(check_names=("setting_torque",)),
        Selection(
            from_on=date(2026, 2, 1),
            to_on=date(2026, 3, 1),
            site_codes=("A", "B"),
            crew_codes=("C 2",),
            anchor_sizes=("1/2", "M12"),
            check_names=("hole_depth",),
        ),
    ],
)
def test_there_and_back(selection: Selection) -> None:
    view = parse_view(format_search(selection), CHOICES)
    assert view.selection == selection
    assert view.problems == ()


@pytest.mark.parametrize(
    "search",
    [
        "?sites=NOWHERE",
        "?check=colour",
        "?from=yesterday",
        "?page=-1",
        "?from=2026-03-01&to=2026-02-01",
        "?sites=%3Cscript%3E",
        "?" + "x" * 10_000,
    ],
)
def test_nonsense_is_said_and_left_out(search: str) -> None:
    view = parse_view(search, CHOICES)
    assert view.problems
    assert view.selection.site_codes == ()
    assert view.page == 1


def test_an_unknown_parameter_is_ignored() -> None:
    assert parse_view("?utm=1", CHOICES).problems == ()
