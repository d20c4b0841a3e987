"""What is entered on a findings sheet is never lost, is shared at once, and can be taken back."""

from __future__ import annotations

import time
from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.app.browser.findings_hands import asked, begin, heard, key_in, row, sheet_of, store, take_up
from tests.app.browser.watching import Faults
from tests.app.served import Bench

LOST_s = 20
OpenPage = Callable[..., Page]


# --- nothing is lost -----------------------------------------------------------------------------------


def test_a_reload_keeps_a_half_typed_number_the_check_and_the_note(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "blind-disc")
    key_in(row(page, "blind-disc.brew_gauge"), "9.")
    page.reload()
    expect(page.locator("[data-check=blind-disc]")).to_be_visible()
    line = row(page, "blind-disc.brew_gauge")
    expect(line.locator("input")).to_have_value("9.")
    key_in(line, "4")
    line.locator(".store").tap()
    heard(page)
    assert asked(page)["findings"][-1]["value"] == 9.4


def test_not_a_letter_is_lost_while_the_network_is_away_for_20_s(page: Page, faults: Faults) -> None:
    faults.allow_lost_line()
    begin(page, "slow")
    take_up(page, "free-flow")
    heard(page)
    page.context.set_offline(True)
    lost = time.monotonic()
    store(page, "free-flow.water", "33")
    expect(page.locator("[data-reading='free-flow.water'] .value")).to_contain_text("33")
    store(page, "free-flow.brew_gauge", "8.9")
    note = "The owner says it hums at first.\nThen a thin stream; scale in the cup?"
    page.locator("#note").press_sequentially(note, delay=5)
    key_in(row(page, "free-flow.drain"), "1")
    expect(page.locator(".line-state")).to_be_visible()
    expect(page.locator(".foot-line .waits")).to_contain_text("waiting for the line")
    while time.monotonic() - lost < LOST_s:
        page.wait_for_timeout(500)
    page.context.set_offline(False)
    heard(page)
    expect(page.locator(".line-state")).to_be_hidden()
    expect(row(page, "free-flow.drain").locator("input")).to_have_value("1")
    sheet = asked(page)
    assert [(one["reading"], one["value"]) for one in sheet["findings"]] == [
        ("water", 33.0),
        ("brew_gauge", 8.9),
    ]
    assert sheet["note"] == note


def entered_without_a_server(open_page: OpenPage, bench: Bench, faults: Faults) -> Page:
    """A sheet on which a reading was stored after its server had gone."""
    faults.allow_lost_line()
    page = open_page()
    begin(page, "slow")
    take_up(page, "free-flow")
    heard(page)
    bench.stop()
    store(page, "free-flow.water", "34")
    return page


def test_what_was_entered_while_the_server_was_away_comes_after_a_reload_of_the_browser(
    open_page: OpenPage, own_bench: Bench, faults: Faults
) -> None:
    page = entered_without_a_server(open_page, own_bench, faults)
    expect(page.locator(".foot-line .waits")).to_have_text("1 waiting for the line")
    sheet = page.url
    page.goto("about:blank")
    own_bench.start()
    page.goto(sheet)
    heard(page)
    assert [one["value"] for one in asked(page)["findings"]] == [34.0]


def test_a_server_started_again_is_found_by_the_page_that_stood_open(
    open_page: OpenPage, own_bench: Bench, faults: Faults
) -> None:
    page = entered_without_a_server(open_page, own_bench, faults)
    expect(page.locator(".line-state")).to_be_visible()
    own_bench.start()
    heard(page)
    expect(page.locator(".line-state")).to_be_hidden()
    assert [one["value"] for one in asked(page)["findings"]] == [34.0]


def test_what_the_server_cannot_take_is_told_and_holds_nothing_else_up(page: Page, faults: Faults) -> None:
    faults.allow(r"status of 422")
    begin(page, "slow")
    take_up(page, "free-flow")
    heard(page)
    store(page, "free-flow.water", "999999999")
    store(page, "free-flow.brew_gauge", "8.5")
    heard(page)
    expect(page.locator("[data-place=top] .problems li")).to_contain_text("Not taken")
    page.reload()
    page.locator("[data-place=top] .problems button").tap()
    expect(page.locator("[data-place=top] .problems li")).to_have_count(0)
    assert [one["value"] for one in asked(page)["findings"]] == [8.5]


def test_two_clients_on_one_sheet_see_each_other_and_both_are_kept(open_page: OpenPage) -> None:
    tablet, phone = open_page(), open_page("phone")
    begin(tablet, "slow")
    take_up(tablet, "free-flow")
    phone.goto(f"/findings/{sheet_of(tablet)}")
    take_up(phone, "blind-disc")
    store(tablet, "free-flow.water", "32")
    store(phone, "blind-disc.brew_gauge", "9.6")
    for page in (tablet, phone):
        page.locator("[data-key='taken:summary']").tap()
        expect(page.locator(".taken-list li")).to_have_count(2, timeout=15_000)
    assert {one["value"] for one in asked(tablet)["findings"]} == {32.0, 9.6}
    assert tablet.locator(".leading li").first.inner_text() == phone.locator(".leading li").first.inner_text()


# --- taking back, doubting, repeating ------------------------------------------------------------------


