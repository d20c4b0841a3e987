"""The first page: it stands at once, says what can be done, and knows the way to the demonstration."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from collaudo.bench.demo import DEMO_MACHINE
from collaudo.web.asking.pages import SECTIONS
from tests.app.web.walking import make, visitor


@pytest.fixture
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    client = visitor(make(tmp_path_factory.mktemp("home") / "data"))
    yield client
    client.close()


def test_it_leads_to_every_room_that_there_is(client: TestClient) -> None:
    page = client.get("/").text
    assert f'data-machine="{DEMO_MACHINE}"' in page
    for at, name in SECTIONS:
        assert f'href="{at}"' in page
        assert name in page
    for at in set(re.findall(r'<a class="tile[^"]*" href="([^"]+)"', page)):
        assert client.get(at).status_code == 200, at


def test_it_stands_in_well_under_half_a_second(client: TestClient) -> None:
    client.get("/")
    begun = time.perf_counter()
    assert client.get("/").status_code == 200
    assert time.perf_counter() - begun < 0.25


def test_the_first_visit_is_explained_in_three_sentences(client: TestClient) -> None:
    page = client.get("/").text
    text = re.search(r'id="first-visit" hidden>\s*<p>(.*?)</p>', page, re.DOTALL)
    assert text is not None
    assert len(re.findall(r"\.(?:\s|$)", text[1].strip())) == 3


def test_the_demonstration_has_one_address_that_does_not_change(client: TestClient) -> None:
    answer = client.get("/demo")
    assert answer.status_code == 303
    shown = client.get(answer.headers["location"])
    assert shown.status_code == 200
    sheet = client.get(f"/api{answer.headers['location']}").json()
    assert sheet["demo"] is True
    assert sheet["machine"] == DEMO_MACHINE


def test_a_demonstration_that_was_removed_leads_to_the_list(client: TestClient) -> None:
    there = client.get("/demo").headers["location"]
    token = client.get("/api/token").json()["form_token"]
    headers = {"X-Form-Token": token}
    assert client.delete(f"/api{there}", headers=headers).status_code == 204
    assert client.get("/demo").headers["location"] == "/findings"


def test_starting_loads_no_compiler_and_no_twin() -> None:
    """They take longer than all else together; who asks for them waits for them, not who opens a page."""
    script = (
        "import sys, collaudo.__main__, collaudo.web.serving; "
        "from collaudo.web.application import make_front; "
        "from collaudo.web.options import Options; from pathlib import Path; "
        "make_front(Options(Path('never-made'))); "
        "print([name for name in ('numba', 'numpy', 'scipy', 'collaudo.twin', 'collaudo.checks') "
        "if name in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
