"""The arrays a machine becomes, and the work space of a run.

One table of records for each kind of thing, so that compiled functions pass few arguments and read like prose
(``tb.zone[z].volume``). In each record whole numbers are **structure**, fixed for a machine, and floats are
**parameters**: draws and faults are patches of those numbers, also in the middle of a run, never a new
structure.
What contacts, inputs and forced devices make of them is the **mode** (``refresh_mode``).

Zones, cells, elements
----------------------
A *zone* is a space with one pressure. A *vessel* zone is made of *cells* with a temperature each; the last
cell
is its *top*, where vapour and air sit. The other cells hold a fixed mass (scaled down only when the zone runs
dry) and form a tree rooted at the top, so that the flows between them follow from continuity, plus one flow
state for each closed loop. A *reservoir* zone has a given pressure: tank, cup, tray, room, mains.

An *element* joins a port of one zone to a port of another and passes a mass flow. Elements are sorted by law;
``law_start[k] : law_start[k + 1]`` are those of law ``k``; records of one law are numbered from its start.

Thermal nodes are numbered: cells, then walls, then fixed temperatures.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Phasors = NDArray[np.complex128]
# Tables of records; their fields are listed below. (Record fields are beyond static typing.)
Records = Any

# Laws of elements, in the order of ``law_start``. A new law: one constant here, one file in ``laws``, one
# loop
# in ``flows``.
LAW_THROAT, LAW_LIFT, LAW_TUBE, LAW_VIBRATION_PUMP, LAW_VANE_PUMP, LAW_VAPOUR = range(6)
LAW_COUNT = 6

# Blocks of the linear system are as wide as a multiple of a processor's register.
LANES = 8

# How a throat member or contact is commanded.
OPEN_ALWAYS, OPEN_BY_INPUT, OPEN_BY_LOAD, OPEN_BY_LOAD_OFF, OPEN_BY_DEVICE, OPEN_BY_DEVICE_OFF = range(6)

# What a device watches.
WATCH_NOTHING, WATCH_PRESSURE, WATCH_TEMPERATURE, WATCH_LAG, WATCH_LEVEL, WATCH_MASS, WATCH_METER = range(7)

# How a device behaves.
(
    DEVICE_INPUT,
    DEVICE_TWO_POSITION,
    DEVICE_LATCH,
    DEVICE_RELAY,
    DEVICE_FILL_CONTROL,
    DEVICE_RESIDUAL,
    DEVICE_OVERCURRENT,
    DEVICE_DOSE,
    DEVICE_WINDOW,
) = range(9)

# Heat links, in the order of ``link_start``.
LINK_FIXED, LINK_ROOM, LINK_WETTED, LINK_CONVECTION, LINK_FLOW, LINK_MIXING = range(6)
LINK_COUNT = 6


def _record(whole: str = "", real: str = "") -> np.dtype[Any]:
    fields = [(n, np.int64) for n in whole.split()] + [(n, np.float64) for n in real.split()]
    return np.dtype(fields, align=True)


ZONE = _record(
    # mass: state of the mass deviation [kg] (vessels) or quadrature of the mass (reservoirs); energy:
    # quadrature of
    # the energy a reservoir received; piston: number of the piston that closes it; -1: none
    "is_vessel mass air energy piston",
    # volume [m3], compliance [m3/Pa], gas_floor (share), corner [m3]: rounding of the full vessel,
    # shrink_mass [kg]:
    # below it fixed cells shrink; metal [J/K] follows the top cell; height [m]: of the liquid when full;
    # pressure [Pa abs] and level of a reservoir;
    # heat [J/(kg K)]: mean heat capacity of a reservoir whose contents mix, 0 where its temperature is given;
    # scale_by_pressure [kg/Pa]: how the tolerance of its mass grows with its pressure
    "volume compliance gas_floor corner mass_reference shrink_mass metal height pressure level heat "
    "scale_by_pressure",
)
# state: how far up a hand holds it, share of the stroke; input: of that hand.
# stroke [m3]; preload [Pa] above the room; compliance [m3/Pa] of its spring
PISTON = _record("zone state input", "stroke preload compliance")
CELL = _record(
    # state of the temperature (-1: reservoir); parent: next cell towards the top, always a larger index, -1
    # for tops
    "zone state parent",
    # mass [kg] of fixed cells; temperature [K] at the start; the edge to the parent: laminar resistance
    # 128 L / (pi d^4) [1/m3], fittings sum K / (2 A^2) [1/m4], bore [m]
    "mass temperature linear quadratic bore",
)
LOOP = _record("start end state", "inertia chord_linear chord_quadratic gas_block top_volume")
LOOP_EDGE = _record("cell sign")
LOOP_CELL = _record("cell", "rise")
# volume [m3]: of the smaller cell it joins
ELEMENT = _record("zone_a cell_a zone_b cell_b", "height_a height_b volume")
# The two ways through element e are streams 2 e (from a to b) and 2 e + 1 (from b to a).
# band: span of levels (share) over which the port upstream goes from covered to free
STREAM = _record("up_zone up_cell down_zone down_cell", "height band")
# below: 1 where a falling pressure at the outlet opens it (cracking: gauge pressure there)
LIFT = _record("below", "area cracking width leak")
# turbulent_from: head number at which its flow is turbulent
TUBE = _record("", "bore length roughness fittings turbulent_from")
PUMP = _record(
    "load",
    # free: free flow or displacement [m3/s]; rest_*: what a resting pump lets forward; back_leak [kg/(s Pa)]
    "free shutoff bend slip bypass_opens bypass_gain rest_area rest_cracking back_leak",
)
VAPOUR = _record("", "cracking width leak_area")
MEMBER = _record("element command index", "area bed start full leak_area")
WALL = _record("state", "capacity")
LINK = _record(
    # at: zone whose level counts (WETTED), cell whose edge flow counts (FLOW)
    "a b at",
    # gain: conductance [W/K], or convection coefficient [W/K^1.25] (ROOM); second: emissivity area [m2]
    # (ROOM), dry
    # share (WETTED), gain at the reference flow (FLOW), unstable gain (MIXING); start, full: levels (WETTED),
    # reference flow [kg/s] (FLOW)
    "gain second start full",
)
# regulated: 1 where the duty of ``regulator`` (-1: none) shares out its power, 0 where nothing does (welded)
HEATER = _record("node load regulator", "ohm regulated")
# state of the integral [K]; band [K], per_reset [1/s], rate [s]
REGULATOR = _record("state lag load", "set band per_reset rate")
# state: quadrature of the volume counted [m3]
METER = _record("element state", "share")
LAG = _record("state watch index", "time")
# measured: 1 where a fuse reads the current through it
CONTACT = _record("a b command index measured", "ohm open_ohm")
# works_from [V]: least voltage at which it acts
LOAD = _record("a b", "ohm henry farad works_from")
RESISTOR = _record("a b", "ohm farad")
# cosine, sine: of its angle, times its share of the mains' volts
SOURCE = _record("net is_earth", "cosine sine")
DEVICE = _record("kind watch index load input", "high low on_delay off_delay time_out")
STATE = _record("", "scale_absolute scale_relative")

DEVICE_MODE = _record(
    "",
    # phase; forced: -1 free, 0 or 1 held there; timer: time [s] of a pending change or infinity; since: time
    # it last
    # turned on; toggles within the running second, and that second's start; of doses the meter's count when
    # it was pressed [m3] and whether it is pressed now
    "phase forced timer since toggles window counted pressed",
)
THROAT_MODE = _record("", "area bed")

ZONE_WORK = _record(
    "",
    "pressure gas_volume level vapour gas_density vapour_share top_mass shrink dshrink fixed_mass "
    "saturation dsaturation gain air_gain top_capacity rise",
)
# way: 0 where the edge's flow goes to the parent, 1 where it comes from there
CELL_WORK = _record("way", "edge source")
ELEMENT_WORK = _record("", "flow steam_share liquid_share")
# duty, and how it follows the integral (by_lag, by_felt: what the lag shows and what it feels)
REGULATOR_WORK = _record("", "duty by_integral by_lag by_felt")
PHASE_WORK = _record(
    # 0: from a to b, 1: from b to a; fixed while a step is taken
    "way",
    # mass flow [kg/s] that way; how it follows
    #   by_d: the pressure difference, in which liquid standing over a port counts (head, down_head: by level)
    #   by_p: the pressure upstream at the same difference (choking)
    #   by_level: the level upstream
    #   by_T: the temperature of the cell upstream
    #   by_own: of liquid the temperature of the zone's top (flashing), of gas its density
    "flow by_d by_p by_level by_T by_own head down_head",
)


def records(count: int, kind: np.dtype[Any]) -> Records:
    """An empty table of ``count`` records."""
    return np.zeros(count, kind).view(np.recarray)


class Tables(NamedTuple):
    """Structure and parameters of one machine."""

    zone: Records
    zone_first: Ints
    """First cell of each zone; ``zone_first[z + 1]`` ends it."""
    zone_column_start: Ints
    zone_column: Ints
    """States of each vessel, ``zone_column[zone_column_start[z] : zone_column_start[z + 1]]``: mass, air if
    it keeps count of it, temperatures of its cells in their order, the hand on its piston if it has one.
    Reservoirs have none."""
    piston: Records
    cell: Records
    node_state: Ints
    """State of each thermal node; -1 for given temperatures."""
    node_row: Ints
    """Row of the Jacobian that books the energy each thermal node receives."""
    loop: Records
    loop_edge_start: Ints
    loop_edge: Records
    """Child cell whose edge to its parent lies on the loop, and its sign in the loop's direction."""
    loop_cell_start: Ints
    loop_cell: Records
    """Cells crossed and the height [m] gained crossing them."""
    law_start: Ints
    element: Records
    stream: Records
    lift: Records
    tube: Records
    pump: Records
    vapour: Records
    member: Records
    wall: Records
    fixed_temperature: Floats
    link_start: Ints
    link: Records
    heater: Records
    regulator: Records
    meter: Records
    lag: Records
    contact: Records
    load: Records
    resistor: Records
    source: Records
    device: Records
    watched_zone: Ints
    """Zones whose pressure or level some device watches."""
    supply: Ints
    """Number of nets that wires make, and the most there could be."""
    site: Floats
    """Mains volt, rated volt, mains Hz, rated Hz, atmosphere [Pa abs]."""
    state_count: Ints
    """Number of states that matter to the dynamics, and with quadratures."""
    state: Records
    """Tolerances: absolute per unit of relative tolerance; 1 where a state has a natural size of its own."""
    lower_start: Ints
    lower_row: Ints
    upper_start: Ints
    upper_column: Ints
    whole_end: Ints
    tail: Ints
    """Elimination, see `collaudo.twin.ordering.Program`; the tail's begin and its size in whole registers."""


