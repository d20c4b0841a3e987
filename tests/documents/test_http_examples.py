"""``docs/http_api.md`` shows what a running bench really answers; ``docs/bench.md`` names what there is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from collaudo.cli.arguments import make_parser
from tests.app.made_signatures import make_signatures
from tests.app.served import Bench

DOCS = Path(__file__).parents[2] / "docs"
INTERFACE = (DOCS / "http_api.md").read_text(encoding="utf-8")
MANUAL = (DOCS / "bench.md").read_text(encoding="utf-8")
USUAL = "http://localhost:8760"
BLOCKS = re.findall(r"```python\n(.*?)```(?:\n\n```text\n(.*?)```)?", INTERFACE, flags=re.DOTALL)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    """A bench of its own, with signatures of the demonstration machine."""
    signatures = tmp_path / "signatures"
    monkeypatch.setenv("COLLAUDO_SIGNATURES", str(signatures))
    make_signatures()
    started = Bench(tmp_path / "data", signatures)
    yield started
    started.stop()


def test_every_block_of_the_page_runs_and_prints_what_stands_below_it(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(BLOCKS) == 4
    names: dict[str, object] = {}
    for code, printed in BLOCKS:
        exec(compile(code.replace(USUAL, bench.url), "docs/http_api.md", "exec"), names)
        assert capsys.readouterr().out == printed, code


def test_the_pictures_of_the_manual_are_there() -> None:
    named = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", MANUAL)
    assert len(named) >= 7
    assert [one for one in named if not (DOCS / one).is_file()] == []


def test_every_option_of_the_manual_is_one_of_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        make_parser().parse_args(["serve", "--help"])
    shown = capsys.readouterr().out
    named = set(re.findall(r"--[a-z-]+", MANUAL))
    assert {"--lan", "--data", "--pass-phrase-file", "--ask-pass-phrase"} <= named
    assert [one for one in named if one not in shown] == []


def test_every_room_has_its_part_of_the_manual() -> None:
    from collaudo.web.asking.pages import SECTIONS

    heads = re.findall(r"^## (\w+)", MANUAL, flags=re.MULTILINE)
    assert [name for at, name in SECTIONS if at != "/" and name not in heads] == []
