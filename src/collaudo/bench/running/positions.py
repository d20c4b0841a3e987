"""How the controls of a running machine stand, in the words on their keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

from collaudo.bench.running.controls import Control

if TYPE_CHECKING:
    from collaudo.twin.run import Run


def position_of(run: Run, control: Control) -> str:
    """The word of the position a control stands in; empty where it has none, as what is only poured out."""
    if not control.reads:
        return ""
    mode, names = run.mode, run.assembly.names
    what, name = control.reads
    if what == "latch":
        return "tripped" if mode.device[names.devices[name]].phase == 1.0 else "in order"
    if what == "supply":
        return "blown" if mode.supply[0] > 0.0 else "in order"
    if what == "field":
        held = str(run.machine.value(name))
        words = dict(zip(control.places, control.positions, strict=True))
        return words[held].word if held in words else held
    if what == "device":
        now = float(mode.device[names.devices[name]].phase)
    else:
        now = float(mode.inputs[names.inputs[name]])
    nearest = min(range(len(control.places)), key=lambda n: abs(float(control.places[n]) - now))
    return control.positions[nearest].word
