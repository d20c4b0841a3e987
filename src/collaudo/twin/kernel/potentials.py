"""Volts of every net and what acts: nodal analysis in phasors, whenever a contact has moved.

Terminals joined by closed contacts are one net; those of a source have its voltage, the others follow from
Kirchhoff's current law, ``sum over branches of admittance times difference = 0`` (C. K. Alexander, M. N. O.
Sadiku, Fundamentals of Electric Circuits, chapters 3.2 and 10.2). The matrix is elimination's easy case: its
real part is positive definite, so no pivot is sought.
"""

from __future__ import annotations

from math import inf, pi, sqrt

from collaudo.compiled import compiled, inlined
from collaudo.twin.kernel.tables import DEVICE_OVERCURRENT, DEVICE_RESIDUAL, Mode, Tables

# A closed contact of no more than this joins two nets; a worse one is a resistance.
JOINS_UP_TO_OHM = 1.0
# Least resistance of what is reckoned as one (a fuse's wire, a bond).
LEAST_OHM = 0.01
# Air's own conductance from every net to earth: a net without any path stands at no volt. Not booked as a
# current.
AIR_S = 1.0e-12
# Sources in one net differ by less than this share of the mains when they are the same conductor.
SAME_VOLTAGE_SHARE = 1.0e-3

# Slots of ``Mode.supply``, and what stands in the first once the event has been logged.
SHORT, RESIDUAL_A = 0, 1
SHORT_LOGGED = 2.0
# ``Mode.row`` of a net that a source holds, and of one that nothing ends at.
GIVEN, IDLE = -2, -1


@inlined
def root_of(t: int, md: Mode) -> int:
    """The net that terminal net ``t`` is part of."""
    while md.net[t] != t:
        md.net[t] = md.net[md.net[t]]
        t = md.net[t]
    return t


@inlined
def impedance(ohm: float, henry: float, farad: float, mains_Hz: float) -> complex:
    """Of resistance, inductance and capacitance (none where 0) in series [ohm]."""
    reactance = 2.0 * pi * mains_Hz * henry
    if farad > 0.0:
        reactance -= 1.0 / (2.0 * pi * mains_Hz * farad)
    return complex(max(ohm, LEAST_OHM), reactance)


@inlined
def join_nets(tb: Tables, md: Mode) -> None:
    """One net for all that closed contacts join."""
    for t in range(tb.supply[0]):
        md.net[t] = t
        md.row[t] = IDLE
    for c in range(tb.contact.size):
        low_ohm = tb.contact[c].ohm <= JOINS_UP_TO_OHM and tb.contact[c].measured == 0
        if md.closed[c] > 0.0 and low_ohm:
            a, b = root_of(tb.contact[c].a, md), root_of(tb.contact[c].b, md)
            md.net[max(a, b)] = min(a, b)
    for t in range(tb.supply[0]):
        md.net[t] = root_of(t, md)


@inlined
def hold_sources(tb: Tables, md: Mode) -> bool:
    """Give sources' nets their volts; False where sources of different voltage meet.

    ``md.earth_share``: of the current into the net what goes to earth; a net that is neutral and earth at
    once shares it equally.
    """
    apart = SAME_VOLTAGE_SHARE * tb.site[0]
    for s in range(tb.source.size):
        n = md.net[tb.source[s].net]
        volt = tb.site[0] * complex(tb.source[s].cosine, tb.source[s].sine)
        if md.row[n] == GIVEN:
            if abs(volt - md.volt[n]) > apart:
                return False
            md.earth_share[n] = 0.5 * (md.earth_share[n] + tb.source[s].is_earth)
        else:
            md.row[n] = GIVEN
            md.volt[n] = volt
            md.earth_share[n] = float(tb.source[s].is_earth)
    return True


@inlined
def stamp(a: int, b: int, admittance: complex, md: Mode) -> None:
    """Book a branch between nets ``a`` and ``b``."""
    i, j = md.row[a], md.row[b]
    if a == b:
        return
    if i >= 0:
        md.matrix[i, i] += admittance
        if j >= 0:
            md.matrix[i, j] -= admittance
        else:
            md.right[i] += admittance * md.volt[b]
    if j >= 0:
        md.matrix[j, j] += admittance
        if i >= 0:
            md.matrix[j, i] -= admittance
        else:
            md.right[j] += admittance * md.volt[a]


@inlined
def contact_ohm(c: int, tb: Tables, md: Mode) -> float:
    """Resistance [ohm] contact ``c`` is reckoned with in a branch; 0: none, or it joins its nets."""
    if md.closed[c] == 0.0:
        return tb.contact[c].open_ohm
    if tb.contact[c].ohm > JOINS_UP_TO_OHM or tb.contact[c].measured == 1:
        return max(tb.contact[c].ohm, LEAST_OHM)
    return 0.0


@inlined
def branch_count(tb: Tables) -> int:
    """Loads, resistors and contacts, numbered in this order."""
    return tb.load.size + tb.resistor.size + tb.contact.size


@inlined
def branch_admittance(n: int, tb: Tables, md: Mode) -> complex:
    """Admittance [S] of branch ``n``; 0 where nothing passes."""
    loads, bars = tb.load.size, tb.resistor.size
    if n < loads:
        return 1.0 / impedance(tb.load[n].ohm, tb.load[n].henry, tb.load[n].farad, tb.site[2])
    if n < loads + bars:
        r = n - loads
        ohm = 0.0 if tb.resistor[r].farad > 0.0 else tb.resistor[r].ohm
        return 1.0 / impedance(ohm, 0.0, tb.resistor[r].farad, tb.site[2])
    ohm = contact_ohm(n - loads - bars, tb, md)
    return complex(1.0 / ohm, 0.0) if ohm > 0.0 else complex(0.0, 0.0)


