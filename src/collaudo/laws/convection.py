"""Heat lost to a room: natural convection in air and radiation."""

from __future__ import annotations

from math import exp, log
from typing import Literal, NamedTuple

from collaudo.fluid.air import CP_AIR, R_AIR, SEA_LEVEL_PA, air_conductivity, air_viscosity

STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m2 K4), exact in the SI of 2019 (CODATA 2018)."""

GRAVITY = 9.80665
ROOM_K = 295.15

Shape = Literal["vertical", "horizontal_cylinder"]


class RoomLoss(NamedTuple):
    """Loss to the room: ``convection |dT|^0.25 dT + radiation (T^4 - T_room^4)``, in W."""

    convection_W_per_K_1_25: float
    radiation_W_per_K4: float


def churchill_chu_vertical_plate(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number of a vertical plate on its height, all Ra up to 1e12.

    ``Nu = (0.825 + 0.387 Ra^(1/6) / [1 + (0.492/Pr)^(9/16)]^(8/27))^2``
    Source: Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1323, eq. 9.
    """
    prandtl_term: float = (1.0 + (0.492 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    root: float = 0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / prandtl_term
    return root * root


def churchill_chu_horizontal_cylinder(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number of a long horizontal cylinder on its diameter, Ra 1e-5 to 1e12.

    ``Nu = (0.60 + 0.387 Ra^(1/6) / [1 + (0.559/Pr)^(9/16)]^(8/27))^2``
    Source: Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1049.
    """
    prandtl_term: float = (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    root: float = 0.60 + 0.387 * rayleigh ** (1.0 / 6.0) / prandtl_term
    return root * root


def radiation_exchange(emissivity: float, surface_K: float, room_K: float) -> float:
    """Net radiation [W/m2] from a small grey surface to a large room: ``eps sigma (T^4 - T_room^4)``."""
    return emissivity * STEFAN_BOLTZMANN * (surface_K**4 - room_K**4)


def free_convection_W_per_m2_K(surface_K: float, room_K: float, height_m: float, shape: Shape) -> float:
    """Heat-transfer coefficient [W/(m2 K)] of still air at sea level, by Churchill and Chu.

    ``height_m`` is the height of a vertical wall, or the diameter of a horizontal cylinder. Air is taken
    at the film temperature, as an ideal gas. For a surface hotter or colder than the room, 250 K to 450 K.
    """
    film_K = 0.5 * (surface_K + room_K)
    conductivity = air_conductivity(film_K)
    viscosity = air_viscosity(film_K)
    prandtl = viscosity * CP_AIR / conductivity
    kinematic = viscosity * R_AIR * film_K / SEA_LEVEL_PA
    grashof = GRAVITY * abs(surface_K - room_K) / film_K * height_m**3 / kinematic**2
    nusselt_of = churchill_chu_vertical_plate if shape == "vertical" else churchill_chu_horizontal_cylinder
    return nusselt_of(grashof * prandtl, prandtl) * conductivity / height_m


def room_loss_coefficients(area_m2: float, height_m: float, emissivity: float, shape: Shape) -> RoomLoss:
    """The pair that gives a part's loss to the room: ``c |dT|^0.25 dT + r (T^4 - T_room^4)`` [W].

    ``c`` follows `free_convection_W_per_m2_K` in a room of 22 degC, fitted (least squares of logarithms)
    for dT = 20 K to 100 K; over that span the fitted form strays from Churchill and Chu by at most 7.5 %
    for sizes of 5 mm to 0.6 m (2.6 % from 50 mm on). ``r`` is area times
    emissivity times the Stefan-Boltzmann constant.
    """
    rises_K = (20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0)
    logs = [
        log(free_convection_W_per_m2_K(ROOM_K + rise_K, ROOM_K, height_m, shape) / rise_K**0.25)
        for rise_K in rises_K
    ]
    return RoomLoss(area_m2 * exp(sum(logs) / len(logs)), area_m2 * emissivity * STEFAN_BOLTZMANN)
