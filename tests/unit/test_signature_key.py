"""The key of signatures changes with everything they depend on, and with nothing else."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace

import pytest

from collaudo.diagnosis import cache

PACKAGE = Path(cache.__file__).parents[1]
DEPENDS_ON = (
    "fluid/water.py",
    "laws/tube.py",
    "parts/boiler.py",
    "machine/load.py",
    "twin/kernel/rates.py",
    "twin/assemble.py",
    "checks/formula.py",
    "causes/draws.py",
    "diagnosis/building.py",
    "diagnosis/surrogate.py",
    "library/checks/flush.yaml",
    "library/causes/hose-leak.yaml",
    "library/roles.yaml",
    "library/instruments.yaml",
    "library/spreads.yaml",
    "library/cautions.yaml",
    "library/history.yaml",
    "library/machines/hx-vibration.yaml",
)
INDEPENDENT_OF = ("cli/commands.py", "diagnosis/ranking.py", "library/machines/hx-rotary.yaml")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("package") / "collaudo"
    shutil.copytree(PACKAGE, place, ignore=shutil.ignore_patterns("__pycache__"))
    return place


@pytest.fixture
def key(copy: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    def files(name: str) -> Path:
        return copy.parent.joinpath(*name.split("."))

    monkeypatch.setattr(cache, "resources", SimpleNamespace(files=files))
    return cache.key_of("hx-vibration")


def key_with_change(file: Path) -> str:
    before = file.read_bytes()
    file.write_bytes(before + b"\n# changed\n")
    try:
        return cache.key_of("hx-vibration")
    finally:
        file.write_bytes(before)


@pytest.mark.parametrize("file", DEPENDS_ON)
def test_the_key_changes_with(file: str, copy: Path, key: str) -> None:
    assert key_with_change(copy / file) != key


@pytest.mark.parametrize("file", INDEPENDENT_OF)
def test_the_key_does_not_change_with(file: str, copy: Path, key: str) -> None:
    assert key_with_change(copy / file) == key


LIKE = [("hx-rotary", "hx-vibration"), ("dual-vibration", "dual-rotary")]


@pytest.mark.parametrize(("machine", "base"), LIKE)
def test_the_key_changes_with_the_machine_a_machine_is_like(
    machine: str, base: str, copy: Path, key: str
) -> None:
    del key  # its fixture points the cache at the copy
    before = cache.key_of(machine)
    file = copy / "library" / "machines" / f"{base}.yaml"
    text = file.read_bytes()
    file.write_bytes(text + b"# another\n")
    try:
        assert cache.key_of(machine) != before
    finally:
        file.write_bytes(text)


def test_the_key_changes_with_a_file_beside_that_a_file_is_like(tmp_path: Path) -> None:
    base, own = tmp_path / "base.yaml", tmp_path / "own.yaml"
    base.write_text("machine: base\nlike: hx-vibration\n")
    own.write_text("machine: own\nlike: 'base.yaml'  # the one before\n")
    before = cache.key_of(str(own))
    base.write_text("machine: base\nlike: hx-rotary\n")
    assert cache.key_of(str(own)) != before
