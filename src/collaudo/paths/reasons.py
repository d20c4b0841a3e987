"""Why a way is shut, why a contact is open, why a thing has no current. By how a thing works, never by its
kind."""

from __future__ import annotations

from collaudo.parts.circuit import Command, Contact, Device, Lift, Member, Pump
from collaudo.parts.part import declared_fields
from collaudo.paths.view import View, part_of
from collaudo.paths.wiring import Wiring
from collaudo.paths.words import all_of, bars, degrees, of_itself, spoken, the, volts

_FILLING = {
    0.0: "the probe is wet",
    1.0: "the probe has only just fallen dry, and the control waits a moment",
    4.0: "it has filled too long without the probe becoming wet, and has locked itself out",
}
_FITTED = {"blind": "a blind disc is fitted"}
_SAME_BAR = 0.02
"""Nearer pressures than this a gauge does not tell apart."""


class Reasons:
    """Reasons at one moment. A class because they lead to one another: valve, coil, contact, switch."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.wiring = Wiring(view)

    # --- water

    def shut(self, inlet: str, outlet: str) -> str:
        """Why nothing passes from ``inlet`` to ``outlet`` of a part: a clause, ``it`` being the part. Empty
        where the way is open."""
        circuit, way = self.view.circuit, (inlet, outlet)
        pumps = [self._pump(x) for x in circuit.pumps if (x.inlet, x.outlet) == way]
        members = [self._member(x) for x in circuit.members if (x.inlet, x.outlet) == way]
        lifts = [self._lift(x) for x in circuit.lifts if (x.inlet, x.outlet) == way]
        return next(iter(pumps + members + lifts), "")

    def _pump(self, pump: Pump) -> str:
        if self.view.load(pump.load).on:
            return "it runs against a way that is shut"
        motor = "it" if pump.load == part_of(pump.part) else the(pump.load)
        return f"it stands still because {motor} has no current: {self.no_current(pump.load)}"

    def _member(self, member: Member) -> str:
        part = part_of(member.part)
        if member.area_m2 <= 0.0:
            fitted = self._fitted(part)
            return f"it lets nothing through{f' ({fitted})' if fitted else ''}"
        if member.cracking_Pa > 0.0 and member.command.kind == "always":
            return self._spring(member.cracking_Pa * 1e-5, self._difference(member.inlet, member.outlet))
        return self._command(member.command, part)

    def _fitted(self, part: str) -> str:
        """What has been chosen on a part since it was built: ``a blind disc is fitted``."""
        for key, word in self.view.snapshot.fields.items():
            if part_of(key) == part and isinstance(word, str):
                known = declared_fields(type(self.view.part(part)))
                return _FITTED.get(word, f"{known[key.partition('.')[2]]['text']}: {word}")
        return ""

    def _command(self, command: Command, part: str) -> str:
        """Why a commanded seat is shut; empty where it is open."""
        view = self.view
        if command.kind == "load" and not view.load(command.name).on:
            return f"it is shut because its coil has no current: {self.no_current(command.name)}"
        if command.kind == "load_off" and view.load(command.name).on:
            return "it is shut on this side while its coil has current"
        if command.kind == "input":
            share = (view.snapshot.inputs[command.name] - command.start) / (command.full - command.start)
            if share > 0.0:
                return ""
            return (
                "it is shut by hand"
                if command.name == part
                else f"it is shut while {self.hand(command.name)}"
            )
        if command.kind in ("device", "device_off"):
            acts = self._is_on(view.device(command.name))
            if acts == (command.kind == "device_off"):
                words = ("shuts", "opens") if command.kind == "device_off" else ("opens", "shuts")
                return f"it is shut: {of_itself(part, self.device(view.device(command.name), words))}"
        return ""

    def hand(self, name: str) -> str:
        """How a lever or switch stands."""
        position = self.view.snapshot.inputs[name]
        if name in self.view.machine.parts:
            where = "up" if position > 0.75 else "half way" if position > 0.25 else "down"
            return f"{the(name)} is {where}"
        return f"{spoken(name)} is {'on' if position >= 0.5 else 'off'}"

    def _difference(self, inlet: str, outlet: str) -> float:
        ports = self.view.snapshot.ports
        return ports[inlet].pressure_bar - ports[outlet].pressure_bar

    @staticmethod
    def _spring(opens_bar: float, there_bar: float) -> str:
        there = "there is no pressure" if abs(there_bar) < 0.02 else f"there are {bars(max(there_bar, 0.0))}"
        return f"its spring holds it shut up to {bars(opens_bar)}, and {there}"

    def _lift(self, lift: Lift) -> str:
        ports = self.view.snapshot.ports
        before, behind = ports[lift.inlet].pressure_bar, ports[lift.outlet].pressure_bar
        opens = lift.cracking_Pa * 1e-5
        if lift.opens != "on_difference":
            return f"it is shut: {bars(behind)} stand behind it, and it lets water in below {bars(opens)}"
        if opens >= 0.5:
            return self._spring(opens, before - behind)
        if before <= behind + _SAME_BAR:
            if abs(behind) < _SAME_BAR:
                return "it is shut: there is no pressure before it"
            if before >= behind - _SAME_BAR:
                return f"it stays shut: {bars(before)} stand before it and behind it alike"
            return f"it is held shut by the pressure behind it, {bars(behind)} against {bars(before)}"
        return f"its spring holds it shut against {bars(before - behind)}"

    # --- devices and contacts

    def _is_on(self, device: Device) -> bool:
        phase = self.view.snapshot.devices[device.part]
        return phase in ((2.0, 3.0) if device.kind == "fill_control" else (1.0,))

    def contact(self, contact: Contact) -> str:
        """Why a contact stands as it does: a clause that names who moves it."""
        command = contact.command
        if command.kind in ("device", "device_off"):
            words = ("opens", "closes") if command.kind == "device_off" else ("closes", "opens")
            return self.device(self.view.device(command.name), words)
        if command.kind == "input":
            return self.hand(command.name)
        if command.kind in ("load", "load_off"):
            return self._energised(command.name, contact.part)
        return f"{the(contact.part)} is broken"

    def _energised(self, load: str, part: str) -> str:
        """Whether what works a contact has current: a relay's own coil or input, or another load."""
        found = next(x for x in self.view.circuit.loads if x.name == load)
        own = f"the {'coil' if found.henry else 'input'} of {the(load)}"
        who = own if load == part else the(load)
        if self.view.load(load).on:
            return f"{who} has current"
        return f"{who} has no current: {self.no_current(load)}"

    def device(self, device: Device, words: tuple[str, str]) -> str:
        """How a device stands; ``words``: what it does above and below its setting."""
        named, acts = the(device.part), self._is_on(device)
        if device.kind == "input":
            if device.input in self.view.machine.parts:
                return self.hand(device.input)
            return f"{named} is {'on' if acts else 'off'}"
        if device.kind == "two_position":
            return self._two_position(device, words)
        if device.kind == "fill_control":
            return _FILLING.get(self.view.snapshot.devices[device.part], "it is filling")
        if device.kind == "relay":
            return self._energised(device.load, device.part)
        return self._state(device, named, acts)

    @staticmethod
    def _state(device: Device, named: str, acts: bool) -> str:
        if device.kind in ("latch", "residual"):
            return f"{named} has {'tripped' if acts else 'not tripped'}"
        if device.kind == "overcurrent":
            return f"{named} has {'melted' if acts else 'not melted'}"
        if device.kind == "dose":
            return f"{named} is pouring its dose" if acts else f"nobody has pressed the button of {named}"
        return f"{named} is {'on' if acts else 'off'}"

    def _two_position(self, device: Device, words: tuple[str, str]) -> str:
        named, (above, below) = the(device.part), words
        found = self._felt(device)
        if found is None:
            return f"{named} {'has acted' if self._is_on(device) else 'rests'}"
        value, high, low = found
        if high == low:
            return f"{named} {above} at {high}, and feels {value}"
        when = "when there is none" if low == bars(0.0) else f"at {low}"
        return f"{named} {above} at {high} and {below} {when}, and feels {value}"

    def _felt(self, device: Device) -> tuple[str, str, str] | None:
        """What a two-position device feels, where it acts and where it rests again, in words."""
        lag = next((x for x in self.view.circuit.lags if x.part == device.of), None)
        watch = lag.watch if device.watch == "lag" and lag else device.watch
        value = self.view.snapshot.sensed.get(device.of) if lag else self._watched(device)
        if value is None or watch not in ("pressure", "temperature"):
            return None
        if watch == "pressure":
            return bars(value), bars(device.high * 1e-5), bars(device.low * 1e-5)
        return degrees(value), degrees(device.high - 273.15), degrees(device.low - 273.15)

    def _watched(self, device: Device) -> float | None:
        """Gauge pressure [bar] or temperature [degC] a device feels without a lag."""
        snapshot = self.view.snapshot
        if device.watch == "temperature":
            return snapshot.temperatures_degC.get(device.of)
        if device.of in snapshot.ports:
            return snapshot.ports[device.of].pressure_bar
        ports = self.view.ports_of.get(device.of, ())
        return snapshot.ports[ports[0]].pressure_bar if ports else None

    # --- current

    def no_current(self, load: str) -> str:
        """Why a load has no current: what holds the contacts open that would bring it; a clause."""
        found = next(x for x in self.view.circuit.loads if x.name == load)
        if self.view.snapshot.site["mains_V"] < 1.0:
            return "there is no voltage at the mains"
        way = self.wiring.way(found)
        if way is None:
            return "no wire leads to it"
        openers = self.wiring.openers(found) or ([way.opened] if way.opened else [])
        if openers:
            return all_of([self.contact(contact) for contact in openers])
        reaches = self.view.load(load).volts
        return f"{volts(reaches)} reach it, which is too little" if reaches > 1.0 else "its winding is broken"
