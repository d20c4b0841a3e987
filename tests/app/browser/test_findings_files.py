"""Findings files in and out, the summary for paper, and sheets put away."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.app.browser.findings_hands import MACHINE, asked, begin, heard, sheet_of, store, take_up
from tests.app.browser.watching import Faults


def test_a_findings_file_goes_out_and_comes_in_again(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "free-flow")
    store(page, "free-flow.water", "28.5")
    heard(page)
    text = page.request.get(f"/api/findings/{sheet_of(page)}/file").text()
    first = sheet_of(page)
    page.goto("/findings")
    file = {"name": "mine.yaml", "mimeType": "text/yaml", "buffer": text.encode()}
    page.locator("#findings-file").set_input_files([file])
    expect(page.locator("#check-title, #repair-title").first).to_be_visible()
    assert sheet_of(page) != first
    assert [one["value"] for one in asked(page)["findings"]] == [28.5]


def test_a_findings_file_with_faults_is_refused_line_by_line(page: Page, faults: Faults) -> None:
    faults.allow(r"status of 422")
    page.goto("/findings")
    text = f"machine: {MACHINE}\ncomplaint: slwo\nfindings:\n  free-flow:\n    water: <b>much</b>\n"
    file = {"name": "bad.yaml", "mimeType": "text/yaml", "buffer": text.encode()}
    page.locator("#findings-file").set_input_files([file])
    expect(page.locator("[data-said] li")).to_have_count(2)
    expect(page.locator("[data-said] li").first).to_contain_text("Line 2")
    expect(page.locator("[data-said] b")).to_have_count(0)


def test_the_summary_fits_one_sheet_of_paper_and_promises_nothing(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "free-flow")
    store(page, "free-flow.water", "30")
    heard(page)
    page.goto(f"/findings/{sheet_of(page)}/print")
    paper = page.locator(".paper")
    for text in (
        "Pours slowly",
        "Water in 10 s",
        "30",
        "These tests were made on",
        "no certainty",
        "Signature",
    ):
        expect(paper).to_contain_text(text, ignore_case=True)
    assert not re.search(r"machine is safe|certainly|user error", paper.inner_text(), re.IGNORECASE)
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True))) == 1


def test_a_removed_sheet_is_asked_twice_for_and_can_be_brought_back(page: Page) -> None:
    begin(page, "slow")
    sheet = sheet_of(page)
    page.locator("[data-remove]").tap()
    expect(page.locator("[data-remove]")).to_contain_text("again")
    page.locator("[data-remove]").tap()
    page.locator("[data-key=bring-back]").tap()
    expect(page.locator("#check-title")).to_be_visible()
    assert sheet_of(page) == sheet
