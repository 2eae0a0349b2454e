"""An address is a view and a view is an address; bad input becomes words."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.address import (
    DEFAULT_CHECK,
    View,
    format_search,
    parse_view,
    record_href,
    records_href,
)
from queries.judgement import CHECK_NAMES
from queries.readers.choices import Choices
from queries.selection import Selection

# A comma, a slash, an inch mark, a plus and an umlaut: all of them occur in codes.
CHOICES = Choices(
    sites=(("A", "Alder"), ("B,2", "Brine"), ("Süd+1", "South")),
    crew_codes=("C1", "C&2", "C=3"),
    anchor_sizes=("M6", "M12", '1/2"'),
    first_on=date(2026, 1, 1),
    last_on=date(2026, 6, 30),
)


def _some(values: tuple[str, ...]) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(values), unique=True).map(tuple)


DATES = st.none() | st.dates()
SELECTIONS = st.builds(
    Selection,
    from_on=DATES,
    to_on=DATES,
    site_codes=_some(tuple(code for code, _ in CHOICES.sites)),
    crew_codes=_some(CHOICES.crew_codes),
    anchor_sizes=_some(CHOICES.anchor_sizes),
    check_names=st.just(()) | st.sampled_from(CHECK_NAMES).map(lambda name: (name,)),
)


@given(SELECTIONS, st.integers(1, 999), st.none() | st.text(min_size=1))
def test_parse_view_round_trip(
    selection: Selection, page: int, record_id: str | None
) -> None:
    record_id = record_id.strip() or None if record_id else None
    search = format_search(selection, page=page, site_code="A", record_id=record_id)
    view = parse_view(search, CHOICES)
    assert (view.selection, view.page) == (selection, page)
    assert view.site_code == "A"
    if record_id and "," not in record_id:
        assert view.record_id == record_id


@given(st.text(max_size=300))
def test_parse_view_never_raises(search: str) -> None:
    assert isinstance(parse_view(search, CHOICES), View)


def test_parse_view_readable_address() -> None:
    view = parse_view("?from=2026-01-01&sites=A&check=setting_torque", CHOICES)
    assert view.selection.from_on == date(2026, 1, 1)
    assert view.selection.site_codes == ("A",)
    assert view.check_name == "setting_torque"
    assert view.problems == ()


def test_parse_view_comma_encoded_by_a_mail_program() -> None:
    view = parse_view("?sizes=M6%2CM12", CHOICES)
    assert view.selection.anchor_sizes == ("M6", "M12")
    assert view.problems == ()


@pytest.mark.parametrize(
    ("search", "said"),
    [
        ("?sites=NOWHERE", "site “NOWHERE”"),
        ("?crews=%3Cscript%3E", "crew “<script>”"),
        ("?check=drop%20table", "check “drop table”"),
        ("?from=2026-02-30", "2026-02-30"),
        ("?to=%00", "to"),
        ("?page=-1", "page “-1”"),
        ("?page=٣", "page “٣”"),
        ("?from=2026-03-01&to=2026-02-01", "is after"),
        ("?" + "a" * 9000, "too long"),
    ],
)
def test_parse_view_bad_input_is_said_in_words(search: str, said: str) -> None:
    view = parse_view(search, CHOICES)
    assert len(view.problems) == 1
    assert said in view.problems[0]


def test_parse_view_unknown_value_leaves_the_known_ones() -> None:
    view = parse_view("?sites=A,NOWHERE&utm_source=mail", CHOICES)
    assert view.selection.site_codes == ("A",)
    assert len(view.problems) == 1


def test_view_shows_one_check_where_none_was_chosen() -> None:
    view = parse_view("", CHOICES)
    assert view.selection.check_names == ()
    assert view.one_check.check_names == (DEFAULT_CHECK,)


def test_hrefs() -> None:
    selection = Selection(site_codes=("B,2",), check_names=("hole_depth",))
    after = [("after", ("2026-05-04", "B,2", "R1"))]
    assert (
        records_href(selection, after)
        == "/records?sites=B%2C2&check=hole_depth&after=2026-05-04,B%2C2,R1"
    )
    assert record_href("A", "R 1/2") == "/records?site=A&record=R%201%2F2"
    assert format_search(Selection()) == ""
