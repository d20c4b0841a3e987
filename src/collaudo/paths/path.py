"""The path of water, heat or current through a machine in one state."""

from __future__ import annotations

from collections.abc import Callable

from collaudo.errors import unknown_name
from collaudo.machine.model import Machine
from collaudo.paths.current import CurrentWalks
from collaudo.paths.heat import HeatWalks, load_of_heater
from collaudo.paths.model import Path, Step, Walk
from collaudo.paths.view import View, part_of
from collaudo.paths.water import WaterWalks
from collaudo.paths.water_steps import STEAM
from collaudo.paths.words import amps, flow, gas_flow, listed, sentence, the, volts, watts
from collaudo.twin.snapshot import Snapshot

MATTERS = ("water", "heat", "current")


def path_in(snapshot: Snapshot, machine: Machine, of: str, state_title: str = "") -> Path:
    """The path of ``of`` in the moment ``snapshot`` of ``machine``; `UnknownNameError` for another word."""
    if of not in MATTERS:
        raise unknown_name("path", of[:60], MATTERS)
    view = View(machine, snapshot)
    builder = {"water": WaterWalks, "heat": HeatWalks, "current": CurrentWalks}[of]
    walks = tuple(builder(view).build())
    summary = {"water": _water, "heat": _heat, "current": _current}[of](walks, view)
    title = state_title or snapshot.state
    return Path(machine.id, machine.title, snapshot.state, title, of, summary, walks)


def _water(walks: tuple[Walk, ...], view: View) -> str:
    """What flows, in one or two sentences."""
    ways = [walk for walk in walks if walk.kind == "way"]
    if not ways:
        still = "No water flows in or out."
        round_about = [walk for walk in walks if walk.kind == "circulation"]
        return f"{still} Water only goes round by itself." if round_about else still
    told = []
    for what, gas, amount in (("water", False, flow), ("steam", True, gas_flow)):
        parts = [_from_to(walk, amount, view) for walk in ways if _is_gas(walk, view) == gas]
        told += [f"{what} flows {listed(parts)}"] if parts else []
    return sentence(listed(told))


def _from_to(walk: Walk, amount: Callable[[float], str], view: View) -> str:
    begin, end = walk.steps[0], walk.steps[-1]
    ended = end.facts["flow_g_per_s"]
    goes_on = f"to {the(end.part)} ({amount(ended)})"
    if begin.part == end.part:
        return f"round from {the(begin.part)} and back to it ({amount(ended)})"
    kept = next((step for step in walk.steps[1:-1] if _mostly_stays(step, ended, view)), None)
    if kept is not None:
        first = amount(kept.facts["flow_g_per_s"])
        return f"from {the(begin.part)} to {the(kept.part)} ({first}) and on {goes_on}"
    return f"from {the(begin.part)} {goes_on}"


def _mostly_stays(step: Step, ended_g_per_s: float, view: View) -> bool:
    """Whether a vessel on the way keeps most of what comes: it fills, and little goes on."""
    return view.is_space(step.part) and step.facts.get("flow_g_per_s", 0.0) > 3.0 * ended_g_per_s


def _is_gas(walk: Walk, view: View) -> bool:
    """Whether steam or air leaves where the walk begins."""
    lines = [view.line(number) for step in walk.steps[1:2] for number in step.lines]
    return any(line.steam_share + line.air_share > STEAM for line in lines)


def _heat(walks: tuple[Walk, ...], view: View) -> str:
    del walks
    heaters = {
        load_of_heater(view, name): watt for name, watt in view.snapshot.heaters_W.items() if watt >= 1.0
    }
    to_room = sum(heat.heat_W for heat in view.snapshot.heats if heat.b == "room")
    lost = (
        f"{watts(to_room)} are lost to the room" if to_room >= 1.0 else "next to nothing is lost to the room"
    )
    if not heaters:
        return f"Nothing heats at the moment; {lost}."
    made = listed([f"{the(name)} makes {watts(watt)}" for name, watt in heaters.items()])
    return f"{made[:1].upper()}{made[1:]}; {lost}."


def _current(walks: tuple[Walk, ...], view: View) -> str:
    del walks
    together: dict[str, list[float]] = {}
    for load in view.snapshot.loads:
        if load.on:
            together.setdefault(part_of(load.name), []).append(load.amps)
    if not together:
        return "Nothing has current."
    ordered = sorted(together.items(), key=lambda item: -sum(item[1]))
    words = listed([f"{the(part)} ({_legs(taken)})" for part, taken in ordered])
    return f"At {volts(view.snapshot.site['mains_V'])} current flows through {words}."


def _legs(taken: list[float]) -> str:
    """``6.1 A``; of several legs what each takes."""
    each = listed(list(dict.fromkeys(amps(ampere) for ampere in taken)))
    return each if len(taken) == 1 else f"{len(taken)} legs of {each}"
