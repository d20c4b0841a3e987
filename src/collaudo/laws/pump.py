"""Pumps of the trade: cycle-mean curves, flow delivered against the pressure they must raise."""

from __future__ import annotations

from collaudo.compiled import compiled
from collaudo.laws.closing import positive_part

# Share of the shut-off pressure over which the curve is rounded into its end.
_ROUNDED = 0.02
_WHOLE = 1.0 - 0.5 * _ROUNDED


@compiled
def vibration_pump_flow(
    rise_Pa: float, free_m3_per_s: float, shutoff_Pa: float, bend: float
) -> tuple[float, float]:
    """Volume flow [m3/s] of a vibration pump running against ``rise_Pa``, and its derivative.

    ``free (1 - x)(1 - bend x)`` with ``x = rise / shutoff``; zero beyond the shut-off pressure, for its own
    valves hold; the last 2 % before it are rounded. Below zero rise it follows the tangent at zero.
    ``bend`` 0 is a straight line; about 0.16 follows a sound pump (650, 510, 380, 250, 120 ml/min at 0, 3, 6,
    9, 12 bar; common practice, no source).
    """
    x = rise_Pa / shutoff_Pa
    if x < 0.0:
        slope = -1.0 / _WHOLE - bend
        return free_m3_per_s * (1.0 + slope * x), free_m3_per_s * slope / shutoff_Pa
    # Rounding takes half its width off the whole curve; dividing by the rest gives the free flow back.
    left, dleft = positive_part(1.0 - x, _ROUNDED)
    share = left * (1.0 - bend * x) / _WHOLE
    slope = (-dleft * (1.0 - bend * x) - bend * left) / _WHOLE
    return free_m3_per_s * share, free_m3_per_s * slope / shutoff_Pa


@compiled
def vane_pump_flow(
    rise_Pa: float,
    displacement_m3_per_s: float,
    slip_m3_per_s_Pa: float,
    bypass_opens_Pa: float,
    bypass_m3_per_s_Pa: float,
) -> tuple[float, float]:
    """Volume flow [m3/s] delivered by a running vane pump with a bypass on the pressure difference.

    Displacement less internal slip less what the bypass sends round: the bypass opens at
    ``bypass_opens_Pa`` and passes ``bypass_m3_per_s_Pa`` for each pascal beyond. Also the derivative.
    """
    over, dover = positive_part(rise_Pa - bypass_opens_Pa, 2.0e4)
    q = displacement_m3_per_s - slip_m3_per_s_Pa * rise_Pa - bypass_m3_per_s_Pa * over
    return q, -slip_m3_per_s_Pa - bypass_m3_per_s_Pa * dover
