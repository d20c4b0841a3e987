"""Flow of water through the coffee bed.

A bed of ground coffee flows by Darcy's law: the inertial part of the drop stays below one per cent
(tests/published/test_coffee_bed.py).
"""

from __future__ import annotations


def kozeny_carman_permeability(particle_diameter_m: float, porosity: float) -> float:
    """Permeability [m2] of a bed of spheres: ``eps^3 d^2 / (180 (1 - eps)^2)``.

    For laminar flow in random beds of near-equal grains, porosity 0.2 to 0.6. A wet espresso bed passes
    far less than its dry sieve curve says; use it for trends. Source: Carman, Trans. Inst. Chem. Eng. 15
    (1937) 150.
    """
    solid = 1.0 - porosity
    return porosity**3 * particle_diameter_m**2 / (180.0 * solid * solid)


def darcy_resistance(permeability_m2: float, length_m: float, area_m2: float) -> float:
    """Geometric resistance R [1/m3] of a bed, in ``dp = R mu Q``: ``L / (k A)``."""
    return length_m / (permeability_m2 * area_m2)


def darcy_flow(
    permeability_m2: float, area_m2: float, pressure_drop_Pa: float, viscosity_Pa_s: float, length_m: float
) -> float:
    """Volume flow [m3/s] through a bed: ``k A dp / (mu L)``, grain Reynolds number below about 1.

    Source: Darcy, Les fontaines publiques de la ville de Dijon (1856), in today's form.
    """
    return pressure_drop_Pa / (darcy_resistance(permeability_m2, length_m, area_m2) * viscosity_Pa_s)