def test_undo_says_what_it_takes_back_and_takes_it_back(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "free-flow")
    store(page, "free-flow.water", "30")
    heard(page)
    undo = page.locator("[data-key=undo]")
    expect(undo).to_contain_text("30 g")
    undo.tap()
    heard(page)
    expect(page.locator("[data-reading='free-flow.water'] .value")).to_have_text("")
    assert asked(page)["findings"] == []
    assert asked(page)["complaints"] == ["slow"]


def test_a_finding_can_be_doubted_repeated_and_struck_out(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "free-flow")
    store(page, "free-flow.water", "30")
    heard(page)
    page.locator("[data-key='taken:summary']").tap()
    page.locator("[data-key^='doubt-']").tap()
    expect(page.locator(".taken-list em")).to_contain_text("doubted")
    page.locator("[data-key^='again-']").tap()
    store(page, "free-flow.water", "31")
    expect(page.locator(".taken-list li")).to_have_count(2)
    heard(page)
    page.locator("[data-key^='strike-']").first.tap()
    expect(page.locator(".taken-list li")).to_have_count(1)
    heard(page)
    assert [(one["value"], one["doubted"]) for one in asked(page)["findings"]] == [(31.0, False)]


def test_what_could_not_be_measured_or_never_came_about_is_said_so(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "free-flow")
    row(page, "free-flow.water").get_by_role("button", name="Could not measure").tap()
    row(page, "free-flow.brew_gauge").get_by_role("button", name="Low", exact=True).tap()
    row(page, "free-flow.drain").get_by_role("button", name="Never came about").tap()
    heard(page)
    found = {one["reading"]: (one["measured"], one["value"]) for one in asked(page)["findings"]}
    assert found == {"water": (False, None), "brew_gauge": (True, "low"), "drain": (True, None)}


def test_undo_takes_back_nothing_somebody_else_has_entered_meanwhile(
    open_page: OpenPage, faults: Faults
) -> None:
    faults.allow_lost_line()
    tablet, phone = open_page(), open_page("phone")
    begin(tablet, "slow")
    take_up(tablet, "free-flow")
    store(tablet, "free-flow.water", "32")
    heard(tablet)
    # The tablet does not look by itself, so that it still offers what was last when it looked.
    tablet.route("**/answer", lambda route: route.abort())
    phone.goto(f"/findings/{sheet_of(tablet)}")
    take_up(phone, "blind-disc")
    store(phone, "blind-disc.brew_gauge", "9.6")
    heard(phone)
    tablet.unroute("**/answer")
    tablet.evaluate("document.querySelector('[data-key=undo]').click()")
    expect(tablet.locator("[data-key=undo]")).to_contain_text("9.6 bar")
    assert [one["value"] for one in asked(tablet)["findings"]] == [32.0, 9.6]


def test_taking_back_what_still_waits_for_the_line_takes_back_that_and_no_more(
    page: Page, faults: Faults
) -> None:
    faults.allow_lost_line()
    begin(page, "slow")
    take_up(page, "free-flow")
    store(page, "free-flow.water", "32")
    heard(page)
    page.context.set_offline(True)
    store(page, "free-flow.brew_gauge", "7.7")
    page.locator("[data-key=undo]").tap()
    expect(page.locator("[data-reading='free-flow.brew_gauge'] .value")).to_have_text("")
    page.context.set_offline(False)
    heard(page)
    assert [one["value"] for one in asked(page)["findings"]] == [32.0]


def test_a_name_for_the_sheet_and_a_note_are_kept_as_typed(page: Page) -> None:
    begin(page, "slow")
    page.locator("#label").fill("Shelf 3, the blue one")
    page.locator("#note").fill("<b>wet</b> & loud")
    heard(page)
    page.reload()
    expect(page.locator("#note")).to_have_value("<b>wet</b> & loud")
    page.goto("/findings")
    expect(page.locator(".sheet-tile strong").first).to_have_text("Shelf 3, the blue one")


def test_what_the_server_has_is_taken_back_by_name_while_the_line_is_away(
    open_page: OpenPage, faults: Faults
) -> None:
    faults.allow_lost_line()
    tablet, phone = open_page(), open_page("phone")
    begin(tablet, "slow")
    take_up(tablet, "free-flow")
    store(tablet, "free-flow.water", "28.5")
    heard(tablet)
    undo = tablet.locator("[data-key=undo]")
    expect(undo).to_contain_text("28.5 g")
    tablet.context.set_offline(True)
    undo.tap()
    expect(tablet.locator("[data-reading='free-flow.water'] .value")).to_have_text("")
    expect(undo).to_be_disabled()
    # Somebody else writes before the undo arrives: that stands.
    phone.goto(f"/findings/{sheet_of(tablet)}")
    take_up(phone, "blind-disc")
    store(phone, "blind-disc.brew_gauge", "9.6")
    heard(phone)
    tablet.context.set_offline(False)
    heard(tablet)
    assert [one["value"] for one in asked(tablet)["findings"]] == [9.6]


def test_a_key_that_bounces_stores_one_reading_and_not_the_next(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "blind-disc")
    line = row(page, "blind-disc.rim")
    key = line.locator(".outcome").first
    box = key.bounding_box()
    assert box
    for _ in range(2):
        page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(page.locator("[data-enter='blind-disc.spindle']")).to_be_visible()
    heard(page)
    assert [one["reading"] for one in asked(page)["findings"]] == ["rim"]