@inlined
def branch_end(n: int, second: bool, tb: Tables, md: Mode) -> int:
    """Net at the first or second end of branch ``n``."""
    loads, bars = tb.load.size, tb.resistor.size
    if n < loads:
        return md.net[tb.load[n].b if second else tb.load[n].a]
    if n < loads + bars:
        return md.net[tb.resistor[n - loads].b if second else tb.resistor[n - loads].a]
    c = n - loads - bars
    return md.net[tb.contact[c].b if second else tb.contact[c].a]


@inlined
def number_unknowns(tb: Tables, md: Mode) -> int:
    """A row for each net that a branch ends at and no source holds; returns how many. Idle nets stand at
    no volt."""
    count = 0
    for t in range(tb.supply[0]):
        if md.row[t] == IDLE:
            md.volt[t] = 0.0
    for n in range(branch_count(tb)):
        a, b = branch_end(n, False, tb, md), branch_end(n, True, tb, md)
        if a != b and branch_admittance(n, tb, md) != 0.0:
            if md.row[a] == IDLE:
                md.row[a] = count
                count += 1
            if md.row[b] == IDLE:
                md.row[b] = count
                count += 1
    for i in range(count):
        for j in range(count):
            md.matrix[i, j] = 0.0
        md.matrix[i, i] = AIR_S
        md.right[i] = 0.0
    return count


@inlined
def eliminate(count: int, md: Mode) -> None:
    """Solve ``matrix x = right`` in place (Gauss); what is nought is passed over."""
    for p in range(count):
        inverse = 1.0 / md.matrix[p, p]
        for i in range(p + 1, count):
            if md.matrix[i, p] != 0.0:
                factor = md.matrix[i, p] * inverse
                for j in range(p + 1, count):
                    md.matrix[i, j] -= factor * md.matrix[p, j]
                md.right[i] -= factor * md.right[p]
    for p in range(count - 1, -1, -1):
        total = md.right[p]
        for j in range(p + 1, count):
            total -= md.matrix[p, j] * md.right[j]
        md.right[p] = total / md.matrix[p, p]


@inlined
def read_volts(tb: Tables, md: Mode) -> None:
    """Volts across each load and whether it acts; amperes through measured contacts; residual current."""
    for t in range(tb.supply[0]):
        if md.net[t] == t and md.row[t] >= 0:
            md.volt[t] = md.right[md.row[t]]
    for n in range(tb.load.size):
        across = md.volt[md.net[tb.load[n].a]] - md.volt[md.net[tb.load[n].b]]
        md.load_V[n] = sqrt(across.real * across.real + across.imag * across.imag)
        md.energised[n] = 1.0 if md.load_V[n] >= max(tb.load[n].works_from, 1e-6) else 0.0
    to_earth = complex(0.0, 0.0)
    for n in range(branch_count(tb)):
        a, b = branch_end(n, False, tb, md), branch_end(n, True, tb, md)
        share = 0.0
        if md.row[a] == GIVEN:
            share -= md.earth_share[a]
        if md.row[b] == GIVEN:
            share += md.earth_share[b]
        if share != 0.0:
            to_earth += share * branch_admittance(n, tb, md) * (md.volt[a] - md.volt[b])
    md.supply[RESIDUAL_A] = abs(to_earth)


@compiled
def energise(tb: Tables, md: Mode) -> None:
    """Volts of all nets and what acts, contacts standing as ``md.closed`` says.

    Where sources meet in one net without anything between, the mains' fuse blows: every load is dead from
    then on.
    """
    join_nets(tb, md)
    if md.supply[SHORT] > 0.0 or not hold_sources(tb, md):
        md.supply[SHORT] = max(md.supply[SHORT], 1.0)
        md.supply[RESIDUAL_A] = 0.0
        md.volt[:] = 0.0
        md.load_V[:] = 0.0
        md.energised[:] = 0.0
        return
    count = number_unknowns(tb, md)
    for n in range(branch_count(tb)):
        admittance = branch_admittance(n, tb, md)
        if admittance != 0.0:
            stamp(branch_end(n, False, tb, md), branch_end(n, True, tb, md), admittance, md)
    eliminate(count, md)
    read_volts(tb, md)


@inlined
def trips(d: int, tb: Tables, md: Mode) -> bool:
    """Whether a current makes breaker or fuse ``d`` act."""
    if tb.device[d].kind == DEVICE_RESIDUAL:
        return md.supply[RESIDUAL_A] > tb.device[d].high
    if tb.device[d].kind == DEVICE_OVERCURRENT:
        c = tb.device[d].index
        ohm = contact_ohm(c, tb, md)
        across = abs(md.volt[md.net[tb.contact[c].a]] - md.volt[md.net[tb.contact[c].b]])
        return md.closed[c] > 0.0 and across > tb.device[d].high * ohm
    return False


@inlined
def note_trip(d: int, md: Mode) -> None:
    """Device ``d`` opens for good; `settle` writes the event, which it knows by this mark."""
    md.device[d].phase, md.device[d].since = 1.0, inf
