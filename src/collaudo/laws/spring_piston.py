"""Pressure under a piston that a coil spring presses down."""

from __future__ import annotations

from math import pi


def helical_spring_rate_N_per_m(wire_m: float, coil_m: float, turns: float, shear_Pa: float) -> float:
    """Rate of a helical compression spring of round wire: ``d^4 G / (8 D^3 N)``.

    ``wire_m`` is the wire's diameter d, ``coil_m`` the mean diameter D of a turn, ``turns`` the active turns
    N, ``shear_Pa`` the wire's shear modulus G (78 to 80 GPa for spring steel, 69 GPa for stainless). Within
    2 % for D/d from 4 to 12, while no turns touch. Source: Shigley, Mechanical Engineering Design, ch. 10.
    """
    d2 = wire_m * wire_m
    return d2 * d2 * shear_Pa / (8.0 * coil_m * coil_m * coil_m * turns)


def spring_force_N(rate_N_per_m: float, squeezed_m: float) -> float:
    """Force of a spring squeezed from its free length (Hooke); none when it is slack."""
    return rate_N_per_m * max(squeezed_m, 0.0)


def piston_pressure_Pa(force_N: float, friction_N: float, bore_m: float) -> float:
    """Pressure above the room [Pa] under a piston pressed down by ``force_N``; its seals hold ``friction_N``
    back. Never below 0."""
    return max(force_N - friction_N, 0.0) / (0.25 * pi * bore_m * bore_m)
