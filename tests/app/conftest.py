"""Signatures for the tests of the faces, made once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def made_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with made-up signatures of one machine."""
    from tests.app.made_signatures import make_signatures

    folder = tmp_path_factory.mktemp("signatures")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLLAUDO_SIGNATURES", str(folder))
        make_signatures()
    return folder


@pytest.fixture(scope="session")
def served_folder(made_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The made-up signatures once more, for servers: they build others beside them."""
    return Path(shutil.copytree(made_folder, tmp_path_factory.mktemp("served") / "signatures"))


@pytest.fixture
def signatures(made_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The made-up signatures are those that are found."""
    monkeypatch.setenv("COLLAUDO_SIGNATURES", str(made_folder))
    return made_folder


@pytest.fixture
def no_signatures(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No signatures are there."""
    folder = tmp_path / "none"
    monkeypatch.setenv("COLLAUDO_SIGNATURES", str(folder))
    return folder
