"""Measuring a machine's wiring: volts, ohms, amperes, leaks; where to measure next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from collaudo.api.machines import MachineLike, machine
from collaudo.api.running import Words, texts
from collaudo.errors import InputError, Problem, unknown_name

if TYPE_CHECKING:
    from collaudo.bench.runs.current import CurrentAnswer, Found

Pair = tuple[str, str]
"""Two terminals, ``("pump.live", "pump.neutral")``."""


def current(
    of: MachineLike,
    *,
    condition: Words | None = None,
    site: Words | None = None,
    lifted: Sequence[str] = (),
    meter: str = "digital",
    volts: Sequence[Pair] = (),
    ohms: Sequence[Pair] = (),
    insulation: Sequence[Pair] = (),
    clamp: Sequence[str] = (),
    leak: Mapping[str, float] | None = None,
) -> CurrentAnswer:
    """What a meter shows at a machine's terminals, and what every load gets [V, A].

    ``condition``: ``{"power": 1, "pressure_switch": "open", "plug": "out"}``; what is not named is at rest,
    and the machine is plugged in. ``lifted``: terminals whose wires are pulled off. ``volts`` and ``clamp``
    are read plugged in, ``ohms`` and ``insulation`` [Mohm] unplugged. ``meter``: ``digital``, or ``tester``
    with a low resistance that shows no ghost volts. ``leak``: insulation [Mohm] of a part to the metalwork.

    On a real machine: plug out and dead proved before ohms are measured; live readings only where local
    rules let you, with covered probes.
    """
    from collaudo.bench.runs.current import measure_current

    meters = ("digital", "tester")
    if meter not in meters:
        raise unknown_name("meter", meter[:60], meters)
    with machine(of).as_file() as name:
        return measure_current(
            name,
            condition=texts(condition),
            site=texts(site),
            lifted=lifted,
            meter=meter,
            volts_between=volts,
            ohms_between=ohms,
            insulation_between=insulation,
            clamp=clamp,
            leak=texts(leak),
        )


def find_open(
    of: MachineLike,
    load: str,
    seen: Mapping[str, str] | None = None,
    *,
    condition: Words | None = None,
    site: Words | None = None,
) -> Found:
    """Which places can be open when ``load`` is dead, and the measurement that halves them best.

    ``seen``: what was measured so far, ``{"pump.live": "0 V", "diode.a": "230 V"}``, against the supply's
    neutral (volts) or live (ohms, unplugged; ``open`` for nothing); ``"pump.neutral/live"`` names another
    pin. The answer's ``suspects`` are what is left; its ``next`` is None where no terminal tells them apart.
    `InputError` where no single open place shows all that was seen.
    """
    from collaudo.bench.runs.current import measure_current

    with machine(of).as_file() as name:
        answer = measure_current(
            name, condition=texts(condition), site=texts(site), find=load, seen=dict(seen or {})
        )
    if answer.found is None:
        raise InputError(Problem("no load is named", "name the part that is dead"))
    return answer.found
