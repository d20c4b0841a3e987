"""The path of water, heat or current through a machine in one state."""

from __future__ import annotations

from collaudo.errors import unknown_name
from collaudo.machine.model import Machine
from collaudo.paths.current import CurrentWalks
from collaudo.paths.heat import HeatWalks, load_of_heater
from collaudo.paths.model import Path, Walk
from collaudo.paths.view import View
from collaudo.paths.water import WaterWalks
from collaudo.paths.words import amps, flow, listed, the, volts, watts
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
    parts = []
    for walk in ways:
        begin, end = walk.steps[0], walk.steps[-1]
        amount = flow(end.facts.get("flow_g_per_s", begin.facts["flow_g_per_s"]))
        parts.append(f"from {the(begin.part)} to {the(end.part)} ({amount})")
    what = "Water or steam flows" if any(_steams(walk, view) for walk in ways) else "Water flows"
    return f"{what} {listed(parts)}."


def _steams(walk: Walk, view: View) -> bool:
    return any(view.line(n).steam_share > 0.5 for step in walk.steps for n in step.lines)


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
    on = sorted((x for x in view.snapshot.loads if x.on), key=lambda x: -x.amps)
    if not on:
        return "Nothing has current."
    named = listed([f"{the(x.name)} ({amps(x.amps)})" for x in on])
    return f"At {volts(view.snapshot.site['mains_V'])} current flows through {named}."
