"""Rules on current: no short circuit, every load between different sources, earth for earthing alone."""

from __future__ import annotations

from collaudo.machine.rules.job import Job
from collaudo.machine.rules.paths import Paths, earthed, has_current, leads_to, paths, volts_across
from collaudo.parts.circuit import Load
from collaudo.parts.heating_element import HeatingElement

# An element stands a tenth more than its plate says; star for delta is 1.73: common practice, no source.
VOLTS_SHARE = 0.15
EARTH, NEUTRAL, BODY = "earth", "neutral", "body"


def terminals_joined(job: Job) -> None:
    """Every terminal has a wire, but those that may stay open."""
    joined = {end for wire in job.machine.wires for end in wire}
    for name, part in job.machine.parts.items():
        for terminal in part.terminals:
            if f"{name}.{terminal}" in joined or terminal in part.open_terminals:
                continue
            job.add(f"terminal {name}.{terminal} is not joined", name, f"add a wire to {name}.{terminal}")


def short_circuits(job: Job) -> None:
    """Live never meets neutral, another phase or earth; neutral and earth meet outside the machine alone."""
    found = paths(job.circuit, job.machine.wires)
    for place, numbers in found.sources.items():
        if len(numbers) < 2:
            continue
        words = sorted((_word(job, number) for number in numbers), key=_rank)
        ends = sorted(end for end, node in found.node.items() if node == place)
        job.add(
            f"{' and '.join(words)} are joined with no load between",
            job.circuit.sources[min(numbers)].terminal.partition(".")[0],
            f"a short circuit: take out the wire that joins {', '.join(ends[:6])}",
        )


def loads(job: Job) -> None:
    """Every load lies between two sources of different volts once all contacts are closed, none on earth."""
    found = paths(job.circuit, job.machine.wires)
    for load in job.circuit.loads:
        reached = {end: leads_to(load, end, job.circuit, found) for end in (load.a, load.b)}
        loose = [end for end, numbers in reached.items() if not numbers]
        for end in loose:
            job.add(f"{end} is joined to neither live nor neutral", load.name, f"add a wire to {end}")
        if not loose:
            _between(job, load, found)


def _between(job: Job, load: Load, found: Paths) -> None:
    """A load whose two ends lead somewhere."""
    on_earth = [end for end in (load.a, load.b) if any(_word(job, n) == EARTH for n in found.at(end))]
    if on_earth:
        remedy = "earth carries no current: join it to neutral"
        job.add(f"{on_earth[0]} is joined to earth", load.name, remedy)
    elif not has_current(load, job.circuit, found) and not _by_an_open_contact(job, load):
        side = _word(job, min(leads_to(load, load.a, job.circuit, found)))
        remedy = f"join one of them to {'live' if side == NEUTRAL else 'neutral'}"
        job.add(f"{load.a} and {load.b} are both joined to {side}", load.name, remedy)


def _by_an_open_contact(job: Job, load: Load) -> bool:
    """Whether a load has current while some contact is open: a lamp that lies across it."""
    parts = {contact.part for contact in job.circuit.contacts}
    return any(
        has_current(load, job.circuit, paths(job.circuit, job.machine.wires, {part})) for part in parts
    )


def element_volts(job: Job) -> None:
    """Each leg of an element lies across the voltage it is made for."""
    found = paths(job.circuit, job.machine.wires)
    for load in job.circuit.loads:
        element = job.machine.parts.get(load.name.partition(".")[0])
        if not isinstance(element, HeatingElement):
            continue
        made_for_V = element.leg_V or job.circuit.rated_V
        gets_V = volts_across(load, job.circuit, found) * job.circuit.rated_V
        if abs(gets_V - made_for_V) > VOLTS_SHARE * made_for_V:
            job.add(
                f"{load.name} is made for {made_for_V:.0f} V and lies across {gets_V:.0f} V",
                f"{element.name}.leg_V",
                f"wire its legs otherwise (star, delta, one phase), or give leg_V: {gets_V:.0f}",
            )


def bodies_earthed(job: Job) -> None:
    """Every metal body that can come under current is joined to earth."""
    earths = [source.terminal for source in job.circuit.sources if source.terminal.endswith(f".{EARTH}")]
    node = earthed(job.circuit, job.machine.wires)
    for name, part in job.machine.parts.items():
        body = part.at(BODY)
        if BODY not in part.terminals or any(node.get(body, body) == node.get(e, e) for e in earths):
            continue
        remedy = f"join {body} to {' or '.join(earths)}, or to an earth bond that is"
        job.add(f"the metal of {name} is not joined to earth", name, remedy)


def _word(job: Job, number: int) -> str:
    """What a source is called: ``live``, ``live_2``, ``neutral``, ``earth``."""
    return job.circuit.sources[number].terminal.partition(".")[2]


def _rank(word: str) -> tuple[int, str]:
    return (word == NEUTRAL) + 2 * (word == EARTH), word
