"""What parts say about themselves to the twin: vessels, elements, heat, wiring. Names only, no numbering yet.

All quantities are SI. A port is written ``part.port``; a terminal ``part.terminal``; a wall ``part`` or
``part.wall``. The twin's assembler turns this description into arrays.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Site:
    """Where the machine stands."""

    mains_V: float = 230.0
    mains_Hz: float = 50.0
    atmosphere_Pa: float = 101325.0
    room_K: float = 295.15
    feed_Pa: float = 2.5e5
    """Gauge pressure of the feed water (line fed machines)."""
    feed_K: float = 288.15
    conductivity_uS_per_cm: float = 450.0


@dataclass(frozen=True)
class Cell:
    """One cell of a vessel: share of the vessel's volume, and where it starts."""

    name: str
    volume_m3: float
    bore_m: float = 0.0
    length_m: float = 0.0
    fittings: float = 0.0


@dataclass
class Vessel:
    """A space with one pressure. ``edges`` join neighbouring cells at a height [m] above the foot."""

    part: str
    cells: list[Cell]
    edges: list[tuple[int, int, float]]
    compliance_m3_per_Pa: float
    gas_floor: float = 1e-4
    water_m3: float | None = None
    """Water inside when cold and at rest; None: full."""
    caught_air_m3: float = 0.0
    """Air in a full vessel when cold."""
    metal_J_per_K: float = 0.0
    height_m: float = 0.0
    """Height of the liquid when full, for what drains by gravity."""
    top: int = -1
    gas_block: float = 50.0
    piston: Piston | None = None


@dataclass(frozen=True)
class Piston:
    """A piston that closes a vessel's top: drawn up by hand, pressed down by a spring.

    Held up (its input at 0.5 or more) the vessel has its volume and the ``stroke_m3`` besides. Let go, what
    it holds beyond its volume stands under ``preload_Pa`` (above the room) and more with every cubic metre,
    ``1 / compliance_m3_per_Pa``.
    """

    input: str
    stroke_m3: float
    preload_Pa: float
    compliance_m3_per_Pa: float


@dataclass(frozen=True)
class VesselPort:
    """A port of a vessel: its cell, its level as a share of the volume, its height [m] for circulation."""

    vessel: str
    cell: int
    level: float
    elevation_m: float = 0.0


@dataclass(frozen=True)
class Reservoir:
    """A space of given pressure: tank, cup, tray, room, mains."""

    part: str
    pressure_Pa: float
    temperature_K: float
    level: float = 0.0
    volume_m3: float = 0.0
    water_kg: float = 0.0
    mixes: bool = False


@dataclass(frozen=True)
class Command:
    """How an opening or a contact is commanded."""

    kind: str = "always"
    """always, input, load, load_off, device, device_off."""
    name: str = ""
    start: float = 0.0
    full: float = 1.0


ALWAYS = Command()


@dataclass(frozen=True)
class Member:
    """One throat, alone or in series with those it is screwed to."""

    part: str
    inlet: str
    outlet: str
    area_m2: float
    command: Command = ALWAYS
    bed_per_m3: float = 0.0
    leak_area_m2: float = 0.0
    vapour: bool = False
    cracking_Pa: float = 0.0
    width_Pa: float = 1.0


@dataclass(frozen=True)
class Lift:
    """A seat held shut by a spring, or one that a falling pressure behind it opens."""

    part: str
    inlet: str
    outlet: str
    area_m2: float
    cracking_Pa: float
    width_Pa: float
    leak_kg_per_s_Pa: float = 0.0
    opens: str = "on_difference"
    """on_difference: beyond ``cracking_Pa`` from inlet to outlet; below_outlet: as the pressure at the outlet
    falls ``width_Pa`` below ``cracking_Pa`` (above the room; a pressure regulator)."""


@dataclass(frozen=True)
class Tube:
    """A tube with friction between two ports."""

    part: str
    inlet: str
    outlet: str
    bore_m: float
    length_m: float
    roughness_m: float = 1.5e-6
    fittings: float = 0.0


@dataclass(frozen=True)
class Pump:
    """A vibration or vane pump."""

    part: str
    inlet: str
    outlet: str
    load: str
    vane: bool
    free_m3_per_s: float
    shutoff_Pa: float = 0.0
    bend: float = 0.0
    slip_m3_per_s_Pa: float = 0.0
    bypass_opens_Pa: float = 1e9
    bypass_m3_per_s_Pa: float = 0.0
    rest_area_m2: float = 0.0
    rest_cracking_Pa: float = 2.0e4
    back_leak_kg_per_s_Pa: float = 0.0


@dataclass(frozen=True)
class Link:
    """A path for heat between two thermal nodes (``part``, ``part.cell3`` or ``room``)."""

    kind: str
    """fixed, room, wetted, convection, flow, mixing."""
    a: str
    b: str
    gain: float
    second: float = 0.0
    start: float = 0.0
    full: float = 1.0
    at: str = ""
    """wetted: the vessel's part; flow: the cell whose through-flow counts."""


