"""The readers' decisions, clicked through, against the terminal's figures.

Each test asks the terminal first and expects its words and numbers on the page. The
demo's truths (demo_data) say what a right answer is: who was made to differ.
"""

import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from playwright.sync_api import Page, expect
from polars.testing import assert_frame_equal

from dashboard.command import main
from queries.store import Store
from tests.browser.conftest import Opened

pytestmark = pytest.mark.browser

Asked = Callable[..., Any]


@pytest.fixture
def terminal(demo_store: Store, capsys: pytest.CaptureFixture[str]) -> Asked:
    """Ask the command on the store that the pages show; JSON is read."""

    def ask(*words: str) -> Any:
        capsys.readouterr()
        assert main([*words, "--store", str(demo_store.folder)]) == 0
        said = capsys.readouterr().out
        return json.loads(said) if "json" in words else said

    return ask


def plain(said: str) -> str:
    """Return a text with its narrow and no-break spaces as plain ones."""
    return re.sub(r"\s+", " ", said)


def shown(page: Page, name: str) -> str:
    """Return the words of a part of the page, once it is weighed."""
    part = page.locator(f"#{name}")
    # A page's parts are weighed one after the other; two busy cores take a while.
    expect(part.get_by_text("Being weighed")).to_have_count(0, timeout=90_000)
    return plain(part.inner_text())


def assert_files_answer(page: Page) -> None:
    """Fetch each CSV that the page offers, once all of its parts are there."""
    expect(page.get_by_text("Being weighed")).to_have_count(0, timeout=90_000)
    offered = page.locator("a[href^='/csv/']").evaluate_all(
        "links => links.map(link => link.href)"
    )
    assert offered
    for address in dict.fromkeys(offered):
        assert page.request.get(address).ok, address


def test_which_site_is_out_of_line_and_what_to_raise(
    opened: Opened, terminal: Asked, demo_store: Store
) -> None:
    asked = ("compare", "--by", "site", "--check", "hole_cleaning", "--format", "json")
    flagged = [row for row in terminal(*asked) if row["flagged"]]
    # Planted: one site cleans its holes too little (demo_data's truth).
    assert [row["group"] for row in flagged] == ["BRINE"]
    with demo_store.reader() as con:
        [(name,)] = con.execute(
            "select site_name from site where site_code = 'BRINE'"
        ).fetchall()
    with opened("/sites") as page:
        page.get_by_role("link", name="Hole cleaning", exact=True).first.click()
        lead = page.locator("#page .lead")
        expect(lead).to_contain_text(
            f"Out of line for its mix of sizes, methods and orientations: {name}, "
            f"{flagged[0]['nonconforming']} nonconforming where "
            f"{flagged[0]['expected']:.1f} would be expected"
        )
        with page.expect_download() as sheet:
            page.locator("a[href^='/pdf/site'][href*='BRINE']").first.click()
        assert sheet.value.suggested_filename.endswith(".pdf")
        assert sheet.value.path().read_bytes().startswith(b"%PDF")
        assert_files_answer(page)


def test_whether_a_rate_near_nothing_can_be_believed(
    opened: Opened, terminal: Asked
) -> None:
    asked = ("rates", "--by", "site", "--check", "hole_cleaning", "--format", "json")
    silent = [row for row in terminal(*asked) if row["rate"] is None]
    # Planted: one site records no cleaning at all (demo_data's truth).
    assert [row["site"] for row in silent] == ["LOWLAND"]
    with opened("/sites?check=hole_cleaning") as page:
        expect(page.locator("#page .lead")).to_contain_text("Nothing to judge at")
        page.get_by_text("Table: hole cleaning by site").click()
        row = page.locator("#comparison tr", has_text="Lowland").first
        expect(row).to_contain_text("nothing to judge")
        # All that is known of its rate: nothing.
        assert silent[0]["rate_if_unrecorded_conform"] == 0
        assert silent[0]["rate_if_unrecorded_not"] == 1
        expect(row).to_contain_text(re.compile(r"0\.0\W100\.0\s%"))