class Mode(NamedTuple):
    """What contacts, inputs and forced devices make of the machine at the moment."""

    inputs: Floats
    device: Records
    energised: Floats
    """1 for each load that acts."""
    load_V: Floats
    """Across each load."""
    closed: Floats
    """1 for each contact that is closed."""
    supply: Floats
    """Above 0 once a short circuit has blown the mains' fuse; residual current [A]."""
    net: Ints
    """What closed contacts make of the nets."""
    row: Ints
    volt: Phasors
    earth_share: Floats
    matrix: Phasors
    right: Phasors
    """Work of `potentials`."""
    throat: Records
    """Effective area and bed resistance of each throat, then of each vapour throat."""
    pump_on: Floats
    heater_W: Floats


class Work(NamedTuple):
    """Scratch arrays of the rates, the Jacobian and the step."""

    zone: Records
    cell: Records
    element: Records
    liquid: Records
    gas: Records
    """What flows through each element."""
    temperature: Floats
    """Of each thermal node."""
    rho: Floats
    per_rho: Floats
    drho: Floats
    energy: Floats
    heat: Floats
    """Density, its inverse, liquid energy and the slopes of each cell."""
    p_by: Floats
    level_by: Floats
    gas_by: Floats
    share_by: Floats
    vapour_by: Floats
    """How pressure, level, gas density, vapour's share of the gas and vapour mass of a vessel follow its
    states (``zone_column``)."""
    regulator: Records
    power: Floats
    """What each heater gives [W]."""
    income: Floats
    """Energy [W] each thermal node receives."""
    source_by: Floats
    """How the water each cell receives follows the states."""
    jacobian: Floats
    """Rows of all states and quadratures; while rates are added up, rows of temperatures hold energies."""
    system: Floats
    lower: Floats
    """Multipliers in the order of ``lower_row``."""
    upper: Floats
    """Upper rows in the order of ``upper_column``."""
    pivot: Floats
    """Inverse pivots."""
    block: Floats
    """Inverse of the tail."""
    block_row: Floats
    block_column: Floats
    column: Ints
    stage: Floats
    """Increments of the states at each stage."""
    stage_quadrature: Floats
    """Rates of the quadratures at each stage."""
    stage_y: Floats
    rate: Floats
    old_rate: Floats
    trial: Floats
    error: Floats
    scale: Floats
    """What each state may miss per unit of relative tolerance, over a step."""
    right: Floats
    dense_y: Floats
    watched: Floats
