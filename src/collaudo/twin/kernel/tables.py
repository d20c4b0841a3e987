"""The arrays a machine becomes, and the work space of a run.

Three kinds of array, so that draws and faults are patches of numbers and never a new structure:

- **structure**: integers, fixed for a machine;
- **parameters**: floats, all of them views into one flat vector ``Tables.parameters``; patching a slot of
  that vector, also in the middle of a run, changes the machine;
- **mode**: floats worked out from parameters, inputs and contacts whenever a contact moves or a person does
  something (``refresh_mode``).

Zones, cells, elements
----------------------
A *zone* is a space with one pressure. A *vessel* zone is made of *cells* with a temperature each; the last cell
is its *top*, where vapour and air sit. The other cells hold a fixed mass (scaled down only when the zone runs
dry) and form a tree rooted at the top, so that the flows between them follow from continuity, plus one flow
state for each closed loop. A *reservoir* zone has a given pressure: tank, cup, tray, room, mains.

An *element* joins a port of one zone to a port of another and passes a mass flow. Elements are sorted by law;
``law_start[k] : law_start[k + 1]`` are those of law ``k``.

Thermal nodes are numbered: cells, then walls, then fixed temperatures.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

# Laws of elements, in the order of ``law_start``. A new law: one constant here, one file in ``laws``, one loop
# in ``flows``.
LAW_THROAT, LAW_LIFT, LAW_TUBE, LAW_VIBRATION_PUMP, LAW_VANE_PUMP, LAW_VAPOUR = range(6)
LAW_COUNT = 6

# How a throat member or contact is commanded.
OPEN_ALWAYS, OPEN_BY_INPUT, OPEN_BY_LOAD, OPEN_BY_LOAD_OFF, OPEN_BY_DEVICE, OPEN_BY_DEVICE_OFF = range(6)

# What a device watches.
WATCH_NOTHING, WATCH_PRESSURE, WATCH_TEMPERATURE, WATCH_LAG, WATCH_LEVEL, WATCH_MASS = range(6)

# How a device behaves.
(
    DEVICE_INPUT,
    DEVICE_TWO_POSITION,
    DEVICE_LATCH,
    DEVICE_RELAY,
    DEVICE_FILL_CONTROL,
) = range(5)

# Heat links, in the order of ``link_start``.
LINK_FIXED, LINK_ROOM, LINK_WETTED, LINK_CONVECTION, LINK_FLOW, LINK_MIXING = range(6)
LINK_COUNT = 6


class Tables(NamedTuple):
    """Structure, parameters and mode of one machine. Shapes: Z zones, C cells, F elements, L loops, D devices."""

    parameters: Floats
    # --- zones
    zone_is_vessel: Ints
    zone_first: Ints
    """First cell of each zone; ``zone_first[z + 1]`` ends it (length Z + 1)."""
    zone_mass: Ints
    """State of the mass deviation [kg] (vessels) or quadrature of the mass (reservoirs); -1 none."""
    zone_air: Ints
    zone_energy: Ints
    """Quadrature of the energy received (reservoirs that keep count); -1 none."""
    zone_volume: Floats
    zone_compliance: Floats
    zone_gas_floor: Floats
    zone_corner: Floats
    zone_mass_reference: Floats
    zone_shrink_mass: Floats
    """Below this mass [kg] the fixed cells shrink in proportion."""
    zone_metal: Floats
    """Heat capacity [J/K] of thin metal that follows the top cell."""
    zone_pressure: Floats
    """Pressure [Pa abs] of a reservoir."""
    zone_level: Floats
    """Liquid share seen by ports of a reservoir that keeps no mass (0 gas, 1 liquid)."""
    zone_heat: Floats
    """Mean heat capacity [J/(kg K)] of a reservoir whose contents mix; 0 where its temperature is given."""
    # --- cells
    cell_zone: Ints
    cell_state: Ints
    """State of the temperature, -1 for cells of reservoirs."""
    cell_parent: Ints
    """Next cell towards the top (always a larger index), -1 for tops."""
    cell_mass: Floats
    cell_temperature: Floats
    """Temperature [K] of reservoirs (and start value of others)."""
    # --- loops
    loop_from: Ints
    loop_to: Ints
    loop_state: Ints
    loop_edge_start: Ints
    loop_edge: Ints
    """Child cell whose edge to its parent lies on the loop."""
    loop_edge_sign: Ints
    loop_cell_start: Ints
    loop_cell: Ints
    loop_cell_rise: Floats
    """Height [m] gained crossing the cell in the loop's direction."""
    loop_inertia: Floats
    loop_chord_linear: Floats
    loop_chord_quadratic: Floats
    loop_gas_block: Floats
    loop_top_volume: Floats
    edge_linear: Floats
    """Laminar resistance 128 L / (pi d^4) [1/m3] of the edge from each cell to its parent."""
    edge_quadratic: Floats
    """Fittings: sum K / (2 A^2) [1/m4]."""
    edge_bore: Floats
    # --- elements
    law_start: Ints
    zone_a: Ints
    cell_a: Ints
    zone_b: Ints
    cell_b: Ints
    height_a: Floats
    height_b: Floats
    """Heights of the ports as a share of the zone's volume."""
    lift_area: Floats
    lift_cracking: Floats
    lift_width: Floats
    lift_leak: Floats
    """Leak conductance [kg/(s Pa)] of the seat, both ways."""
    tube_bore: Floats
    tube_length: Floats
    tube_roughness: Floats
    tube_fittings: Floats
    pump_load: Ints
    pump_free: Floats
    """Vibration: free flow; vane: displacement [m3/s] at rated supply."""
    pump_shutoff: Floats
    pump_bend: Floats
    pump_slip: Floats
    pump_bypass_opens: Floats
    pump_bypass_gain: Floats
    pump_rest_area: Floats
    """Area [m2] through which a resting pump lets water pass forward."""
    pump_rest_cracking: Floats
    pump_back_leak: Floats
    vapour_cracking: Floats
    """Spring-held vapour throats: opening pressure [Pa]; 0 for the others."""
    vapour_width: Floats
    vapour_leak_area: Floats
    # --- members of throats (commanded openings in series)
    member_element: Ints
    member_command: Ints
    member_index: Ints
    member_area: Floats
    member_bed: Floats
    member_from: Floats
    member_to: Floats
    member_leak_area: Floats
    # --- heat
    wall_state: Ints
    wall_capacity: Floats
    fixed_temperature: Floats
    link_start: Ints
    link_a: Ints
    link_b: Ints
    link_gain: Floats
    """LINK_FIXED .. : conductance [W/K]; LINK_ROOM: convection coefficient times area [W/K^1.25]."""
    link_second: Floats
    """ROOM: emissivity area [m2]; WETTED: dry share; FLOW: gain at the reference flow; MIXING: unstable gain."""
    link_from: Floats
    """WETTED: level at which wetting begins; FLOW: reference flow [kg/s]."""
    link_to: Floats
    link_zone: Ints
    """WETTED: zone whose level counts; FLOW: cell whose edge flow counts."""
    heater_node: Ints
    heater_load: Ints
    heater_ohm: Floats
    lag_state: Ints
    lag_watch: Ints
    lag_index: Ints
    lag_time: Floats
    # --- wiring and devices
    contact_a: Ints
    contact_b: Ints
    contact_command: Ints
    contact_index: Ints
    load_a: Ints
    load_b: Ints
    terminal_live: Ints
    terminal_neutral: Ints
    terminal_count: Ints
    device_kind: Ints
    device_watch: Ints
    device_index: Ints
    device_load: Ints
    device_input: Ints
    device_high: Floats
    device_low: Floats
    device_on_delay: Floats
    device_off_delay: Floats
    device_time_out: Floats
    # --- site
    site: Floats
    """Mains volt, rated volt, mains Hz, rated Hz, atmosphere [Pa abs]."""
    # --- numerics
    state_count: Ints
    """Number of states that matter to the dynamics, and with quadratures."""
    scale_relative: Floats
    """1 where a state has a natural size of its own, 0 for temperatures (their zero is arbitrary)."""
    scale_absolute: Floats
    """Absolute tolerance of each state per unit of relative tolerance."""
    block: Ints
    """Block of the error norm of each state."""
    fill_start: Ints
    fill_row: Ints
    """``fill_row[fill_start[k] : fill_start[k + 1]]`` are the rows below ``k`` that hold fill in column ``k``."""
    fill_end: Ints
    """One past the last column of row ``k`` that holds fill."""


