"""The current's walks: the way all share, then to each load and back, with what holds it open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from collaudo.parts.circuit import Contact
from collaudo.paths.model import Step, Walk
from collaudo.paths.reasons import Reasons
from collaudo.paths.view import View, part_of
from collaudo.paths.wiring import Hop, LoadWay
from collaudo.paths.words import amps, degrees, listed, named, of_itself, sentence, the, volts, watts
from collaudo.twin.snapshot import LoadState

COUNTS = ("no", "one", "two", "three", "four", "five", "six")
_OPEN_AS_SAID = ("it is off", "it has tripped", "it has melted")
_MEET = "the three meet at the neutral, and while all draw alike nothing is left to go back by it"
_CLOSED_AS_SAID = ("it is on", "it has not tripped", "it has not melted")


class CurrentWalks:
    """Builds the walks. A class because all share the reasons and the way in common."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.reasons = Reasons(view)

    def build(self) -> list[Walk]:
        """The common way, then one walk a load: those with current first; then what lies on no load's way."""
        ways = [way for load in self.view.circuit.loads if (way := self.reasons.wiring.way(load)) is not None]
        walks: list[Walk] = []
        if ways:
            shared = _shared(ways)
            walks.append(self._trunk(shared, ways))
            together: dict[str, list[LoadWay]] = {}
            for way in ways:
                together.setdefault(part_of(way.load.name), []).append(way)
            ordered = sorted(together.values(), key=lambda legs: -sum(map(self._power, legs)))
            walks += [self._to(legs, shared) for legs in ordered]
        told = {step.part for walk in walks for step in walk.steps}
        return walks + self._left(told)

    def _power(self, way: LoadWay) -> float:
        """Volts times amps; below nothing for what does not act."""
        state = self.view.load(way.load.name)
        return state.volts * state.amps if state.on else -1.0

    def _trunk(self, shared: list[str], ways: list[LoadWay]) -> Walk:
        drawn = sum(self.view.load(way.load.name).amps for way in ways if self.view.load(way.load.name).on)
        steps = [
            self._contact_step(part, _hops_of(part, ways[0].there), before)
            for part, before in zip(shared, ["", *shared[:-1]], strict=True)
        ]
        opened = next((step for step in steps if not step.passes), None)
        drawn_words = f", and {amps(drawn)} are drawn in all" if drawn > 0.0 else ", and nothing is drawn"
        steps[0] = replace(steps[0], says=(f"{self._stands()} stand here{drawn_words}.", *steps[0].says))
        title = f"From {the(shared[0])} to {the(shared[-1])}"
        why = sentence(named(opened.part, opened.says[0])) if opened else ""
        return Walk("closed" if opened else "way", title, tuple(steps), "", why)

    def _stands(self) -> str:
        """Volts at the mains: to the neutral and, where there are three phases, between them."""
        mains_V = self.view.snapshot.site["mains_V"]
        if len(self.reasons.wiring.live) < 3 or mains_V < 1.0:
            return volts(mains_V)
        between_V = round(sqrt(3.0) * mains_V, -1)
        return f"{volts(mains_V)} from each phase to the neutral and {volts(between_V)} between two phases"

    def _to(self, legs: list[LoadWay], shared: list[str]) -> Walk:
        """From where the common way ends to one load, or the legs of one element, and back."""
        way, parts = legs[0], _parts(legs[0].there)
        skip = sum(a == b for a, b in zip(parts, shared, strict=False))
        begins_at = before = parts[skip - 1]
        steps: list[Step] = []
        for part in parts[skip:]:
            steps.append(self._contact_step(part, _hops_of(part, way.there), before))
            before = part
        on = any(self.view.load(leg.load.name).on for leg in legs)
        if not on:
            told = {step.part for step in steps}
            steps += [self._other(c, begins_at) for c in self._others(way) if part_of(c.part) not in told]
        opened = any(not step.passes for step in steps)
        steps.append(self._load_step(legs, before, opened))
        why = "" if on else sentence(f"{the(way.load.name)} has no current: {self._why_off(way)}")
        title = f"From {the(begins_at)} to {the(way.load.name)} and back"
        return Walk("branch" if on else "closed", title, tuple(steps), begins_at, why)

    def _why_off(self, way: LoadWay) -> str:
        return self.reasons.no_current(way.load.name)

    def _others(self, way: LoadWay) -> list[Contact]:
        """Other contacts that could bring the current, one a part."""
        return list({part_of(c.part): c for c in self.reasons.wiring.openers(way.load)}.values())

    def _other(self, contact: Contact, before: str) -> Step:
        why = self.reasons.contact(contact)
        says = f"it could bring the current too, and is open: {of_itself(part_of(contact.part), why)}"
        return self._made(part_of(contact.part), before, [sentence(says)], False, sentence(why))

    def _load_step(self, legs: list[LoadWay], before: str, opened: bool) -> Step:
        """What a load takes, or why it takes nothing where no open contact has told it."""
        states = [self.view.load(leg.load.name) for leg in legs]
        acting = [(leg, state) for leg, state in zip(legs, states, strict=True) if state.on]
        reached = max(state.volts for state in states)
        if acting:
            says = [self._takes(leg, state) for leg, state in acting]
            if len(acting) > 1 and len(set(says)) == 1:
                each, _, home = says[0].replace(" it takes", " each takes").partition("; it goes")
                phases = {leg.there[0].a for leg, _ in acting if leg.there}
                home = _MEET if len(phases) == 3 and "neutral" in home else f"the current goes{home}"
                says = [f"{COUNTS[len(acting)]} legs: {each}; {home}"]
            dead = len(legs) - len(acting)
            says += (
                [f"{dead} of its {len(legs)} legs {'has' if dead == 1 else 'have'} no current"]
                if dead
                else []
            )
        elif reached > 1.0:
            says = [f"{volts(reached)} reach it, too little for it to act"]
        else:
            says = ["it has no current" if opened else f"it has no current: {self._why_off(legs[0])}"]
        facts = {"volts_V": reached, "amps_A": sum(state.amps for state in states)}
        told = [sentence(text) for text in says]
        return self._made(part_of(legs[0].load.name), before, told, bool(acting), "", facts)

    def _takes(self, way: LoadWay, state: LoadState) -> str:
        back = [the(part) for part in _parts(way.back) if part in self._moved_parts(way.back)]
        if way.back and way.back[-1].b in self.reasons.wiring.live:
            home = "it goes back by another phase"
        else:
            home = f"it goes back by {listed([*back, 'the neutral'])}"
        resistive = not way.load.henry and not way.load.one_way and state.volts * state.amps >= 1.0
        power = f", which makes {watts(state.volts * state.amps)}" if resistive else ""
        return f"at {volts(state.volts)} it takes {amps(state.amps)}{power}; {home}"

    @staticmethod
    def _moved_parts(hops: Sequence[Hop]) -> set[str]:
        """Parts whose contacts something moves, on the way back that only the neutral takes as a rule."""
        return {
            part_of(hop.contact.part)
            for hop in hops
            if hop.contact is not None and hop.contact.command.kind not in ("always", "device_off")
        }

    def _contact_step(self, part: str, hops: Sequence[Hop], before: str) -> Step:
        contacts = [(hop.contact, hop.closed) for hop in hops if hop.contact is not None]
        opened = next((contact for contact, closed in contacts if not closed), None)
        if opened is not None:
            why = of_itself(part, self.reasons.contact(opened))
            says = why if why in _OPEN_AS_SAID else f"it is open: {why}"
            return self._made(part, before, [sentence(says)], False, sentence(why))
        moved = next((c for c, _ in contacts if c.command.kind != "always"), None)
        if moved is None:
            return self._made(part, before, [])
        why = of_itself(part, self.reasons.contact(moved))
        says = why if why in _CLOSED_AS_SAID else f"it is closed: {why}"
        return self._made(part, before, [sentence(says)])

    def _left(self, told: set[str]) -> list[Walk]:
        """What lies on no load's way just now: idle contacts, sensors, the earth."""
        left = [name for name, part in self.view.machine.parts.items() if part.terminals and name not in told]
        steps = [self._idle(name) for name in left]
        return [Walk("closed", "Beside the way of the current", tuple(steps), "", "")] if steps else []

    def _idle(self, name: str) -> Step:
        sensed = self.view.snapshot.sensed.get(name)
        contact = next((c for c in self.view.circuit.contacts if part_of(c.part) == name), None)
        if contact is not None and contact.command.kind != "always":
            says = of_itself(name, self.reasons.contact(contact))
        elif sensed is not None:
            says = f"it feels {degrees(sensed)}"
        else:
            says = "no current flows here as long as all is sound"
        return self._made(name, "", [sentence(says)], False)

    def _made(
        self,
        part: str,
        enters: str,
        says: list[str],
        passes: bool = True,
        why: str = "",
        facts: dict[str, float] | None = None,
    ) -> Step:
        kind = self.view.part(part)
        customer = kind.customer or kind.text
        return Step(part, enters, "", kind.text, customer, kind.fails, tuple(says), passes, why, facts or {})


def _parts(hops: Sequence[Hop]) -> list[str]:
    """Parts a way leads through, in order: the one it begins at and those with a contact on it."""
    names = [part_of(hops[0].a)] if hops else []
    names += [part_of(hop.contact.part) for hop in hops if hop.contact is not None]
    return list(dict.fromkeys(names))


def _hops_of(part: str, hops: Sequence[Hop]) -> list[Hop]:
    """Hops inside a part."""
    return [hop for hop in hops if hop.contact is not None and part_of(hop.contact.part) == part]


def _shared(ways: list[LoadWay]) -> list[str]:
    """Parts that all ways from the phase most loads hang on begin with."""
    sources = Counter(way.there[0].a for way in ways if way.there)
    main = sources.most_common(1)[0][0]
    found = []
    for parts in zip(
        *(_parts(way.there) for way in ways if way.there and way.there[0].a == main), strict=False
    ):
        if len(set(parts)) > 1:
            break
        found.append(parts[0])
    return found
