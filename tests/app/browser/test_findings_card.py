"""The check in hand on the screens of a bench: what the hand needs stands in one view, asked in place."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.app.browser.findings_hands import (
    asked,
    begin,
    heard,
    key_in,
    row,
    sheet_of,
    store,
    take_up,
)

IN_VIEW = """(selector) => {
  const box = document.querySelector(selector).getBoundingClientRect();
  const foot = document.querySelector(".foot-line").getBoundingClientRect();
  return box.top >= 0 && box.bottom <= foot.top + 1 && box.width > 0;
}"""


@pytest.mark.parametrize("size", [(1180, 820), (820, 1180)])
def test_on_a_tablet_cautions_steps_and_keypad_stand_in_one_view(page: Page, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    begin(page, "slow")
    take_up(page, "free-flow")
    row(page, "free-flow.water")
    for what in ("#check-title", ".steps", "[data-enter='free-flow.water'] .keypad", ".field-row"):
        assert page.evaluate(IN_VIEW, what), what
    caution = page.locator(".check .caution")
    if caution.count():
        assert page.evaluate(IN_VIEW, ".check .caution")
    before = page.evaluate("scrollY")
    key_in(row(page, "free-flow.water"), "28.5")
    row(page, "free-flow.water").locator(".store").tap()
    expect(page.locator("[data-enter='free-flow.brew_gauge']")).to_be_visible()
    assert page.evaluate("scrollY") == before
    assert page.evaluate(IN_VIEW, "[data-enter='free-flow.brew_gauge'] .keypad")


def test_on_a_phone_what_is_typed_its_field_and_the_keys_stand_in_one_view(page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    begin(page, "slow")
    take_up(page, "free-flow")
    store(page, "free-flow.water", "28.5")
    for what in ("h3", ".field-row", ".keypad"):
        assert page.evaluate(IN_VIEW, f"[data-enter='free-flow.brew_gauge'] {what}"), what


def test_the_keypad_does_not_move_while_a_number_is_typed(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "free-flow")
    line = row(page, "free-flow.brew_gauge")
    pad = line.locator(".keypad")
    places = [pad.bounding_box()]
    for sign in "9.65":
        key_in(line, sign)
        places.append(pad.bounding_box())
    assert all(place == places[0] for place in places)


def test_while_a_reading_is_taken_the_causes_stand_as_lines_and_come_back_by_touch(page: Page) -> None:
    page.set_viewport_size({"width": 1180, "height": 820})
    begin(page, "slow")
    take_up(page, "free-flow")
    row(page, "free-flow.water")
    lines = page.locator(".cause-lines > span")
    expect(lines).to_have_count(3)
    first = page.locator(".leading li strong").first.inner_text()
    expect(lines.first).to_contain_text(first)
    page.locator(".cause-lines").tap()
    expect(page.locator(".cause-lines")).to_be_hidden()
    expect(page.locator("[data-enter='free-flow.water']")).to_be_hidden()
    assert page.evaluate(IN_VIEW, ".leading li")


def test_what_would_change_the_answer_is_asked_above_the_check_and_told_once(page: Page) -> None:
    begin(page)
    take_up(page, "mains")
    store(page, "mains.voltage", "228")
    heard(page)
    assert [one["key"] for one in asked(page, "/answer")["asks"]] == ["site.mains_V"]
    card = page.locator("[data-asks='site.mains_V']")
    expect(card).to_contain_text("Mains voltage?")
    expect(card).to_contain_text("depends on it")
    card.locator("input").fill("2300")
    card.get_by_role("button", name="Store").tap()
    expect(card.locator(".wrong")).to_contain_text("would be right")
    page.reload()
    expect(card.locator("input")).to_have_value("2300")
    card.locator("input").fill("228")
    card.get_by_role("button", name="Store").tap()
    expect(card).to_have_count(0)
    heard(page)
    assert asked(page)["site"] == {"mains_V": 228.0}


def test_what_is_asked_can_be_answered_as_usual_with_one_touch(page: Page) -> None:
    begin(page)
    take_up(page, "mains")
    store(page, "mains.voltage", "231")
    heard(page)
    page.locator("[data-asks='site.mains_V']").get_by_role("button", name="As usual: 230").tap()
    expect(page.locator("[data-asks]")).to_have_count(0)
    heard(page)
    assert asked(page)["site"] == {"mains_V": 230.0}


def test_cautions_steps_and_the_paper_follow_the_units_chosen(page: Page) -> None:
    begin(page, "slow")
    take_up(page, "blind-disc")
    expect(page.locator(".check .caution").first).to_contain_text("9 to 12\u00a0bar")
    page.locator(".choices summary").tap()
    page.locator("label:has(input[value=psi])").tap()
    expect(page.locator(".check .caution").first).to_contain_text("131 to 174\u00a0psi")
    expect(page.locator(".check .caution").first).not_to_contain_text("bar")
    store(page, "blind-disc.brew_gauge", "137.5")
    heard(page)
    expect(page.locator("[data-key=undo]")).to_contain_text("137.5 psi")
    page.goto(f"/findings/{sheet_of(page)}/print")
    expect(page.locator("table")).to_contain_text("137.5\u202fpsi")
    expect(page.locator(".paper")).not_to_contain_text("\u00a0bar")


def test_a_setting_is_set_anew_by_one_touch(page: Page) -> None:
    begin(page, "weak-steam")
    take_up(page, "heating-cycle")
    store(page, "heating-cycle.gauge_off", "0.5")
    heard(page)
    take_up(page, "warm-up")
    store(page, "warm-up.steam_gauge_top", "0.5")
    heard(page)
    assert asked(page, "/answer")["causes"][0]["cause"] == "boiler-pressure-set-low"
    if not page.locator("[data-key=repair-set_anew]").count():
        page.locator("[data-key=go-on]").tap()
    if not page.locator("[data-key=repair-set_anew]").is_visible():
        page.locator("[data-key='repair:summary']").tap()
    expect(page.locator("[data-key=repair-replaced]")).to_have_count(0)
    page.locator("[data-key=repair-set_anew]").tap()
    heard(page)
    assert asked(page)["set_anew"] == ["pressure_switch"]
