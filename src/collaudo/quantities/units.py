"""The table of units and every conversion between them and SI.

A unit is known by the suffix it has at the end of a name (``bore_mm``, ``flow_ml_per_s``). Inside the
program everything is SI; these functions are used only at the edge: files, forms, prints.

Gauge pressure is a pressure *difference* against the air of the room, in Pa: no unit here adds an
atmosphere. Whether a name means gauge or absolute pressure is said where the name is explained.

``K`` serves a temperature as well as a temperature difference; ``degC`` and ``degF`` are always
temperatures, never steps. Steps in Fahrenheit degrees are ``degF_difference``.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction as F
from numbers import Real
from typing import TYPE_CHECKING, Literal, overload

from collaudo.errors import QuantityError, near_misses

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: ``value_si = (value + offset) * factor``, both exact."""

    suffix: str
    dimension: str
    factor: F
    offset: F
    text: str
    """As printed behind a number; empty for plain numbers."""


# Exact by definition: international foot and pound of 1959, standard gravity of 1901, US gallon of
# 231 cubic inches (1 fl oz = 1/128 of it), grain = 1/7000 lb.
_INCH = F("0.0254")
_POUND = F("0.45359237")
_PSI = _POUND * F("9.80665") / _INCH**2
_GALLON = 231 * _INCH**3
_FL_OZ = _GALLON / 128
_GRAIN = _POUND / 7000
_MILLI, _MICRO = F(1, 1000), F(1, 1_000_000)
_DAY = F(86_400)
_YEAR = F("365.25") * _DAY  # Julian year, the astronomers' and ISO 80000-3's unit "a"

# Molar masses in kg/mol from the standard atomic weights (IUPAC 2021, abridged to three decimals:
# Ca 40.078, C 12.011, O 15.999). Hardness is an amount of alkaline-earth ions per volume:
# 1 degdH = 10 mg/l counted as CaO, 1 degfH = 10 mg/l counted as CaCO3.
_CAO, _CACO3 = F("0.056077"), F("0.100086")