def test_whom_to_retrain_on_what_first(opened: Opened, terminal: Asked) -> None:
    weighed = terminal("retrain", "--budget", "3", "--format", "json")
    assert len(weighed) == 3
    # What is not clear of chance stands in the table only.
    entries = [plain(row["sentence"]) for row in weighed if row["is_clear"]]
    assert entries
    with opened("/crews") as page:
        found = shown(page, "retraining")
        assert [found.index(entry) for entry in entries] == sorted(
            found.index(entry) for entry in entries
        )
        page.locator("#retraining").get_by_role("link", name="3", exact=True).click()
        expect(page).to_have_url(re.compile("budget=3"))
        expect(page.locator("#retraining")).to_contain_text("budget of 3")
        assert shown(page, "retraining").count("of the next") == len(entries)
        expect(page.locator("#retraining .chart")).to_be_visible()
        # What the entry counts is what its link lists.
        page.get_by_role("link", name="Its nonconforming anchors").first.click()
        expect(page).to_have_url(re.compile("/records"))
        counted = re.compile(rf"\b{weighed[0]['nonconforming']}\b")
        expect(page.locator("#page .lead")).to_contain_text(counted)


def test_whether_training_helped(opened: Opened, terminal: Asked) -> None:
    results = [plain(part) for part in terminal("training").strip().split("\n\n")]
    # Planted: one training worked, one did not (demo_data's truth).
    assert any("fell by more than chance explains" in said for said in results)
    assert any("No effect can be told from chance" in said for said in results)
    with opened("/crews") as page:
        page.get_by_role("link", name=re.compile("raining helped")).first.click()
        found = shown(page, "trainings")
        for said in results:
            assert said in found


def test_what_each_embedment_costs_on_a_new_site(
    opened: Opened, terminal: Asked
) -> None:
    asked = ("drilling", "--size", "M16", "--format", "json")
    options = terminal(*asked)["options"]
    assert len(options) > 1
    with opened("/drilling") as page:
        field = page.get_by_role("textbox", name="Size", exact=True)
        field.click()
        page.get_by_role("option", name="M16", exact=True).click()
        expect(page).to_have_url(re.compile("size=M16"))
        lead = page.locator("#page .lead")
        ends = sorted(options, key=lambda option: option["embedment_mm"])
        for option in (ends[0], ends[-1]):
            expect(lead).to_contain_text(
                f"{option['hours_per_100_p50']:.2f}\xa0h of drilling per 100 anchors "
                f"at {option['embedment_mm']:.0f}\xa0mm"
            )
        expect(lead).to_contain_text(f"{100 * ends[0]['cone_ratio']:.0f}\xa0% of its")
        part = page.locator("section.part", has_text="Embedments side by side").first
        time = part.locator("tr", has_text="Drilling per good hole, s, P50").locator(
            "td"
        )
        hours = part.locator("tr", has_text="Drilling, h per 100, P50").locator("td")
        heads = part.locator("thead th")
        for at, option in enumerate(options):
            expect(heads.nth(at + 1)).to_contain_text(f"{option['embedment_mm']:.0f}")
            expect(time.nth(at)).to_contain_text(f"{60 * option['p50_min']:.1f}")
            expect(hours.nth(at)).to_contain_text(f"{option['hours_per_100_p50']:.2f}")


def test_a_list_of_anchors_follows_what_is_chosen(
    opened: Opened, terminal: Asked, tmp_path: Path
) -> None:
    path = tmp_path / "level two.csv"
    path.write_text("size,embedment,count\nM16,84,400\nM16,110,1\n", "utf-8")
    asked = ("drilling", "--bill", str(path), "--format")
    bill = terminal(*asked, "json")
    with opened("/drilling") as page:
        page.set_input_files("#bill input[type=file]", path)
        hours = page.locator("#bill-hours")
        expect(hours).to_contain_text(f"{bill['p50_h']:.2f}\xa0h of drilling at 50")
        expect(hours).to_contain_text(f"{bill['p80_h']:.2f}\xa0h at 80")
        last = hours.locator("tbody tr").nth(1)
        expect(last).to_contain_text(f"{bill['lines'][1]['p50_h']:.3f}")
        with page.expect_download() as download:
            hours.get_by_role("link", name="CSV").click()
        assert download.value.suggested_filename == "hours for level two.csv"
        taken = pl.read_csv(download.value.path())
        printed = pl.read_csv(io.StringIO(terminal(*asked, "csv")))
        # The page holds a fit; the terminal makes its own, to a part in ten million.
        assert_frame_equal(taken.fill_null(""), printed.fill_null(""), rel_tol=1e-6)

        # 84 mm is 3.307 in (25.4 mm an inch). The list was not chosen again.
        page.get_by_role("link", name="in, ft·lbf").click()
        expect(page).to_have_url(re.compile("units=inch"))
        expect(hours.locator("tbody tr").first).to_contain_text("3.307")
