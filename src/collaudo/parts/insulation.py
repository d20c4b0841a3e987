"""What leads from a resistance wire to the tube or block around it."""

from __future__ import annotations

from collaudo.parts.circuit import Circuit, Resistor

OPEN_OHM = 1e12


def add_insulation(circuit: Circuit, part: str, ohm: float, damp_at_share: float = 0.5) -> None:
    """Leak from the wire of ``part`` to its terminal ``body``, at a place between live (0) and neutral (1).

    A leak from within a wire is as two from its ends, each by how near the end is.
    """
    for end, near in (("live", 1.0 - damp_at_share), ("neutral", damp_at_share)):
        leak = ohm / near if near > 0.0 else OPEN_OHM
        circuit.resistors.append(Resistor(part, f"{part}.{end}", f"{part}.body", leak))
