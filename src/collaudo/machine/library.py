"""Machines the library holds: their ids and their files."""

from __future__ import annotations

from importlib import resources

from collaudo.errors import unknown_name


def library_ids() -> list[str]:
    """Machines the library holds."""
    folder = resources.files("collaudo.library") / "machines"
    return sorted(p.name.removesuffix(".yaml") for p in folder.iterdir() if p.name.endswith(".yaml"))


def library_text(machine_id: str) -> str:
    """The file of a machine of the library; `UnknownNameError` with near misses otherwise."""
    if machine_id not in library_ids():
        raise unknown_name("machine", machine_id, library_ids())
    folder = resources.files("collaudo.library") / "machines"
    return (folder / f"{machine_id}.yaml").read_text(encoding="utf-8")
