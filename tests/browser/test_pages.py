"""Every page, as its readers meet it: wide, narrow, light and dark."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from queries.readers.choices import read_choices
from queries.store import Store
from tests.browser.conftest import Opened

pytestmark = pytest.mark.browser

# Path, heading, and something that is there only when data are shown.
PAGES = [
    ("/sites", "Sites", ".js-plotly-plot .main-svg"),
    ("/crews", "Crews", ".js-plotly-plot .main-svg"),
    ("/drilling", "Drilling", ".js-plotly-plot .main-svg"),
    ("/records", "Records", "#page table tbody tr"),
    ("/intake", "Intake", "#page table tbody tr"),
    ("/method", "Method", "#page table tbody tr"),
]
each_page = pytest.mark.parametrize(("path", "heading", "data"), PAGES)

# WCAG 2.2 AA, by the rules axe-core can check. Telling what passes, which nobody reads
# here, would take it as long again.
TOLD = {"resultTypes": ["violations"]}
AXE = TOLD | {"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}
# What of it another theme can change.
AXE_OF_COLOUR = TOLD | {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
SCHEME = "data-mantine-color-scheme"
STANDING = "What stands out"
CAUTION = "never accepts, rejects or certifies"


def settled_width(page: Page, width: int) -> int:
    """Return how wide the page is; two dozen charts take a while to follow a window."""
    for _ in range(300):
        page.wait_for_timeout(100)
        if page.evaluate("document.documentElement.scrollWidth") <= width:
            break
    return int(page.evaluate("document.documentElement.scrollWidth"))


def require_fits(page: Page, *widths: int) -> None:
    for width in widths:
        page.set_viewport_size({"width": width, "height": 1000})
        assert settled_width(page, width) <= width


def require_accessible(page: Page) -> None:
    for scheme, rules in (("light", AXE), ("dark", AXE_OF_COLOUR)):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        expect(page.locator(f"html[{SCHEME}={scheme}]")).to_have_count(1)
        results = Axe().run(page, options=rules)
        assert results.violations_count == 0, results.generate_report()


@each_page
def test_a_page_opens_with_data_fits_and_is_accessible(
    opened: Opened, path: str, heading: str, data: str
) -> None:
    with opened(path, width=390) as page:
        expect(page.locator("#page h1")).to_have_text(heading)
        expect(page.locator(data).first).to_be_visible()
        expect(page.locator("body")).to_contain_text(CAUTION)
        expect(page.get_by_text("Being weighed")).to_have_count(0)
        require_fits(page, 390, 800, 1920, 1400)
        if path != "/crews":
            require_accessible(page)


# Every kind of part is there for three crews as for 75, and axe reads each node.
def test_the_page_of_crews_is_accessible(opened: Opened) -> None:
    with opened("/crews?crews=C01,C02,C17") as page:
        page.locator(".js-plotly-plot .main-svg").first.wait_for()
        expect(page.get_by_text("Being weighed")).to_have_count(0)
        require_accessible(page)


def choose(page: Page, label: str, option: str) -> None:
    """Choose in a filter by its label, as a person would."""
    field = page.get_by_role("textbox", name=label, exact=True)
    if not field.is_visible():
        page.locator("#filter-toggle").click()
    field.click()
    page.get_by_role("option", name=option, exact=True).click()
    page.keyboard.press("Escape")


@pytest.mark.parametrize("path", ["/sites", "/drilling", "/records"])
def test_a_page_reacts_to_a_filter_and_keeps_it_in_the_address(
    opened: Opened, path: str
) -> None:
    with opened(path) as page:
        # Its first line: others may be weighed later.
        lead = page.locator("#page .lead p").first
        before = lead.text_content() or ""
        choose(page, "Sizes", "M10")
        expect(page).to_have_url(re.compile(r"\?.*sizes=M10"))
        expect(lead).not_to_have_text(before)
        after = lead.text_content() or ""
        link = page.url
        page.goto(link)
        page.wait_for_selector("#page h1")
        # The link alone gives the same view.
        expect(lead).to_have_text(after)


def test_the_sizes_stand_in_order_of_diameter(
    opened: Opened, demo_store: Store
) -> None:
    with demo_store.reader() as con:
        sizes = list(read_choices(con).anchor_sizes)
    assert sizes.index("M6") < sizes.index("M8") < sizes.index("M10")
    with opened("/sites") as page:
        page.get_by_role("textbox", name="Sizes", exact=True).click()
        page.get_by_role("option").first.wait_for()
        assert page.get_by_role("option").all_inner_texts() == sizes


def test_a_table_is_ordered_by_its_heads_and_the_address(opened: Opened) -> None:
    def rates(page: Page) -> list[float]:
        cells = page.get_by_role("table", name=STANDING).locator(
            "tbody td:nth-child(3)"
        )
        expect(cells.nth(2)).to_be_visible()
        texts = [cell.inner_text().split()[0] for cell in cells.all()]
        return [float(text) for text in texts]

    with opened("/sites?sizes=M12,M16") as page:
        as_it_came = rates(page)
        head = page.get_by_role("table", name=STANDING).get_by_role(
            "columnheader", name="Rate"
        )
        for way, expected in (
            ("descending", sorted(as_it_came, reverse=True)),
            ("ascending", sorted(as_it_came)),
        ):
            head.get_by_role("button").click()
            expect(head).to_have_attribute("aria-sort", way)
            assert rates(page) == expected
        assert "/sites?sizes=M12,M16&sort=" in page.url
        page.reload()
        assert rates(page) == sorted(as_it_came)
        head.get_by_role("button").click()
        assert rates(page) == as_it_came
        assert page.url.endswith("/sites?sizes=M12,M16")


def test_from_a_list_to_one_record_and_its_row(opened: Opened) -> None:
    with opened("/records?check=setting_torque") as page:
        page.locator("#page table tbody a").first.click()
        expect(page).to_have_url(re.compile("record="))
        text = page.locator("#page")
        expect(text).to_contain_text("Setting torque")
        expect(text).to_contain_text(re.compile(r"row \d+", re.IGNORECASE))
        expect(text).to_contain_text(re.compile(r"\.(csv|xlsx|jsonl)"))


def test_an_address_of_nonsense_is_answered_in_words(opened: Opened) -> None:
    with opened("/sites?from=yesterday&sites=NOWHERE&check=colour&utm=1") as page:
        expect(page.locator("#page")).to_contain_text("NOWHERE")
        expect(page.locator("#page h1")).to_have_text("Sites")
    with opened("/nowhere") as page:
        expect(page.locator("#page")).to_contain_text("/nowhere")


def test_no_chart_offers_to_send_itself_anywhere(opened: Opened) -> None:
    with opened("/sites") as page:
        page.locator(".js-plotly-plot").first.hover()
        assert "cloud" not in page.locator("#page").inner_html().lower()


def test_on_a_phone_what_stands_out_is_read_in_words(opened: Opened) -> None:
    with opened("/sites", width=390) as page:
        cells = page.locator("#stands-out td.number:visible")
        expect(cells.first).to_be_visible()
        heights = cells.evaluate_all("all => all.map((one) => one.offsetHeight)")
    # A line of 13.5 px type is 18 px high; a figure and its small print take two.
    assert heights and max(heights) <= 45
