"""Coils of solenoid valves, relays and contactors on alternating current."""

from __future__ import annotations

from math import pi

from collaudo.parts.circuit import Circuit, Load

# With its plunger drawn in, a coil of 1400 ohm takes some 9 VA at 230 V: its reactance is about 3.8 times its
# resistance (common practice, from memory, no source).
REACTANCE_PER_OHM = 3.8
# A solenoid draws in from 75 to 90 % of its rated voltage (common practice, no source).
PULL_IN_SHARE = 0.78


def coil(name: str, a: str, b: str, ohm: float, circuit: Circuit) -> Load:
    """The load a coil of ``ohm`` is, at the machine's rated voltage and frequency."""
    henry = REACTANCE_PER_OHM * ohm / (2.0 * pi * circuit.rated_Hz)
    return Load(name, a, b, ohm, henry, works_from_V=PULL_IN_SHARE * circuit.rated_V)
