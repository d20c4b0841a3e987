"""What the README shows is what there is."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import pytest

from collaudo.cli.arguments import make_parser

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_findings_file_shown_is_that_of_the_demonstration() -> None:
    shown = re.search(r"```yaml\n(.*?)```", README, flags=re.DOTALL)
    assert shown is not None
    demo = resources.files("collaudo.library") / "demo" / "slow-morning.yaml"
    assert shown[1] == demo.read_text(encoding="utf-8")


def test_findings_file_and_answer_stand_before_the_list_of_commands() -> None:
    assert README.index("```yaml") < README.index("$ collaudo diagnose") < README.index("## Commands")
    assert README.index("python3 start.py test") < README.index("```yaml")


@pytest.mark.parametrize(
    "line", sorted(set(re.findall(r"`collaudo ([a-z]+(?: (?:new|build|check))?)[ `]", README)))
)
def test_every_command_named_is_there(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        make_parser().parse_args([*line.split(), "--help"])
    assert end.value.code == 0
    assert "usage: collaudo" in capsys.readouterr().out


@pytest.mark.parametrize("path", sorted(set(re.findall(r"`((?:src|examples|docs)/[\w/.-]+)`", README))))
def test_every_file_named_is_there(path: str) -> None:
    assert (ROOT / path).exists()


def test_the_usual_cautions_are_there() -> None:
    cautions = README[README.index("## Cautions") :]
    for word in ("steam and pressure", "mains", "Local codes and licensed practice", "Never defeat"):
        assert word in cautions


@pytest.mark.parametrize(
    "page", sorted((ROOT / "docs" / "decisions").glob("0*.md")), ids=lambda page: page.stem
)
def test_every_decision_says_what_and_what_would_change_it(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert re.match(r"# \d{4} \S", text)
    assert "## Choice" in text
    assert "## Would change our mind" in text