class Mode(NamedTuple):
    """What contacts, inputs and forced devices make of the machine at the moment. All float arrays."""

    inputs: Floats
    device: Floats
    """State of each device, 0 or 1."""
    forced: Floats
    """-1: free; 0 or 1: held there (a stuck contact, an outside schedule, a chattering device)."""
    timer: Floats
    """Time [s] at which each device's pending change takes place, or infinity."""
    since: Floats
    """Time [s] at which each device last turned on (fill control's time-out)."""
    energised: Floats
    """1 for each load with a closed path from live through it to neutral."""
    label: Ints
    throat_area: Floats
    """Effective area of each throat, then of each vapour throat."""
    throat_bed: Floats
    pump_on: Floats
    heater_W: Floats
    toggles: Floats
    """Changes of each device within the running second, and the second's start: shape (D, 2)."""


class Work(NamedTuple):
    """Scratch arrays of the rates and the Jacobian."""

    temperature: Floats
    rho: Floats
    drho: Floats
    energy: Floats
    heat: Floats
    pressure: Floats
    gas_volume: Floats
    level: Floats
    vapour: Floats
    gas_density: Floats
    vapour_share: Floats
    top_mass: Floats
    shrink: Floats
    dshrink: Floats
    p_by_mass: Floats
    p_by_air: Floats
    p_by_cell: Floats
    """dp/dT of each cell."""
    mv_by_mass: Floats
    mv_by_cell: Floats
    level_by_mass: Floats
    level_by_cell: Floats
    saturation: Floats
    dsaturation: Floats
    flow: Floats
    flow_by_a: Floats
    flow_by_b: Floats
    flow_by_T: Floats
    """Derivative by the temperature of the upstream cell."""
    flow_by_rho: Floats
    rho_by_level: Floats
    """Derivative of the density leaving through an element by the level of the zone it leaves."""
    liquid_share: Floats
    steam_share: Floats
    air_share: Floats
    liquid_by_level: Floats
    edge: Floats
    source: Floats
    income: Floats
    zone_gain: Floats
    zone_air_gain: Floats
    wall_gain: Floats
    top_capacity: Floats
    jacobian: Floats
    source_by: Floats
    income_by: Floats
    gain_by: Floats
    air_by: Floats
    wall_by: Floats
    column: Ints
    dflow: Floats
    dlevel: Floats
    system: Floats
    stage: Floats
    stage_y: Floats
    rate: Floats
    trial: Floats
    error: Floats
    right: Floats
    dense_y: Floats
    old_rate: Floats
    watched: Floats
    watched_mid: Floats