_ROWS: dict[str, list[tuple[str, F | int, str]]] = {
    "pressure": [
        ("Pa", 1, "Pa"),
        ("bar", 100_000, "bar"),
        ("kPa", 1000, "kPa"),
        ("MPa", 1_000_000, "MPa"),
        ("hPa", 100, "hPa"),
        ("mbar", 100, "mbar"),
        ("psi", _PSI, "psi"),
    ],
    "length": [
        ("m", 1, "m"),
        ("mm", _MILLI, "mm"),
        ("cm", F(1, 100), "cm"),
        ("um", _MICRO, "µm"),
        ("inch", _INCH, "in"),
    ],
    "area": [("m2", 1, "m²"), ("mm2", _MICRO, "mm²"), ("cm2", F(1, 10_000), "cm²")],
    "volume": [("m3", 1, "m³"), ("l", _MILLI, "l"), ("ml", _MICRO, "ml"), ("fl_oz", _FL_OZ, "fl oz")],
    "mass": [
        ("kg", 1, "kg"),
        ("g", _MILLI, "g"),
        ("mg", _MICRO, "mg"),
        ("oz", _POUND / 16, "oz"),
        ("lb", _POUND, "lb"),
    ],
    "time": [
        ("s", 1, "s"),
        ("ms", _MILLI, "ms"),
        ("min", 60, "min"),
        ("h", 3600, "h"),
        ("days", _DAY, "days"),
        ("months", _YEAR / 12, "months"),
        ("years", _YEAR, "years"),
    ],
    "temperature": [("K", 1, "K"), ("degC", 1, "°C"), ("degF", F(5, 9), "°F")],
    "temperature_difference": [("degF_difference", F(5, 9), "°F")],
    "power": [("W", 1, "W"), ("kW", 1000, "kW")],
    "energy": [("J", 1, "J"), ("kJ", 1000, "kJ"), ("kWh", 3_600_000, "kWh")],
    "voltage": [("V", 1, "V"), ("mV", _MILLI, "mV")],
    "current": [("A", 1, "A"), ("mA", _MILLI, "mA")],
    "resistance": [("ohm", 1, "ohm"), ("kohm", 1000, "kohm"), ("Mohm", 1_000_000, "Mohm")],
    "capacitance": [("F", 1, "F"), ("uF", _MICRO, "µF")],
    "frequency": [("Hz", 1, "Hz"), ("per_s", 1, "1/s"), ("per_min", F(1, 60), "1/min")],
    "volume_flow": [
        ("m3_per_s", 1, "m³/s"),
        ("ml_per_s", _MICRO, "ml/s"),
        ("ml_per_min", _MICRO / 60, "ml/min"),
        ("l_per_min", _MILLI / 60, "l/min"),
        ("l_per_h", _MILLI / 3600, "l/h"),
    ],
    "mass_flow": [
        ("kg_per_s", 1, "kg/s"),
        ("g_per_s", _MILLI, "g/s"),
        ("g_per_min", _MILLI / 60, "g/min"),
        ("kg_per_h", F(1, 3600), "kg/h"),
    ],
    "compliance": [("m3_per_Pa", 1, "m³/Pa"), ("ml_per_bar", _MICRO / 100_000, "ml/bar")],
    "flow_conductance": [
        ("kg_per_s_per_Pa", 1, "kg/(s Pa)"),
        ("g_per_s_per_bar", _MILLI / 100_000, "g/(s bar)"),
    ],
    "volume_conductance": [
        ("m3_per_s_Pa", 1, "m³/(s Pa)"),
        ("ml_per_s_per_bar", F(1, 10**11), "ml/(s bar)"),
    ],
    "flow_resistance": [
        ("Pa_s_per_kg", 1, "Pa s/kg"),
        ("bar_s_per_g", F(100_000_000), "bar per g/s"),
    ],
    "pressure_rate": [
        ("Pa_per_s", 1, "Pa/s"),
        ("bar_per_s", 100_000, "bar/s"),
        ("bar_per_min", F(100_000, 60), "bar/min"),
    ],
    "temperature_rate": [("K_per_s", 1, "K/s"), ("K_per_min", F(1, 60), "K/min")],
    "temperature_gradient": [("K_per_m", 1, "K/m")],
    "pressure_sensitivity": [("K_per_Pa", 1, "K/Pa"), ("K_per_bar", F(1, 100_000), "K/bar")],
    "speed": [("m_per_s", 1, "m/s"), ("mm_per_s", _MILLI, "mm/s")],
    "acceleration": [("m_per_s2", 1, "m/s²")],
    "force": [("N", 1, "N")],
    "torque": [("Nm", 1, "Nm")],
    "force_per_length": [("N_per_m", 1, "N/m"), ("N_per_mm", 1000, "N/mm")],
    "heat_conductance": [("W_per_K", 1, "W/K")],
    "radiation_conductance": [("W_per_K4", 1, "W/K⁴")],
    "heat_capacity": [("J_per_K", 1, "J/K"), ("kJ_per_K", 1000, "kJ/K")],
    "specific_heat": [("J_per_kg_K", 1, "J/(kg K)")],
    "specific_energy": [("J_per_kg", 1, "J/kg"), ("kJ_per_kg", 1000, "kJ/kg")],
    "heat_conductivity": [("W_per_m_K", 1, "W/(m K)")],
    "heat_transfer_coefficient": [("W_per_m2_K", 1, "W/(m² K)")],
    "heat_flux": [("W_per_m2", 1, "W/m²")],
    "fouling_resistance": [("m2_K_per_W", 1, "m² K/W")],
    "density": [("kg_per_m3", 1, "kg/m³"), ("g_per_l", 1, "g/l"), ("mg_per_l", _MILLI, "mg/l")],
    "viscosity": [("Pa_s", 1, "Pa s"), ("mPa_s", _MILLI, "mPa s")],
    "conductivity": [("S_per_m", 1, "S/m"), ("uS_per_cm", F(1, 10_000), "µS/cm")],
    "hardness": [
        ("mol_per_m3", 1, "mol/m³"),
        ("mmol_per_l", 1, "mmol/l"),
        ("degdH", F("0.01") / _CAO, "°dH"),
        ("degfH", F("0.01") / _CACO3, "°fH"),
        ("mg_per_l_CaCO3", _MILLI / _CACO3, "mg/l CaCO3"),
        ("gpg", _GRAIN / _GALLON / _CACO3, "gpg"),
    ],
    "pulses_per_volume": [("pulses_per_m3", 1, "pulses/m³"), ("pulses_per_ml", 1_000_000, "pulses/ml")],
    "share": [("share", 1, ""), ("percent", F(1, 100), "%")],
    "share_per_temperature": [("share_per_K", 1, "1/K"), ("percent_per_K", F(1, 100), "%/K")],
    "count": [("count", 1, "")],
    "turns": [("turns", 1, "turns")],
    "money": [("EUR", 1, "EUR")],
    "money_rate": [
        ("EUR_per_s", 1, "EUR/s"),
        ("EUR_per_min", F(1, 60), "EUR/min"),
        ("EUR_per_h", F(1, 3600), "EUR/h"),
    ],
}
_OFFSETS = {"degC": F("273.15"), "degF": F("459.67")}
_ALSO_FIT = {"K": "temperature_difference"}

