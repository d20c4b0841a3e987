"""Heating elements as plain resistors: Ohm's and Joule's laws."""

from __future__ import annotations


def element_resistance_ohm(rated_power_W: float, rated_voltage_V: float) -> float:
    """Resistance [ohm] of an element from its plate: ``U^2 / P`` (hot; cold it reads up to 3 % less)."""
    return rated_voltage_V * rated_voltage_V / rated_power_W


def element_power_W(resistance_ohm: float, voltage_V: float) -> float:
    """Power [W] of an element at the voltage across it: ``U^2 / R``."""
    return voltage_V * voltage_V / resistance_ohm


def element_current_A(resistance_ohm: float, voltage_V: float) -> float:
    """Current [A] through an element at the voltage across it: ``U / R``."""
    return voltage_V / resistance_ohm
