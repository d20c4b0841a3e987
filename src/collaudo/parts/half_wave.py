"""Vibration pumps live on half of each wave: what becomes of one whose diode lets both halves pass.

Diode, pump and the pump's cut-out are three parts, described in any order: whoever speaks later finds what
the others have said.
"""

from __future__ import annotations

from dataclasses import replace

from collaudo.parts.circuit import Circuit, Load, Pump

# The spring has no time to throw the plunger back: it trembles, hums and hardly pumps (common practice, no
# source).
HUM_FLOW_SHARE = 0.08
HUM_SHUTOFF_SHARE = 0.3


def lose_diode(circuit: Circuit, pump: str) -> None:
    """Both halves of each wave reach ``pump``: twice the heat, hardly any water."""
    circuit.full_wave.add(pump)
    circuit.pumps[:] = [_humming(x) if x.part == pump else x for x in circuit.pumps]
    circuit.loads[:] = [replace(x, one_way=False) if x.name == pump else x for x in circuit.loads]
    circuit.heaters[:] = [(w, load, 0.5 * ohm if load == pump else ohm) for w, load, ohm in circuit.heaters]


def add_half_wave_pump(circuit: Circuit, pump: Pump, load: Load) -> None:
    """A pump and its load, as they are with their diode or without."""
    without = pump.part in circuit.full_wave
    circuit.pumps.append(_humming(pump) if without else pump)
    circuit.loads.append(replace(load, one_way=not without))


def add_half_wave_heater(circuit: Circuit, wall: str, load: str, ohm: float) -> None:
    """What a pump's current warms; ``ohm`` as for half of each wave."""
    circuit.heaters.append((wall, load, 0.5 * ohm if load in circuit.full_wave else ohm))


def _humming(pump: Pump) -> Pump:
    return replace(
        pump,
        free_m3_per_s=HUM_FLOW_SHARE * pump.free_m3_per_s,
        shutoff_Pa=HUM_SHUTOFF_SHARE * pump.shutoff_Pa,
    )
