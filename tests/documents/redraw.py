"""Write the renderings that the drawings are compared with anew: ``python -m tests.documents.redraw``."""

from __future__ import annotations

from pathlib import Path

from collaudo.bench.explaining.drawings import DRAWN, draw_machine
from collaudo.machine.load import library_ids

FOLDER = Path(__file__).parent / "drawings"


def redraw() -> None:
    """Every machine of the library, at rest; files of machines that are gone are taken away."""
    FOLDER.mkdir(exist_ok=True)
    wanted = {FOLDER / f"{machine}-{of}.svg": (machine, of) for machine in library_ids() for of in DRAWN}
    for path in set(FOLDER.glob("*.svg")) - wanted.keys():
        path.unlink()
    for path, (machine, of) in wanted.items():
        path.write_text(draw_machine(machine, of=of), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    redraw()
