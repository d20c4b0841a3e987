"""Hands for the findings pages: what a person does there by touch."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Locator, Page, expect

MACHINE = "hx-vibration"


class Taps:
    """A finger that counts."""

    def __init__(self, page: Page) -> None:
        self.page, self.count = page, 0

    def __call__(self, selector: str) -> None:
        self.page.locator(selector).first.tap()
        self.count += 1


def begin(page: Page, *complaints: str) -> Taps:
    """A new sheet, from the list of sheets to the first check."""
    tap = Taps(page)
    page.goto("/findings")
    tap("text=A machine came in")
    tap(f"[data-machine={MACHINE}]")
    for word in complaints or ("slow",):
        tap(f"label:has(input[value={word}])")
    tap("[data-complaints-done]")
    tap("[data-heat=cold]")
    tap('[data-stop=""]')
    expect(page.locator("#check-title")).to_be_visible(timeout=30_000)
    return tap


def sheet_of(page: Page) -> str:
    """Id of the sheet that is open."""
    return page.url.split("#")[0].rstrip("/").rsplit("/", 1)[-1]


def asked(page: Page, what: str = "") -> Any:
    """What the server has of the open sheet."""
    answer = page.request.get(f"/api/findings/{sheet_of(page)}{what}")
    assert answer.ok
    return answer.json()


def take_up(page: Page, check: str) -> None:
    """Take a check in hand, by touch."""
    if page.locator(f"[data-check={check}]").count():
        return
    key = page.locator(f"[data-key='choose-{check}']")
    if not key.is_visible():
        page.locator("[data-key='other-checks:summary']").tap()
    key.tap()
    expect(page.locator(f"[data-check={check}]")).to_be_visible()


def row(page: Page, reading: str) -> Locator:
    """Where a reading is entered, beside its check; its line in the list is touched first."""
    found = page.locator(f"[data-enter='{reading}']")
    if not found.is_visible():
        page.locator(f"[data-reading='{reading}'] .reading-head").tap()
    expect(found).to_be_visible()
    return found


def key_in(line: Locator, text: str) -> None:
    """Type a number with the keypad of the page."""
    for sign in text:
        line.locator(f".pad:text-is('{sign}')").tap()


def store(page: Page, reading: str, text: str) -> None:
    """Type a number and store it."""
    line = row(page, reading)
    key_in(line, text)
    line.locator(".store").tap()


def heard(page: Page) -> None:
    """Wait until nothing waits for the line."""
    expect(page.locator(".foot-line .waits")).to_have_text("", timeout=30_000)


def cards(page: Page) -> list[dict[str, Any]]:
    """Cards of the checks that stand open."""
    answer = asked(page, "/answer")
    return [card for card in (answer["next"], answer["alternative"], *answer["others"]) if card]
