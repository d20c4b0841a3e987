"""The card of a part of a running machine: what it is for, how it stands now, which checks and causes are of
it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collaudo.bench.naming import part_in_words
from collaudo.bench.running.glance import Glance
from collaudo.bench.runs.events import states_in_words
from collaudo.checks.check import HAZARDS, cautions
from collaudo.errors import unknown_name
from collaudo.machine.described import described
from collaudo.parts.part import Part

if TYPE_CHECKING:
    from collaudo.bench.running.stand import Stand
    from collaudo.twin.run import Run

MOST_CHECKS = 6
FLOWS_KG_PER_S = 2e-5
"""What passes less is a seat's own leak."""


@dataclass(frozen=True)
class CardValue:
    """A value of the part as it is now."""

    name: str
    title: str
    value: float
    unit: str


@dataclass(frozen=True)
class CardCheck:
    """A check that tells of the part."""

    check: str
    title: str
    minutes: float


@dataclass(frozen=True)
class CardCause:
    """Something that can be wrong with it."""

    cause: str
    title: str


@dataclass(frozen=True)
class PartCard:
    """What is shown where a part is touched."""

    part: str
    title: str
    kind: str
    does: str
    customer: str
    fails: str
    now: list[str]
    values: list[CardValue]
    checks: list[CardCheck]
    cautions: list[str]
    causes: list[CardCause]


def card_of(stand: Stand, part: str) -> PartCard:
    """The card of one part; `UnknownNameError` where the machine has no such part."""
    model, run, glance = stand.machine.model, stand.live.run, stand.framer.glance
    if part not in model.parts:
        raise unknown_name("part", part[:60], model.parts)
    one = model.parts[part]
    values = glance.values(run.row)
    roles = {role for role, name in stand.live.roles.items() if name == part}
    causes = [cause for cause in stand.live.listed_causes if stand.live.roles.get(cause.part) == part]
    hazards = {hazard for cause in causes for hazard in cause.hazards} | set(_hazards(one))
    return PartCard(
        part,
        part_in_words(part),
        one.kind,
        one.text,
        one.customer or one.text,
        one.fails,
        list(_now(run, glance, one)),
        [
            CardValue(channel.name, channel.title, round(float(value), 3) + 0.0, channel.unit)
            for channel, value in zip(glance.channels.values(), values, strict=True)
            if channel.part == part
        ],
        _checks(stand, roles),
        [cautions()[hazard] for hazard in HAZARDS if hazard in hazards],
        [CardCause(cause.id, cause.title) for cause in causes],
    )


def _hazards(part: Part) -> Iterator[str]:
    if part.terminals:
        yield "mains"
    if part.ports and part.kind not in ("tank", "drip_tray", "receiver", "softener", "drain_hose"):
        yield "scald"
        yield "pressure"


def _checks(stand: Stand, roles: set[str]) -> list[CardCheck]:
    """Checks with a reading that needs one of its roles, the quickest first."""
    found = [
        one.check
        for one in stand.checks
        if not one.check.asked and any(roles & reading.roles for reading in one.readings)
    ]
    found.sort(key=lambda check: check.minutes + check.wait_minutes)
    return [CardCheck(check.id, check.title, check.minutes) for check in found[:MOST_CHECKS]]


# --- how it stands now --------------------------------------------------------------------------------------


def _now(run: Run, glance: Glance, part: Part) -> Iterator[str]:
    """In sentences without numbers: those are among the values, in the units chosen."""
    yield from _seat(glance, part.name)
    yield from _switching(run, part.name)
    yield from _taking(run, part)
    yield from _passing(run, glance, part.name)
    if part.name in glance.vessels:
        level = glance.levels(run.row)[part.name]
        yield _filled(level)


def _seat(glance: Glance, part: str) -> Iterator[str]:
    if part in glance.seats:
        share = dict(zip(glance.seats, glance.openings(), strict=True))[part]
        yield (
            "It stands open." if share >= 1.0 else "It is shut." if share <= 0.0 else "It stands partly open."
        )


def _switching(run: Run, part: str) -> Iterator[str]:
    """How its contacts and devices stand."""
    contacts = described(run.machine).contacts
    closed = [bool(run.mode.closed[n] > 0.0) for n, one in enumerate(contacts) if one.part == part]
    if closed:
        some = "Some of its contacts are closed." if any(closed) else "Its contacts are open."
        if len(closed) == 1:
            some = "Its contact is closed." if closed[0] else "Its contact is open."
        yield "Its contacts are closed." if all(closed) and len(closed) > 1 else some
    elif (n := run.assembly.names.devices.get(part)) is not None:
        word = states_in_words(run.machine)[part].get(int(run.mode.device[n].phase))
        if word:
            yield f"It stands so: {word}."


def _taking(run: Run, part: Part) -> Iterator[str]:
    """Whether it takes current; a load of a part with several is called ``part.leg``."""
    loads = [n for name, n in run.assembly.names.loads.items() if name.partition(".")[0] == part.name]
    if loads:
        on = [bool(run.mode.energised[n] > 0.0) for n in loads]
        if all(on) or not any(on):
            yield "It has current." if on[0] else "It has no current."
        else:
            yield f"{sum(on)} of its {len(on)} legs have current."


def _passing(run: Run, glance: Glance, part: str) -> Iterator[str]:
    """What passes it, water or steam."""
    elements = [n for name, n in run.assembly.names.elements.items() if name.partition(".")[0] == part]
    at = glance.start["element"]
    flows = [(abs(float(run.row[at + 3 * n])), float(run.row[at + 3 * n + 1])) for n in elements]
    if flows:
        flow, steam = max(flows)
        what = "Steam" if steam > 0.5 else "Water"
        yield f"{what} passes it." if flow > FLOWS_KG_PER_S else "Nothing passes it."


def _filled(level: float) -> str:
    if level > 0.98:
        return "It is full."
    return "It is empty." if level < 0.02 else f"It is filled {_tenths(level)}."


def _tenths(level: float) -> str:
    words = {1: "a little", 2: "a fifth", 3: "a third", 4: "four tenths", 5: "half", 6: "six tenths"}
    words |= {7: "seven tenths", 8: "eight tenths", 9: "nine tenths"}
    return words.get(min(max(round(level * 10.0), 1), 9), "half")
