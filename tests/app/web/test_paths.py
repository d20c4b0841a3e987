"""No name in an address leads to a file that was not meant, nor breaks anything."""

from __future__ import annotations

import pytest

from tests.app.served import ROOT, Bench
from tests.app.web.asking import Asker
from tests.app.web.walking import EXAMPLES, VARIED, Way, filled

SECRET = "kept-from-everybody"
TRICKS = (
    ".",
    "..",
    "%2e%2e",
    "../secret",
    "../../../../../../etc/passwd",
    "%2e%2e%2fsecret",
    "%2e%2e%2fsecret.yaml",
    "..%2fsecret",
    "..%5csecret",
    "%5c%5cevil%5cshare",
    "%252e%252e%252fsecret",
    "%c0%ae%c0%ae%c0%afsecret",
    "%2fetc%2fpasswd",
    "/etc/passwd",
    "C:%5cWindows%5cwin.ini",
    "file:%2f%2f%2fetc%2fpasswd",
    "http:%2f%2fevil.example%2f",
    "~root",
    "%00",
    "hx-vibration%00",
    "hx-vibration%00.yaml",
    "hx-vibration%0a",
    "hx-vibration%20",
    "%0d%0aX-Evil:%201",
    "x" * 5_000,
    "%F0%9F%92%A7",
    "%ED%A0%80",
    "%ff%fe",
    "%",
    "%zz",
    "*",
    "CON",
    "-1",
    "0",
    "__class__",
    "__init__",
    "{{7*7}}",
    "%7b%7b7*7%7d%7d",
    "$(id)",
    "';--",
    "%3Cscript%3Efired()%3C/script%3E",
)


@pytest.fixture(scope="module", autouse=True)
def secret(served: Bench) -> None:
    """Files that a trick could reach: beside the bench's folder and in it."""
    for folder in (served.data.parent, served.data):
        for ending in ("", ".yaml", ".jsonl", ".txt"):
            (folder / f"secret{ending}").write_text(f"machine: {SECRET}\n", encoding="utf-8")


@pytest.mark.parametrize("way", VARIED, ids=str)
def test_everything_that_varies_in_an_address_has_an_example(way: Way) -> None:
    """Else the walk over all addresses would try nothing there: add one to `walking.EXAMPLES`."""
    assert set(way.parameters) <= EXAMPLES.keys()


@pytest.mark.parametrize("way", VARIED, ids=str)
def test_tricks_in_an_address_lead_nowhere(asker: Asker, way: Way) -> None:
    for name in way.parameters:
        for trick in TRICKS:
            path = filled(way.path, **{name: trick})
            answer = asker.ask("GET", path) if way.method == "GET" else asker.change(way.method, path, {})
            assert answer.status < 500, path
            assert SECRET not in answer.text, path
            assert "root:" not in answer.text, path
            assert "<script>fired" not in answer.text, path
            assert "x-evil" not in answer.headers, path
            assert str(served_folder(asker)) not in answer.text, path


def served_folder(asker: Asker) -> str:
    """The bench's folder, which no answer to a stranger's trick has to name."""
    return str(asker.bench.data)


@pytest.mark.parametrize(
    "path",
    [
        "/static/v/../../options.py",
        "/static/v/%2e%2e/%2e%2e/options.py",
        "/static/v/..%2f..%2foptions.py",
        "/static/v/..%5c..%5coptions.py",
        "/static/../templates/base.html",
        "/static/v/%2fetc%2fpasswd",
        "/static/v//etc/passwd",
        "/static/v/css/%00",
        "/static/v/css/base.css%00.js",
        "/static/v/" + "x" * 5_000,
        "/static/v/css",
        "/static/v/",
        "/static/",
        "/static",
        "//etc/passwd",
        "/../../etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/.git/config",
        "http://evil.example/",
        "*",
    ],
)
def test_only_files_meant_for_it_are_shown(asker: Asker, path: str) -> None:
    answer = asker.ask("GET", path)
    assert answer.status in (307, 400, 404, 405)
    assert "root:" not in answer.text
    assert "evil" not in answer.headers.get("location", "")


def test_the_files_meant_for_it_are_shown(asker: Asker) -> None:
    css = (ROOT / "src/collaudo/web/static/css/base.css").read_bytes()
    assert asker.ask("GET", "/static/v/css/base.css").body == css