UNITS: dict[str, Unit] = {
    suffix: Unit(suffix, dimension, F(factor), _OFFSETS.get(suffix, F(0)), text)
    for dimension, rows in _ROWS.items()
    for suffix, factor, text in rows
}
"""Every unit by its suffix."""

DIMENSIONS: dict[str, str] = {dimension: rows[0][0] for dimension, rows in _ROWS.items()} | {
    "temperature_difference": "K"
}
"""Every dimension with the suffix of its SI unit."""

_LONGEST_SUFFIX_WORDS = max(suffix.count("_") + 1 for suffix in UNITS)
_NUMBER_AND_UNIT = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(.*)", re.DOTALL)
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]")
# Greek mu and the ohm sign look like the micro sign and omega that keyboards give.
_SAME_SIGN = str.maketrans({"\u03bc": "µ", "\u2126": "Ω"})
_ALSO_SPELLED = {"Ω": "ohm", "kΩ": "kohm", "MΩ": "Mohm", "uS/cm": "uS_per_cm"}


def unit_of(suffix: str) -> Unit:
    """The unit with this suffix; ``QuantityError`` naming near ones where there is none."""
    try:
        return UNITS[suffix]
    except KeyError:
        raise QuantityError(f"unknown unit {_shown(suffix)} -- {near_misses(suffix[:60], UNITS)}") from None


def to_si(value: float, unit: str) -> float:
    """``value`` given in ``unit`` (a suffix) in SI.

    Refuses what is not a finite number and temperatures below absolute zero.
    """
    known = unit_of(unit)
    result = (_finite(value, unit) + float(known.offset)) * known.factor.numerator / known.factor.denominator
    if known.offset and result < 0:
        raise QuantityError(
            f"{value} {known.text} is below absolute zero -- give at least {from_si(0.0, unit):g}"
        )
    return _finite(result, unit)


@overload
def from_si(value_si: float, unit: str) -> float: ...
@overload
def from_si(value_si: NDArray[np.float64], unit: str) -> NDArray[np.float64]: ...
def from_si(value_si: float | NDArray[np.float64], unit: str) -> float | NDArray[np.float64]:
    """SI value (or array of values) in ``unit``. Not-a-number passes through: a reading may be missing."""
    known = unit_of(unit)
    return value_si * known.factor.denominator / known.factor.numerator - float(known.offset)


def fits(unit: str, dimension: str) -> bool:
    """Whether a number in ``unit`` can be a ``dimension``."""
    return dimension in (unit_of(unit).dimension, _ALSO_FIT.get(unit))


def units_for(dimension: str) -> tuple[str, ...]:
    """Suffixes of all units that fit ``dimension``, SI unit first."""
    if dimension not in DIMENSIONS:
        raise QuantityError(
            f"unknown dimension {_shown(dimension)} -- {near_misses(dimension[:60], DIMENSIONS)}"
        )
    si = DIMENSIONS[dimension]
    return (si, *(suffix for suffix in UNITS if suffix != si and fits(suffix, dimension)))


def split_suffix(name: str) -> tuple[str, str]:
    """``"bore_mm"`` -> ``("bore", "mm")``: the longest ending that is a unit; refuses a name without."""
    words = name.split("_")
    for count in range(min(_LONGEST_SUFFIX_WORDS, len(words) - 1), 0, -1):
        stem, suffix = "_".join(words[:-count]), "_".join(words[-count:])
        if stem and suffix in UNITS:
            return stem, suffix
    raise QuantityError(
        f"{_shown(name)} does not end in a unit -- put the unit behind the name, such as "
        f"{words[0][:40] or 'bore'}_mm; {near_misses(words[-1][:60], UNITS)}"
    )


