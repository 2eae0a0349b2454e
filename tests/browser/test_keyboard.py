"""A reader without a mouse: every step of the way is a key, and seen to be one."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opened

pytestmark = pytest.mark.browser

# Outline, or the thicker line of a field without a box, of what has the focus. Between
# a page's end and its beginning nothing of it has.
FOCUS_MARK = """() => {
    let at = document.activeElement;
    if (at === document.body) return true;
    for (; at && at !== document.body; at = at.parentElement) {
        const style = getComputedStyle(at);
        if (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0
            || style.boxShadow !== "none") return true;
    }
    return false;
}"""
FOCUSED = """() => {
    const at = document.activeElement;
    if (at === document.body) return "";
    return at.getAttribute("aria-label") || at.labels?.[0]?.textContent || at.innerText;
}"""


def tab_to(page: Page, name: str) -> None:
    """Press Tab until what has this name has the focus, which must show each time."""
    for _ in range(80):
        page.keyboard.press("Tab")
        assert page.evaluate(FOCUS_MARK), page.evaluate(FOCUSED)
        if (page.evaluate(FOCUSED) or "").strip() == name:
            return
    raise AssertionError(f"{name} is not reached by Tab")


def test_from_the_first_page_to_a_record_by_keys(opened: Opened) -> None:
    with opened("/sites") as page:
        page.keyboard.press("Tab")
        assert page.evaluate(FOCUSED) == "Skip to the page"
        tab_to(page, "Records")
        page.keyboard.press("Enter")
        heading = page.locator("#page h1")
        expect(heading).to_have_text("Records")
        # The new page's heading takes the focus; a Tab before that would be lost.
        expect(heading).to_be_focused()
        tab_to(page, "Sizes")
        page.keyboard.type("M12")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        expect(page).to_have_url(re.compile("sizes=M12"))
        page.keyboard.press("Escape")
        # Until the page has followed, its first record is another.
        expect(page.locator("#page p.scope")).to_contain_text("M12")
        first = page.locator("#page table tbody a").first
        expect(first).to_be_visible()
        tab_to(page, first.inner_text())
        page.keyboard.press("Enter")
        expect(page).to_have_url(re.compile("record="))
        expect(page.locator("#page")).to_contain_text("Setting torque")


@pytest.mark.parametrize("path", ["/", "/sites"])
def test_a_link_of_the_page_keeps_the_keyboard_and_its_place(
    opened: Opened, path: str
) -> None:
    with opened(path) as page:
        tab = page.locator("#page nav").get_by_role("link", name="Edge distance")
        tab.focus()
        top = tab.evaluate("at => at.getBoundingClientRect().top")
        page.keyboard.press("Enter")
        expect(page).to_have_url(re.compile("check=edge_distance"))
        expect(tab).to_have_attribute("aria-current", re.compile("."))
        expect(tab).to_be_focused()
        page.wait_for_load_state("networkidle")
        assert abs(tab.evaluate("at => at.getBoundingClientRect().top") - top) < 3
