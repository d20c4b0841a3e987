"""What holds for every test: its marker comes from its folder, and chance is the same in every run."""

from __future__ import annotations

import random
from pathlib import Path

import hypothesis
import numpy as np
import pytest

TESTS = Path(__file__).parent
FOLDERS = ("published", "physics", "unit", "machines", "app", "documents")

# No time limit for one example: the first call of a law may compile it.
hypothesis.settings.register_profile("same every run", derandomize=True, deadline=None)
hypothesis.settings.load_profile("same every run")


def marker_of(path: Path) -> str:
    """The marker of a test file: the name of the folder directly under tests/."""
    folder = path.relative_to(TESTS).parts[0]
    if folder not in FOLDERS:
        raise pytest.UsageError(f"{path}: tests lie in one of tests/{{{','.join(FOLDERS)}}}")
    return folder


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test with the name of its folder."""
    for item in items:
        item.add_marker(marker_of(item.path))


@pytest.fixture(autouse=True)
def same_chance_every_run() -> None:
    """Put the global generators of random numbers into the same state before each test."""
    random.setstate(random.Random(20260101).getstate())
    np.random.set_state(np.random.RandomState(20260101).get_state())