def parse_quantity(text: str, dimension: str) -> float:
    """``"1.1 bar"`` in SI. Units are spelled as suffix (``ml_per_s``) or as printed (``ml/s``)."""
    choices = units_for(dimension)
    remedy = f"a {dimension.replace('_', ' ')} is written as a number and one of: {', '.join(choices)}"
    match = _NUMBER_AND_UNIT.fullmatch(text.strip())
    if match is None or _DECIMAL_COMMA.match(text.strip()):
        comma = "write a point for the decimal comma; " if match else ""
        raise QuantityError(f"{_shown(text)} is not a number with a unit -- {comma}{remedy}")
    number, spelled = float(match[1]), match[2]
    if not math.isfinite(number):
        raise QuantityError(f"{_shown(text)} is too large a number -- {remedy}")
    meant = _spelled(spelled)
    for unit in meant:
        if unit in choices:
            return to_si(number, unit)
    if meant:
        other = UNITS[meant[0]].dimension.replace("_", " ")
        raise QuantityError(f"{_shown(text)} is a {other} -- {remedy}")
    fault = f"the unknown unit {_shown(spelled)}" if spelled else "no unit"
    raise QuantityError(f"{_shown(text.strip())} has {fault} -- {remedy}")


def format_quantity(value_si: float, unit: str, digits: int | None = None) -> str:
    """Number and unit as printed, ``digits`` behind the point (three significant digits when None).

    A value that is not finite prints as a dash: there is no reading.
    """
    value, text = from_si(value_si, unit), unit_of(unit).text
    if not math.isfinite(value):
        return f"– {text}".rstrip()
    return f"{_printed(value, digits)} {text}".rstrip()


@dataclass(frozen=True, slots=True)
class Choice:
    """The user's units for print. Flows, small pressures (Pa, mbar) and everything else stay as declared."""

    pressure: Literal["bar", "psi"] = "bar"
    temperature: Literal["degC", "degF"] = "degC"
    volume: Literal["ml", "fl_oz"] = "ml"

    def __post_init__(self) -> None:
        for field, allowed in _CHOICES.items():
            chosen = str(getattr(self, field))
            if chosen not in allowed:
                raise QuantityError(
                    f"{_shown(chosen)} is no choice for {field} -- choose {' or '.join(allowed)}"
                )

    def unit_for(self, unit: str) -> str:
        """The unit to print instead of ``unit``; a ``K`` is taken as a difference."""
        unit_of(unit)
        for chosen in (self.pressure, self.temperature, self.volume):
            if unit in _PREFERRED[chosen]:
                return _PREFERRED[chosen][unit]
        return unit

    def format(self, value_si: float, unit: str, digits: int | None = None) -> str:
        """As ``format_quantity``, in the user's unit and to about the same resolution."""
        chosen = self.unit_for(unit)
        if digits is not None and chosen != unit:
            # A unit ten times as large needs one digit more to resolve the same step.
            digits = max(0, digits + round(math.log10(unit_of(chosen).factor / unit_of(unit).factor)))
        return format_quantity(value_si, chosen, digits)


_CHOICES = {"pressure": ("bar", "psi"), "temperature": ("degC", "degF"), "volume": ("ml", "fl_oz")}
_PREFERRED = {
    "bar": {"psi": "bar"},
    "psi": {"bar": "psi"},
    "degC": {"degF": "degC", "degF_difference": "K"},
    "degF": {"degC": "degF", "K": "degF_difference"},
    "ml": {"fl_oz": "ml"},
    "fl_oz": {"ml": "fl_oz"},
}


def _shown(text: str) -> str:
    return repr(text if len(text) <= 60 else text[:57] + "...")


def _finite(value: object, unit: str) -> float:
    if isinstance(value, bool) or not isinstance(value, Real):
        raise QuantityError(f"{_shown(str(value))} is not a number -- give a number in {unit}")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise QuantityError(f"{number} is not a finite number -- give a number in {unit}")
    return number


def _spelled(spelling: str) -> list[str]:
    """Suffixes of all units written like this ("°F" may be a temperature or a difference)."""
    spelling = spelling.translate(_SAME_SIGN)
    spelling = _ALSO_SPELLED.get(spelling, spelling)
    return [unit.suffix for unit in UNITS.values() if spelling and spelling in (unit.suffix, unit.text)]


def _printed(value: float, digits: int | None) -> str:
    if digits is None:
        size = abs(value)
        if size and not 1e-3 <= size < 1e7:
            return f"{value:.2e}"
        digits = max(0, 2 - math.floor(math.log10(size))) if size else 0
    text = f"{value:.{digits}f}"
    # "-0.0" would make a technician look for a cause of the sign.
    return text.lstrip("-") if not text.strip("-0.") else text
