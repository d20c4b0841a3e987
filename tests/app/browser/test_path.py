"""The path room in a browser: walked by touch and by keys, in any units, on paper too."""

from __future__ import annotations

import re
from collections.abc import Callable
from io import BytesIO

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

BREWING = "/path/hx-vibration/brewing/water"
LONGEST_FRAME_ms = 150
"""A drawing that moves has been drawn anew by then, on a busy computer too."""

pytestmark = pytest.mark.usefixtures("bench")


def walked(page: Page, path: str) -> None:
    """Open a path and wait until its steps are there."""
    page.goto(path)
    expect(page.locator("#next")).to_be_visible(timeout=60_000)


def test_from_the_first_page_to_the_first_step_by_touch(page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name="Explain it").tap()
    page.get_by_role("link", name=re.compile("^Heat exchanger, vibration pump, tank, lever group$")).tap()
    page.get_by_role("link", name=re.compile("^Brewing")).first.tap()
    expect(page.locator("#step-name")).to_have_text("Tank", timeout=60_000)
    expect(page.locator("#step-sentence")).to_have_text("The tank holds the water.")
    expect(page.locator("#step-fails")).to_be_empty()
    page.locator("#next").tap()
    expect(page.locator("#step-name")).to_have_text("Strainer")
    expect(page.locator("#part-strainer.now")).to_have_count(1)
    expect(page.locator("#part-tank.passed")).to_have_count(1)
    expect(page.locator("#part-cup.passed")).to_have_count(0)


def test_it_is_walked_by_keys_to_its_end_and_back(page: Page) -> None:
    walked(page, f"{BREWING}?for=apprentice")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#step-name")).to_have_text("Pump")
    expect(page.locator("#step-fails")).to_contain_text("When it fails, it wears")
    page.keyboard.press("End")
    expect(page.locator("#next")).to_have_attribute("aria-disabled", "true")
    page.keyboard.press("ArrowRight")
    last = page.locator("#step-where").inner_text()
    number, of = re.findall(r"\d+", last)[:2]
    assert number == of
    page.keyboard.press("Home")
    expect(page.locator("#step-name")).to_have_text("Tank")
    expect(page.locator("#back")).to_have_attribute("aria-disabled", "true")


def test_a_step_of_the_list_is_gone_to_and_stays_through_a_reload(page: Page) -> None:
    walked(page, f"{BREWING}?for=apprentice")
    page.get_by_role("button", name="Relief valve", exact=True).tap()
    expect(page.locator("#step-where")).to_contain_text("by the relief valve to the tank")
    page.reload()
    expect(page.locator("#step-name")).to_have_text("Relief valve", timeout=60_000)


def test_sentences_and_drawing_follow_the_choice_of_units_at_once(page: Page) -> None:
    """96 degC are 205 degF, 9.2 bar are 133 psi (factors of the units: NIST SP 811, appendix B)."""
    walked(page, f"{BREWING}?for=apprentice")
    page.get_by_role("button", name="Screen", exact=True).tap()
    now = page.locator("#step-now")
    expect(now).to_have_text("It comes in at 96 °C and 9.2 bar.")
    page.locator(".choices summary").tap()
    page.locator(".choices label", has_text="psi").tap()
    page.locator(".choices label", has_text="°F").tap()
    told = re.sub(r"\s", " ", now.inner_text())
    found = re.fullmatch(r"It comes in at (\d+) °F and (\d+) psi\.", told)
    assert found is not None, told
    assert float(found[1]) == pytest.approx(205, abs=1)
    assert float(found[2]) == pytest.approx(133, abs=1)
    labels = page.locator("#drawing text").all_text_contents()
    assert any("°F" in label for label in labels)
    assert not any("°C" in label for label in labels)


def test_the_whole_drawing_or_near_enough_to_read(page: Page) -> None:
    walked(page, BREWING)

    near = width_at_rest(page)
    page.get_by_role("button", name="Whole drawing").tap()
    expect(page.get_by_role("button", name="Whole drawing")).to_have_attribute("aria-pressed", "true")
    assert width_at_rest(page) > near
    page.get_by_role("button", name="Whole drawing").tap()
    expect(page.get_by_role("button", name="Whole drawing")).to_have_attribute("aria-pressed", "false")
    assert width_at_rest(page) == pytest.approx(near)


def width_at_rest(page: Page) -> float:
    """How much of the sheet is shown, once the drawing has stopped moving."""
    now, before = "", "none"
    while now != before:
        before = now
        page.wait_for_timeout(LONGEST_FRAME_ms)
        now = page.locator("#drawing svg").get_attribute("viewBox") or ""
    return float(now.split()[2])


def test_on_paper_stand_all_steps_with_how_they_fail_and_the_cautions(page: Page) -> None:
    walked(page, f"{BREWING}?for=apprentice")
    steps = int(re.findall(r"\d+", page.locator("#step-where").inner_text())[1])
    pages = PdfReader(BytesIO(page.pdf(format="A4"))).pages
    text = " ".join(" ".join(one.extract_text() for one in pages).split())
    assert len(pages) <= 5
    assert "Heat exchanger, vibration pump, tank, lever group" in text
    assert "The exchanger heats the brew water on its way through the boiler." in text
    assert text.count("When it fails, it") > steps / 2
    assert "Caution." in text
    assert "Whole drawing" not in text
    assert "Next" not in text


@pytest.mark.parametrize("screen", ["phone", "wall"])
def test_nothing_is_wider_than_the_screen(open_page: Callable[..., Page], screen: str) -> None:
    page = open_page(screen, path="/path/hx-two-group/brewing/current?for=apprentice")
    expect(page.locator("#next")).to_be_visible(timeout=60_000)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    box = page.locator("#next").bounding_box()
    assert box is not None
    assert box["height"] >= 96


def test_while_the_screen_is_wiped_nothing_behind_is_reached(page: Page) -> None:
    walked(page, BREWING)
    page.locator(".choices summary").tap()
    page.get_by_role("button", name="Lock for 20 s").tap()
    expect(page.get_by_role("alertdialog")).to_contain_text("Wipe the screen")
    for _ in range(4):
        page.keyboard.press("Tab")
        assert page.evaluate("!document.activeElement.closest('main, header, footer')")
    page.touchscreen.tap(600, 500)
    expect(page.locator("#step-name")).to_have_text("Tank")


def test_a_menu_that_is_left_with_escape_keeps_the_place(page: Page) -> None:
    page.goto("/path")
    page.locator(".choices summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Escape")
    expect(page.locator(".choices")).not_to_have_attribute("open", "")
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"


def test_the_three_sentences_are_shown_until_they_were_read(page: Page) -> None:
    page.goto("/")
    expect(page.locator("#first-visit")).to_be_visible()
    page.get_by_role("button", name="I have read it").tap()
    expect(page.locator("#first-visit")).to_be_hidden()
    page.reload()
    expect(page.get_by_role("link", name="A machine came in")).to_be_visible()
    expect(page.locator("#in-work .tile").first).to_be_visible()
    expect(page.locator("#first-visit")).to_be_hidden()
