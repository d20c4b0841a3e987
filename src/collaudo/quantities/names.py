"""Glossary of the quantities that public names speak of: name -> meaning -> dimension.

A public name is ``<what>_<quantity>_<unit>``: in ``steam_pressure_Pa`` the quantity is ``pressure``.
The glossary explains the quantity; what it is measured on stands before it. The unit must fit one of
the quantity's dimensions.
"""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.errors import Problem, QuantityError, UnknownNameError, near_misses
from collaudo.quantities.units import DIMENSIONS, fits, split_suffix, unit_of


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity: what it means and which dimensions it may have."""

    name: str
    meaning: str
    dimensions: tuple[str, ...]

    @property
    def si_units(self) -> tuple[str, ...]:
        """Suffix of the SI unit for each dimension."""
        return tuple(DIMENSIONS[dimension] for dimension in self.dimensions)


_ROWS = (
    # geometry
    ("bore", "inner diameter of a pipe, jet or seat", "length"),
    ("diameter", "outer diameter", "length"),
    ("length", "length along the way the water takes", "length"),
    ("height", "height above the machine's feet", "length"),
    ("depth", "depth below a surface or of a bed", "length"),
    ("thickness", "thickness of a wall or a layer of scale", "length"),
    ("roughness", "height of the roughness of a wall, as equivalent sand", "length"),
    ("travel", "way a plunger, piston or spring moves", "length"),
    ("area", "area of a surface or of a cross-section", "area"),
    ("permeability", "how easily a bed lets water through, after Darcy", "area"),
    ("altitude", "height of the site above the sea", "length"),
    # amounts
    ("volume", "space inside, or amount of water by volume", "volume"),
    ("mass", "mass of water, metal or coffee", "mass"),
    ("dose", "ground coffee put into the basket, or water given for one cup", "mass volume"),
    ("yield", "beverage in the cup", "mass"),
    ("density", "mass per volume", "density"),
    ("level", "height of the water in a vessel, or its share of the vessel", "length share"),
    ("fill", "share of a vessel filled with water", "share"),
    ("concentration", "dissolved mass per volume of water", "density"),
    # time
    ("time", "moment since the start, or how long something takes", "time"),
    ("delay", "time between a cause and its effect", "time"),
    ("lag", "time constant of a sensor or of mixing", "time"),
    ("duration", "how long something lasts", "time"),
    ("period", "time from one switching-on to the next", "time"),
    ("life", "time in use until a part is due", "time"),
    ("duty", "share of the time something is on", "share"),
    ("age", "time since a part was new", "time"),
    # pressure and flow
    (
        "pressure",
        "absolute inside the twin; gauge, a difference against the room's air, in files and on gauges",
        "pressure",
    ),
    (
        "set",
        "setting of a switch, valve or controller; gauge pressure where it is a pressure",
        "pressure temperature",
    ),
    ("differential", "difference between switching off and on again", "pressure temperature_difference"),
    ("drop", "how far a reading falls", "pressure temperature_difference"),
    ("rise", "how far a reading climbs", "pressure temperature_difference"),
    ("crack", "gauge pressure at which a valve begins to open", "pressure"),
    ("lift", "gauge pressure at which a safety valve lifts", "pressure"),
    ("head", "pressure made by a column of water or a pump at no flow", "pressure"),
    ("flow", "mass or volume that passes in a time", "mass_flow volume_flow"),
    ("leak", "flow past a closed seat, or its conductance", "mass_flow flow_conductance"),
    ("slope", "change of one reading with another", "flow_resistance flow_conductance pressure_sensitivity"),
    (
        "conductance",
        "flow of water or heat per difference that drives it",
        "flow_conductance volume_conductance heat_conductance",
    ),
    ("compliance", "volume a space takes up per rise of pressure", "compliance"),
    ("speed", "velocity", "speed"),
    ("rate", "change per time", "pressure_rate temperature_rate"),
    ("viscosity", "dynamic viscosity", "viscosity"),
    ("surface_tension", "tension of the surface between water and steam", "force_per_length"),
    ("spring_rate", "force of a spring per way", "force_per_length"),
    ("force", "force", "force"),
    ("torque", "tightening torque", "torque"),
    ("gravity", "acceleration of free fall at the site", "acceleration"),
    # heat
    ("temperature", "temperature; inside the twin absolute", "temperature"),
    ("power", "heat or electrical work per time", "power"),
    ("heat", "heat given or taken; per time where the unit is a power", "energy power"),
    (
        "radiation",
        "heat radiated per difference of the fourth powers of temperature",
        "radiation_conductance",
    ),
    ("lapse", "fall of the air's temperature with height", "temperature_gradient"),
    ("energy", "energy stored or used", "energy"),
    ("heat_capacity", "heat per kelvin that warms a thing", "heat_capacity"),
    ("specific_heat", "heat per kilogram and kelvin", "specific_heat"),
    ("enthalpy", "specific enthalpy", "specific_energy"),
    (
        "conductivity",
        "of a solid: for heat; of water: for current at 25 °C",
        "heat_conductivity conductivity",
    ),
    ("transfer_coefficient", "heat per area and kelvin", "heat_transfer_coefficient"),
    ("flux", "heat per area", "heat_flux"),
    ("fouling", "resistance of a layer of scale to heat, times area", "fouling_resistance"),
    ("sensitivity", "change of temperature with pressure", "pressure_sensitivity"),
    # current
    ("voltage", "effective value of the voltage", "voltage"),
    ("current", "effective value of the current", "current"),
    ("resistance", "electrical resistance", "resistance"),
    ("insulation", "resistance from a live part to earth", "resistance"),
    ("capacitance", "of a motor's capacitor", "capacitance"),
    ("frequency", "of the mains, or how often something happens", "frequency"),
    # water analysis
    ("hardness", "calcium and magnesium dissolved, as amount of ions per volume", "hardness"),
    ("alkalinity", "carbonate hardness, counted like hardness", "hardness"),
    # plain numbers
    ("share", "part of a whole, 0 to 1", "share"),
    ("coefficient", "change per kelvin as a share", "share_per_temperature"),
    ("pulses", "pulses of a flow meter per volume", "pulses_per_volume"),
    ("count", "how many", "count"),
    ("turns", "turns of a screw, from a marked position", "turns"),
    ("wage", "price of work per time, without tax", "money_rate"),
    ("price", "price without tax, in the shop's currency", "money"),
)

GLOSSARY: dict[str, Quantity] = {
    name: Quantity(name, meaning, tuple(dimensions.split())) for name, meaning, dimensions in _ROWS
}
"""Every quantity by its name."""


def quantity_of(name: str) -> Quantity:
    """The quantity a name without unit speaks of: the longest ending that is in the glossary.

    ``"steam_pressure"`` is a ``pressure``; ``UnknownNameError`` where no ending is known.
    """
    words = name.split("_")
    for first in range(len(words)):
        if found := GLOSSARY.get("_".join(words[first:])):
            return found
    raise UnknownNameError(Problem(f"unknown quantity {name[:60]!r}", near_misses(words[-1][:60], GLOSSARY)))


def describe(name: str) -> str:
    """A public name in words: ``"bore_mm"`` -> ``"bore: inner diameter of a pipe, jet or seat, in mm"``.

    ``QuantityError`` where the name has no unit or one that does not fit the quantity.
    """
    stem, suffix = split_suffix(name)
    try:
        quantity = quantity_of(stem)
    except UnknownNameError:
        # In "wetted_share" or "pulse_count" the unit itself says what is meant.
        if suffix not in GLOSSARY:
            raise
        quantity = GLOSSARY[suffix]
    if not any(fits(suffix, dimension) for dimension in quantity.dimensions):
        raise QuantityError(
            f"{name[:60]!r}: {suffix} does not fit {quantity.name} -- use {' or '.join(quantity.si_units)}"
        )
    text = unit_of(suffix).text
    return f"{stem.replace('_', ' ')}: {quantity.meaning}" + (f", in {text}" if text else "")