@dataclass(frozen=True)
class Lag:
    """A sensor that follows gauge pressure (``pressure``) or temperature (``temperature``) with a lag."""

    part: str
    watch: str
    of: str
    time_s: float
    shift_K: float = 0.0
    """What it is read as beyond what it feels; `collaudo.parts.sensing` moves the thresholds of those that
    read it."""


@dataclass(frozen=True)
class Meter:
    """Counts the volume that passes a part's throat."""

    part: str
    through: str
    counted_share: float = 1.0
    """Share of the volume that makes pulses; 0: a stuck wheel or a dead pick-up."""


@dataclass(frozen=True)
class Regulator:
    """A temperature controller whose output is a share of the time (proportional, integral, derivative).

    Duty is ``(set_K - T + integral - rate_s dT/dt) / band_K``, held within 0 and 1; the integral grows by the
    error over ``reset_s`` while the duty is within. ``T`` is what the lag named ``lag`` shows. It acts while
    the load ``load`` has current, on every heater whose current passes the contact of the device ``drives``.
    """

    part: str
    lag: str
    set_K: float
    band_K: float
    reset_s: float
    rate_s: float
    load: str
    drives: str


@dataclass(frozen=True)
class Source:
    """A terminal held at a voltage by the supply: a share of the site's voltage at an angle. 0: neutral,
    earth."""

    terminal: str
    share: float = 0.0
    angle_deg: float = 0.0


@dataclass(frozen=True)
class Contact:
    """Two terminals joined while a command holds; ``ohm`` when closed. Wires are contacts too."""

    part: str
    a: str
    b: str
    command: Command = ALWAYS
    ohm: float = 0.0
    open_ohm: float = 0.0
    """What still passes when it is open (a solid-state relay's snubber); 0: nothing."""


@dataclass(frozen=True)
class Load:
    """What takes current between two terminals: ``ohm`` in series with ``henry`` and ``farad`` (0: none)."""

    name: str
    a: str
    b: str
    ohm: float
    henry: float = 0.0
    farad: float = 0.0
    works_from_V: float = 1.0
    """Voltage across it at which it acts: a coil's pull-in, a board's least supply."""
    one_way: bool = False
    """A diode lies in it: one half of each wave passes."""


@dataclass(frozen=True)
class Resistor:
    """What leads without acting: insulation to the body, an earth bond."""

    part: str
    a: str
    b: str
    ohm: float
    farad: float = 0.0
    """A capacitor instead (mains filter) where more than 0."""


@dataclass(frozen=True)
class Device:
    """Something with contacts that moves by itself or by hand."""

    part: str
    kind: str
    """input, two_position, latch, relay, fill_control; window: on while ``low <= input < high``; dose: on
    from the moment its input is pressed until ``high`` [m3] have passed the meter ``of``, ``time_out_s`` have
    gone by or the input is let go; residual: trips for good when more than ``high`` [A] flows to earth;
    overcurrent: trips for good when more than ``high`` [A] flows through its part's own contact."""
    watch: str = "nothing"
    of: str = ""
    load: str = ""
    input: str = ""
    high: float = 0.5
    low: float = 0.5
    on_delay_s: float = 0.0
    off_delay_s: float = 0.0
    time_out_s: float = 1e9


@dataclass
class Circuit:
    """Everything the parts of one machine have said."""

    site: Site
    rated_V: float = 230.0
    rated_Hz: float = 50.0
    cell_factor: int = 1
    vessels: dict[str, Vessel] = field(default_factory=dict)
    ports: dict[str, VesselPort] = field(default_factory=dict)
    reservoirs: dict[str, Reservoir] = field(default_factory=dict)
    reservoir_ports: dict[str, tuple[str, float]] = field(default_factory=dict)
    members: list[Member] = field(default_factory=list)
    lifts: list[Lift] = field(default_factory=list)
    tubes: list[Tube] = field(default_factory=list)
    pumps: list[Pump] = field(default_factory=list)
    bare_volumes: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Dead volume [m3] and compliance [m3/Pa] a part adds at a bare port."""
    walls: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Heat capacity [J/K] and start temperature [K] of each wall."""
    links: list[Link] = field(default_factory=list)
    heaters: list[tuple[str, str, float]] = field(default_factory=list)
    """Wall, load and resistance [ohm] of each heater."""
    lags: list[Lag] = field(default_factory=list)
    meters: list[Meter] = field(default_factory=list)
    regulators: list[Regulator] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    contacts: list[Contact] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    resistors: list[Resistor] = field(default_factory=list)
    sources: list[Source] = field(default_factory=list)
    inputs: dict[str, float] = field(default_factory=dict)
    """Inputs a person commands and their value at rest."""
    port_levels: dict[str, float] = field(default_factory=dict)
    """Levels of vessels' ports that another part decides (what is fitted below the screen)."""
    full_wave: set[str] = field(default_factory=set)
    """Pumps whose diode lets both halves of each wave pass."""
