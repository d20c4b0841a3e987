"""A running machine at one moment, as plain data: what every gauge, thermometer, flow meter and lamp would
show.

Pressures are above the room, flows positive from inlet to outlet or from a line's ``from`` to its ``to``. The
flow of every line follows from continuity: what parts pass is known, joints neither make nor keep water.
`collaudo.twin.taking` takes it.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collaudo.machine.model import Machine
    from collaudo.twin.run import Run


@dataclass(frozen=True)
class PortReading:
    """What stands at a port. ``level``: of the liquid in the space behind it, as a share of its height."""

    pressure_bar: float
    temperature_degC: float
    level: float


@dataclass(frozen=True)
class PartFlow:
    """What passes a part between two of its ports, positive from ``inlet`` to ``outlet``."""

    part: str
    inlet: str
    outlet: str
    flow_g_per_s: float
    steam_share: float
    """Share of the flow that is steam."""
    air_share: float
    opening_share: float | None
    """How far a seat that a hand, a coil or a device moves stands open; None: nothing moves it."""


@dataclass(frozen=True)
class LineFlow:
    """What passes a line of the machine file, positive from ``from_port`` to ``to_port``."""

    from_port: str
    to_port: str
    flow_g_per_s: float
    steam_share: float
    air_share: float
    temperature_degC: float
    """Of what flows, as it enters the line."""
    leg: bool = False
    """A leg of a circulation: it joins two vessels, and water can pass it either way."""


@dataclass(frozen=True)
class Circulation:
    """A closed loop of legs; ``lines`` are places in `Snapshot.lines`, in the order water passes them."""

    lines: tuple[int, ...]
    ways: tuple[int, ...]
    """1 where the loop passes a line from ``from_port`` to ``to_port``, else -1."""
    flow_g_per_s: float
    """Least flow round it, positive in the order of ``lines``; what is drawn for brewing comes on top."""
    places: tuple[str, ...]
    """Cells passed, in order."""
    rises_mm: tuple[float, ...]
    """Height gained across each place."""


@dataclass(frozen=True)
class HeatFlow:
    """Heat that goes from ``a`` to ``b`` (cells, walls or ``room``)."""

    kind: str
    a: str
    b: str
    heat_W: float


@dataclass(frozen=True)
class ContactState:
    """Two terminals, joined or apart. Wires have the part ``wire``."""

    part: str
    a: str
    b: str
    closed: bool


@dataclass(frozen=True)
class LoadState:
    """What takes current between two terminals."""

    name: str
    a: str
    b: str
    on: bool
    """Whether it acts."""
    volts: float
    amps: float


@dataclass(frozen=True)
class Snapshot:
    """A machine at one moment; all plain data, `as_json` and `from_json` go both ways."""

    machine: str
    title: str
    state: str
    time_s: float
    site: dict[str, float]
    ports: dict[str, PortReading]
    flows: tuple[PartFlow, ...]
    lines: tuple[LineFlow, ...]
    circulations: tuple[Circulation, ...]
    temperatures_degC: dict[str, float]
    """Of cells (``boiler.upper``) and walls (``boiler``)."""
    levels: dict[str, float]
    """Share of its height to which each vessel is full; tanks and receivers by what they hold."""
    masses_g: dict[str, float]
    """Water in vessels, tanks and receivers."""
    elevations_mm: dict[str, float]
    """Height of the ports of a circulation."""
    inputs: dict[str, float]
    devices: dict[str, float]
    """Phase of each device: switches 0 or 1; fill controls as in `collaudo.twin.kernel.devices`."""
    contacts: tuple[ContactState, ...]
    loads: tuple[LoadState, ...]
    heaters_W: dict[str, float]
    duties: dict[str, float]
    """Share of the time for which each temperature controller calls for heat."""
    heats: tuple[HeatFlow, ...]
    sensed: dict[str, float]
    """What lagged sensors show: gauge pressure [bar] or temperature [degC]."""
    fields: dict[str, float | str] = field(default_factory=dict)
    """Fields of parts that differ from the machine as it was built, as ``portafilter.holds``."""

    def as_json(self) -> dict[str, Any]:
        """Plain mappings, lists, numbers and texts."""
        return asdict(self)

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Snapshot:
        """Back from `as_json`, also after it went through a file. `TypeError` where the data do not fit."""
        rows = dict(data)
        rows["ports"] = {name: PortReading(**row) for name, row in data["ports"].items()}
        for name, kind in (
            ("flows", PartFlow),
            ("lines", LineFlow),
            ("heats", HeatFlow),
            ("contacts", ContactState),
            ("loads", LoadState),
        ):
            rows[name] = tuple(kind(**row) for row in data[name])
        rows["circulations"] = tuple(_circulation(row) for row in data["circulations"])
        return cls(**rows)


def _circulation(row: dict[str, Any]) -> Circulation:
    values: dict[str, Any] = {key: tuple(v) if isinstance(v, list) else v for key, v in row.items()}
    return Circulation(**values)


def snapshot(run: Run, state: str = "", built: Machine | None = None) -> Snapshot:
    """The moment ``run`` has come to; ``built`` is the machine before anything was changed on it."""
    # Only now: what is kept can be read without loading the compiled twin.
    from collaudo.twin.taking import Taker

    run.advance(0.0)  # what hands have moved since acts, and the work space shows this very moment
    return Taker(run).take(state, built or run.machine)
