"""A log that no site map is for: drafted, answered and tried on the page Intake."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from demo_data.setting import SETTING_DATA_PATH
from queries.store import Store
from tests.browser.conftest import Opened, served
from tests.browser.test_pages import require_accessible, require_fits

pytestmark = pytest.mark.browser

LOG = """Nr,Datum,Kolonne,M10,M12,Gereinigt ja,Gereinigt nein,Bohrtiefe (mm)
1,2026-05-04,K1,,x,x,,92
2,2026-05-04,K1,x,,,x,70
"""
# What the draft asks, answered: which setting data each size is (demo_data).
ANSWERS = {
    "# setting_code = {ticked": "setting_code = {ticked",
    "# [codes.setting_code]": "[codes.setting_code]",
    '# "M10" = "?"': '"M10" = "DZ-M10-58"',
    '# "M12" = "?"': '"M12" = "DZ-M12-68"',
}


def test_a_draft_is_answered_on_the_page(opened: Opened, tmp_path: Path) -> None:
    with opened("/intake?sizes=M12&units=inch") as page:
        text = answer_draft(page, tmp_path / "ticks.csv")
        assert "sizes=M12&units=inch" in page.url
        expect(page.locator("#maps-kept")).to_be_focused()
        # What was kept is shown, not the draft that was answered.
        expect(page.get_by_label("The site map (TOML)")).to_have_value(text)
        expect(page.get_by_text("no site map of this store is for")).to_have_count(0)

        page.get_by_role("button", name="Try again with this map").click()
        expect(page.get_by_role("button", name="Load this file")).to_be_visible()
        receipt = page.get_by_role("table", name="Receipt").get_by_role("row").nth(1)
        # Two rows read, two that would be loaded, and nothing else.
        assert receipt.inner_text().split()[-6:] == ["2", "2", "0", "0", "0", "0"]

        page.get_by_text("Change a site map in force").click()
        chooser = page.locator("#text-map-text-of")
        chooser.select_option(label="TICKS (TICKS): ticks.toml")
        expect(page.get_by_label("Its text (TOML)")).to_have_value(text)
        require_fits(page, 390, 1400)
        require_accessible(page)


def send(page: Page, path: Path) -> None:
    page.set_input_files("#file-log", path)
    page.get_by_role("button", name="Try it").click()


def answer_draft(page: Page, path: Path) -> str:
    """Send LOG, answer what its draft asks and keep it; return the map's text."""
    path.write_text(LOG, "utf-8")
    send(page, path)
    draft = page.get_by_label("The draft (TOML)")
    expect(draft).to_be_visible()
    text = draft.input_value()
    for asked, answered in ANSWERS.items():
        assert asked in text
        text = text.replace(asked, answered)
    draft.fill(text)
    form = page.locator(".file-form").filter(has=draft)
    form.get_by_role("button", name="Check and keep it").click()
    kept = page.locator("#maps-kept")
    expect(kept).to_contain_text(f"{path.stem}.toml has no fault and is in force")
    return text


def test_an_empty_store_is_begun_in_the_browser(opened: Opened, tmp_path: Path) -> None:
    store = Store(tmp_path / "new")
    with served(store) as at, opened("/", at=at) as page:
        heading = page.get_by_role("heading", level=1)
        expect(heading).to_have_text("Begin")
        require_fits(page, 390, 1400)
        require_accessible(page)
        send(page, SETTING_DATA_PATH)
        page.get_by_role("button", name="Load this file").click()
        expect(page.get_by_text("Edition 1 is published")).to_be_visible()
        page.get_by_role("link", name="Sites", exact=True).click()
        # The sheet has so many lines without its header.
        rows = len(SETTING_DATA_PATH.read_text("utf-8").splitlines()) - 1
        expect(page.get_by_text(f"{rows} rows of setting data")).to_be_visible()
        answer_draft(page, tmp_path / "ticks.csv")
        page.get_by_role("button", name="Try again with this map").click()
        page.get_by_role("button", name="Load this file").click()
        expect(page.get_by_text("Edition 2 is published")).to_be_visible()
        page.get_by_role("link", name="Sites", exact=True).click()
        expect(heading).to_have_text("Sites")
        expect(page.get_by_text("Begin", exact=True)).to_have_count(0)


def test_a_map_s_text_goes_with_its_own_name(opened: Opened) -> None:
    """A slow answer of a map that was chosen before is not shown as the next one's."""
    with opened("/intake") as page:
        page.get_by_text("Change a site map in force").click()
        held: list[Route] = []
        page.route("**/intake/maps/*.toml", lambda route: held.append(route))
        for place in (1, 2):
            page.locator("#text-map-text-of").select_option(index=place)
            wait_for(page, held, place)
        text = page.get_by_label("Its text (TOML)")
        # While none has come, there is nothing to be sent.
        form = page.locator(".file-form").filter(has=text)
        form.get_by_role("button").click()
        expect(form).to_contain_text("Choose one first.")
        second = held[1].fetch().text()
        held[1].fulfill(body=second)
        expect(text).to_have_value(second)
        held[0].continue_()
        page.wait_for_timeout(500)
        assert text.input_value() == second


def wait_for(page: Page, held: list[Route], count: int) -> None:
    for _ in range(100):
        if len(held) >= count:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{len(held)} texts were asked for, expected {count}")
