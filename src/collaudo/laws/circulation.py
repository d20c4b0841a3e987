"""Steady natural circulation: a correlation for uniform loops, a momentum balance for any loop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from collaudo.errors import QuantityError
from collaudo.laws.friction import churchill_1977

GRAVITY = 9.80665

FrictionLaw = Literal["laminar", "transition", "turbulent"]

# p and b of f = p / Re^b.
_FRICTION_LAWS: dict[FrictionLaw, tuple[float, float]] = {
    "laminar": (64.0, 1.0),
    "transition": (22.26, 0.6744),
    "turbulent": (0.316, 0.25),
}

_SLICES = 20
_HALVINGS = 60


def loop_reynolds_vijayan(grashof_over_ng: float, law: FrictionLaw) -> float:
    """Steady Reynolds number of a loop of uniform bore: ``Re = (2/p)^r (Gr_m / N_G)^r``, ``r = 1/(3-b)``.

    ``f = p / Re^b``: laminar (64, 1), transition (22.26, 0.6744), turbulent (0.316, 0.25).
    ``Gr_m = D^3 rho^2 beta g dT_r / mu^2`` with ``dT_r = Q H / (A mu cp)``; ``N_G = L_eff / D``, where
    L_eff is the whole length plus fittings. For single-phase liquid whose density is linear in temperature.
    Source: Vijayan, Nucl. Eng. Des. 215 (2002) 139.
    """
    p, b = _FRICTION_LAWS[law]
    result: float = (2.0 / p * grashof_over_ng) ** (1.0 / (3.0 - b))
    return result


@dataclass(frozen=True)
class LoopFluid:
    """A liquid as functions of temperature [K], SI; ``temperature_K`` undoes ``enthalpy_J_per_kg``."""

    density_kg_per_m3: Callable[[float], float]
    viscosity_Pa_s: Callable[[float], float]
    enthalpy_J_per_kg: Callable[[float], float]
    temperature_K: Callable[[float], float]


def _no_loss(_reynolds: float) -> float:
    return 0.0


@dataclass(frozen=True)
class LoopSegment:
    """One straight piece of a loop, in the direction of flow.

    ``heat_share`` is the part of the loop's heat that enters here (negative: leaves), spread evenly over
    the length; ``loss_coefficient`` is K as a function of the Reynolds number.
    """

    diameter_m: float
    length_m: float
    area_m2: float
    rise_m: float
    loss_coefficient: Callable[[float], float] = _no_loss
    heat_share: float = 0.0
    roughness_m: float = 0.0


def loop_head_Pa(
    segments: Sequence[LoopSegment], fluid: LoopFluid, heat_W: float, start_K: float, flow_kg_per_s: float
) -> float:
    """Buoyancy less friction [Pa] round the loop at a flow > 0, ``start_K`` entering the first segment."""
    enthalpy = fluid.enthalpy_J_per_kg(start_K)
    head_Pa = 0.0
    for segment in segments:
        slices = _SLICES if segment.heat_share else 1
        step = heat_W * segment.heat_share / flow_kg_per_s / slices
        for _ in range(slices):
            temperature_K = fluid.temperature_K(enthalpy + 0.5 * step)
            head_Pa -= _segment_drop_Pa(segment, fluid, temperature_K, flow_kg_per_s) / slices
            enthalpy += step
    return head_Pa


def _segment_drop_Pa(
    segment: LoopSegment, fluid: LoopFluid, temperature_K: float, flow_kg_per_s: float
) -> float:
    """Weight and friction of a whole segment at one temperature."""
    density = fluid.density_kg_per_m3(temperature_K)
    flux = flow_kg_per_s / segment.area_m2
    reynolds = flux * segment.diameter_m / fluid.viscosity_Pa_s(temperature_K)
    friction = churchill_1977(reynolds, segment.roughness_m / segment.diameter_m)
    losses = friction * segment.length_m / segment.diameter_m + segment.loss_coefficient(reynolds)
    return density * GRAVITY * segment.rise_m + losses * flux * flux / (2.0 * density)


def steady_loop_flow_kg_per_s(
    segments: Sequence[LoopSegment],
    fluid: LoopFluid,
    heat_W: float,
    start_K: float,
    bounds_kg_per_s: tuple[float, float],
) -> float:
    """Mass flow at which buoyancy and friction balance round the loop, found by bisection.

    ``start_K`` is the temperature entering the first segment. Rises must sum to zero and heat shares to
    zero. Raises `QuantityError` when they do not, or when no balance lies within the bounds.
    """
    climb_m = sum(segment.rise_m for segment in segments)
    if abs(climb_m) > 1e-6:
        raise QuantityError(f"the loop does not close: its rises sum to {climb_m:g} m, not 0")
    share = sum(segment.heat_share for segment in segments)
    if abs(share) > 1e-9:
        raise QuantityError(f"the loop keeps heat: its shares sum to {share:g}, not 0")
    low, high = bounds_kg_per_s

    def head_Pa(flow_kg_per_s: float) -> float:
        return loop_head_Pa(segments, fluid, heat_W, start_K, flow_kg_per_s)

    if not head_Pa(low) > 0.0 > head_Pa(high):
        raise QuantityError(f"no steady circulation between {low:g} and {high:g} kg/s")
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if head_Pa(middle) > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
