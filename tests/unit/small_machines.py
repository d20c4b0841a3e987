"""Small machines of few parts, put together by hand: nothing acts that a test does not ask for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from collaudo.machine.model import LineBetween, Machine
from collaudo.parts.circuit import Circuit, Command, Contact, Device, Lag
from collaudo.parts.part import Part, kind_named
from collaudo.twin.results import Results
from collaudo.twin.run import Run

Parts = Mapping[str, Mapping[str, Any] | Part]
Lines = Sequence[tuple[str, str]]
Wires = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Holds(Part):
    """A stand-in for whatever keeps a temperature: a contact that opens above and closes below."""

    terminals: ClassVar[tuple[str, ...]] = ("a", "b")
    on: str = "boiler"
    opens_degC: float = 93.5
    differential_K: float = 1.0

    def describe(self, circuit: Circuit) -> None:
        """A two-position device on what a quick sensor feels."""
        high = self.opens_degC + 273.15
        circuit.lags.append(Lag(self.name, "temperature", self.on, 1.0))
        circuit.devices.append(
            Device(self.name, "two_position", "lag", self.name, high=high, low=high - self.differential_K)
        )
        circuit.contacts.append(
            Contact(self.name, self.at("a"), self.at("b"), Command("device_off", self.name))
        )


def put_together(parts: Parts, lines: Lines, wires: Wires = ()) -> Machine:
    """A machine of these parts; every line is 4 mm wide and 300 mm long."""
    made: dict[str, Part] = {"mains": kind_named("mains")("mains")}
    for name, given in parts.items():
        if isinstance(given, Part):
            made[name] = given
        else:
            fields = {key: value for key, value in given.items() if key != "kind"}
            made[name] = kind_named(given["kind"])(name, **fields)
    joined = tuple(LineBetween(a, b, 4.0, 300.0) for a, b in lines)
    return Machine("small", "small", made, joined, tuple(wires))


def last(run: Run, name: str) -> float:
    """Last value of a series."""
    return float(Results(run).series(name).values[-1])


def gained(run: Run, name: str, seconds: float) -> float:
    """How much a series grows over the next seconds."""
    run.advance(0.0)
    before = last(run, name)
    run.advance(seconds)
    return last(run, name) - before


HEATED: dict[str, Mapping[str, Any] | Part] = {
    "tank": {"kind": "tank"},
    "pump": {"kind": "vibration_pump"},
    "check_valve": {"kind": "check_valve"},
    "relief_valve": {"kind": "relief_valve", "set_bar": 9.5},
    "gauge": {"kind": "gauge"},
    "valve": {"kind": "three_way_valve"},
    "group": {"kind": "bolted_group"},
    "brew_chamber": {"kind": "brew_chamber", "entry_share": 0.7},
    "screen": {"kind": "screen"},
    "portafilter": {"kind": "portafilter"},
    "cup": {"kind": "receiver"},
    "tray": {"kind": "drip_tray"},
    "hose": {"kind": "drain_hose"},
    "power_switch": {"kind": "switch", "worked_by": "power"},
    "brew_switch": {"kind": "switch", "worked_by": "brew"},
}
HEATED_LINES = (
    ("tank.out", "pump.in"),
    ("pump.out", "check_valve.in"),
    ("check_valve.out", "relief_valve.in"),
    ("check_valve.out", "gauge.in"),
    ("relief_valve.out", "tank.return"),
    ("valve.out", "brew_chamber.in"),
    ("valve.exhaust", "tray.in"),
    ("tray.drain_hose", "hose.in"),
    ("brew_chamber.screen", "screen.in"),
    ("screen.out", "portafilter.in"),
    ("portafilter.out", "cup.in"),
)
HEATED_WIRES = (
    ("mains.live", "power_switch.a"),
    ("mains.live", "brew_switch.a"),
    ("brew_switch.b", "pump.live"),
    ("brew_switch.b", "valve.live"),
    ("pump.neutral", "mains.neutral"),
    ("valve.neutral", "mains.neutral"),
    ("power_switch.b", "holds.a"),
    ("element.neutral", "mains.neutral"),
    ("holds.b", "element.live"),
)


def with_brew_boiler(**boiler: Any) -> Machine:
    """A brew boiler with its element and a bolted group; held at 93 degC in its upper layer."""
    parts = HEATED | {
        "boiler": {"kind": "brew_boiler", **boiler},
        "element": {"kind": "heating_element", "power_W": 1200.0, "mass_kg": 0.3},
        "holds": Holds("holds", on="boiler.upper"),
        "group": {"kind": "bolted_group", "bolted_to": "boiler"},
        "steam_tap": {"kind": "tap"},
        "drain": {"kind": "boiler_drain"},
        "jug": {"kind": "receiver"},
    }
    lines = (
        *HEATED_LINES,
        ("check_valve.out", "boiler.in"),
        ("boiler.out", "valve.in"),
        ("boiler.steam", "steam_tap.in"),
        ("steam_tap.out", "jug.in"),
        ("boiler.drain", "drain.in"),
        ("drain.out", "jug.second"),
    )
    return put_together(parts, lines, HEATED_WIRES)


def with_flow_through_heater(**heater: Any) -> Machine:
    """A flow-through heater held at 96 degC, a metered pump, a group with a cartridge held at 90 degC."""
    parts = HEATED | {
        "element": {"kind": "flow_through_heater", **heater},
        "holds": Holds("holds", on="element", opens_degC=96.0),
        "flow_meter": {"kind": "flow_meter"},
        "strainer": {"kind": "group_strainer"},
        "cartridge": {"kind": "cartridge_heater", "power_W": 120.0},
        "group_holds": Holds("group_holds", on="group", opens_degC=90.0),
    }
    lines = (
        *HEATED_LINES[1:],
        ("tank.out", "flow_meter.in"),
        ("flow_meter.out", "pump.in"),
        ("check_valve.out", "element.in"),
        ("element.out", "strainer.in"),
        ("strainer.out", "valve.in"),
    )
    wires = (
        *HEATED_WIRES,
        ("power_switch.b", "group_holds.a"),
        ("group_holds.b", "cartridge.live"),
        ("cartridge.neutral", "mains.neutral"),
    )
    return put_together(parts, lines, wires)


def at_the_line(jet_mm: float = 2.0, **part: Mapping[str, Any]) -> Machine:
    """A part at the building's water, a gauge behind it and a jet into a cup."""
    (name,) = part
    parts = {
        "line": {"kind": "water_line"},
        **part,
        "gauge": {"kind": "gauge"},
        "jet": {"kind": "brew_jet", "bore_mm": jet_mm},
        "cup": {"kind": "receiver"},
    }
    ends = [("line.out", f"{name}.in"), (f"{name}.out", "jet.in"), ("jet.out", "cup.in")]
    return put_together(parts, [*ends, (f"{name}.out", "gauge.in")])
