"""Script that was entered as text is shown as text: no page runs it, none takes a part of it for its own."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.app.browser.conftest import OpenPage
from tests.app.browser.every_page import OWN_MACHINE, PAGES, lay_in, open_settled, settle
from tests.app.served import Bench
from tests.app.web.laying_in import MARK, lend_signatures
from tests.app.web.walking import filled

TAKEN_IN = """() => [
  window.hasFired === true,
  [...document.scripts].some((one) => one.textContent.includes('fired()')),
  [...document.images].some((one) => one.getAttribute('src') === 'x'),
  document.querySelector('[onerror], [onload]') !== null,
]"""


@pytest.fixture(autouse=True)
def something_nasty_there(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sheet whose label and note are script, a machine whose title is."""
    lay_in(bench)
    monkeypatch.setenv("COLLAUDO_SIGNATURES", str(bench.signatures))
    lend_signatures(bench.data)


def watched(page: Page) -> Page:
    """A page that notes it when the script runs."""
    page.add_init_script("window.fired = () => { window.hasFired = true }")
    return page


@pytest.mark.parametrize("path", PAGES)
def test_no_page_runs_what_was_entered(open_page: OpenPage, path: str) -> None:
    """The page's watch fails the test too where the content security policy had to hold a script back."""
    page = watched(open_page())
    for one in dict.fromkeys((filled(path), filled(path, machine=OWN_MACHINE, stand=OWN_MACHINE))):
        answer = page.request.get(one)
        if answer.status == 200:
            open_settled(page, one)
            assert not any(page.evaluate(TAKEN_IN)), one


@pytest.mark.parametrize("path", ["/findings", "/machines"])
def test_what_was_entered_is_shown_as_it_was_typed(page: Page, path: str) -> None:
    open_settled(watched(page), path)
    shown = page.locator("main").inner_text()
    assert MARK in shown
    assert "<script>fired()</script>" in shown


def test_text_typed_into_a_sheet_by_hand_is_not_run(page: Page) -> None:
    open_settled(watched(page), filled("/findings/{sheet}"))
    fields = page.locator("main textarea:visible, main input[type=text]:visible").all()
    for field in fields:
        field.fill(f'{MARK} <img src=x onerror="fired()">')
        field.blur()
    settle(page)
    page.reload()
    settle(page)
    assert not any(page.evaluate(TAKEN_IN))


def test_the_watch_would_see_it(page: Page) -> None:
    watched(page).goto("/")
    page.evaluate("fired()")
    assert page.evaluate(TAKEN_IN)[0]
