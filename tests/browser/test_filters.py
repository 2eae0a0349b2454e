"""The frame around the pages: which filters a page reads, and the button of paper."""

import pytest
from playwright.sync_api import Page, expect

from dashboard.shell import FILTER_IDS
from tests.browser.conftest import Opened

pytestmark = pytest.mark.browser


def off(page: Page) -> set[str]:
    """Return the filters that cannot be set."""
    return {name for name in FILTER_IDS if page.locator(f"input#{name}").is_disabled()}


def places(page: Page) -> list[object]:
    """Return where the filters stand, to half a pixel, and how high their bar is."""
    boxes = [page.locator(f"#{name}").bounding_box() for name in FILTER_IDS]
    bar = page.locator(".filter-bar").bounding_box()
    assert bar
    return [
        *(box and [round(2 * box[side]) for side in ("x", "y")] for box in boxes),
        round(2 * bar["height"]),
    ]


def test_a_filter_that_a_page_does_not_read_is_off_and_stays_in_place(
    opened: Opened,
) -> None:
    with opened("/sites") as page:
        check = page.locator("#filter-check")
        expect(check).to_have_attribute("placeholder", "All four headline checks")
        assert off(page) == set()
        before = places(page)
        for title, unread, says in (
            ("Crews", set(), "Setting torque"),
            ("Drilling", {"filter-check"}, "Does not apply here"),
            ("Records", set(), "Any"),
            ("Intake", set(FILTER_IDS), "Does not apply here"),
            ("Method", set(FILTER_IDS), "Does not apply here"),
            ("Sites", set(), "All four headline checks"),
        ):
            page.locator("#navigation").get_by_role("link", name=title).click()
            expect(page.locator("#page h1")).to_have_text(title)
            expect(check).to_have_attribute("placeholder", says)
            assert off(page) == unread
            assert places(page) == before


def test_a_chosen_check_is_kept_over_a_page_that_does_not_read_it(
    opened: Opened,
) -> None:
    with opened("/intake?check=hole_cleaning&sites=BRINE") as page:
        expect(page.locator("#filter-check")).to_have_value("Hole cleaning")
        page.locator("#navigation").get_by_role("link", name="Sites").click()
        expect(page.locator("#page h1")).to_have_text("Sites")
        assert page.url.endswith("/sites?sites=BRINE&check=hole_cleaning")


def test_folded_filters_say_how_many_are_set(opened: Opened) -> None:
    with opened("/records?sizes=M12,M16&units=inch&from=2026-02-01", 390) as page:
        folded = page.locator("#filter-toggle")
        expect(folded).to_have_text("Filters: 2 set")
        page.locator(".wordmark").click()
        expect(page.locator("#page h1")).to_have_text("Sites")
        expect(folded).to_have_text("Filters: 2 set")
    with opened("/sites?units=inch", 390) as page:
        expect(page.locator("#page h1")).to_have_text("Sites")
        expect(page.locator("#filter-toggle")).to_have_text("Filters")


def test_the_wordmark_leads_to_sites_with_what_is_chosen(opened: Opened) -> None:
    with opened("/records?sizes=M12&units=inch") as page:
        page.locator(".wordmark").click()
        expect(page.locator("#page h1")).to_have_text("Sites")
        assert page.url.endswith("/sites?sizes=M12&units=inch")


def test_a_link_to_a_part_goes_there(opened: Opened) -> None:
    """On another page, whose parts come later; and at once by its own address."""
    with opened("/sites") as page:
        page.evaluate("history.pushState({}, '', '/crews#doubts')")
        page.evaluate("dispatchEvent(new CustomEvent('_dashprivate_pushstate'))")
        expect(page.locator("#page h1")).to_have_text("Crews")
        expect(page.locator("#doubts")).to_be_in_viewport()
    with opened("/crews#doubts") as page:
        expect(page.locator("#doubts")).to_be_in_viewport()


def test_a_date_with_dots_is_day_first(opened: Opened) -> None:
    with opened("/sites") as page:
        page.locator("input#filter-from").press_sequentially("05.06.2026")
        page.keyboard.press("Tab")
        page.wait_for_url("**/sites?from=2026-06-05")
        expect(page.locator("input#filter-from")).to_have_value("2026-06-05")


def test_enter_takes_the_site_that_the_letters_leave(opened: Opened) -> None:
    with opened("/sites") as page:
        sites = page.locator("input#filter-sites")
        sites.press_sequentially("BRIN")
        sites.press("Enter")
        page.wait_for_url("**/sites?sites=BRINE")


def test_the_button_of_paper_is_called_what_it_shows(opened: Opened) -> None:
    with opened("/method") as page:
        page.get_by_role("button", name="Dark paper", exact=True).click()
        page.get_by_role("button", name="Light paper", exact=True).click()
        expect(
            page.get_by_role("button", name="Dark paper", exact=True)
        ).to_be_visible()
