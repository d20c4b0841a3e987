"""The watch over pages sees what it is there to see."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page

from tests.app.browser.watching import Faults
from tests.app.served import Bench

POLICY = "Content Security Policy"


def test_the_first_page_opens_without_a_fault(page: Page, bench: Bench) -> None:
    answer = page.goto("/")
    assert answer is not None
    assert answer.status == 200
    assert page.url == f"{bench.url}/"
    assert page.locator("h1").count() == 1


@pytest.mark.parametrize(
    ("script", "seen"),
    [
        ("console.error('ouch')", "console: ouch"),
        ("setTimeout(() => { throw new Error('broke') })", "script: .*broke"),
        (
            "document.body.append(Object.assign(document.createElement('script'), {textContent: '1'}))",
            POLICY,
        ),
        ("{ document.body.setAttribute('onclick', 'alert(1)'); document.body.click() }", POLICY),
        ("document.body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">')", POLICY),
        ("fetch('http://192.0.2.1/').catch(() => 0)", "192.0.2.1"),
        ("{ const i = new Image(); i.src = 'http://192.0.2.1/a.png' }", "192.0.2.1"),
    ],
)
def test_what_no_page_may_do_is_seen(page: Page, faults: Faults, script: str, seen: str) -> None:
    page.goto("/")
    page.evaluate(f"() => {{ {script} }}")
    for _ in range(50):
        if faults.rest():
            break
        page.wait_for_timeout(20)
    assert any(re.search(seen, one) for one in faults.rest())
    faults.allow(seen, "192.0.2.1", POLICY)


def test_a_stopped_server_comes_back_at_the_same_address(own_bench: Bench, page: Page) -> None:
    before = own_bench.url
    assert own_bench.stop() in (0, 130)
    own_bench.start()
    assert own_bench.url == before
    answer = page.goto("/")
    assert answer is not None
    assert answer.status == 200
