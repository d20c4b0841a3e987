"""The demonstration: a job as it comes in, to be diagnosed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path

DEMO_CASE = "slow-morning"
DEMO_MACHINE = "hx-vibration"
"""The machine of that case."""


def demo_cases() -> list[str]:
    """Names of the demonstration's findings files."""
    folder = resources.files("collaudo.library") / "demo"
    return sorted(file.name.removesuffix(".yaml") for file in folder.iterdir() if file.name.endswith(".yaml"))


@contextmanager
def demo_file(case: str = DEMO_CASE) -> Iterator[Path]:
    """A findings file of the demonstration, as a file of this computer."""
    with resources.as_file(resources.files("collaudo.library") / "demo" / f"{case}.yaml") as path:
        yield path
