"""A piston that closes a vessel: a hand draws it up, a spring presses it down on what the vessel holds.

The vessel's volume is that at rest and the piston's ``rise`` besides, which nothing takes out of 0 to the
stroke. From below the piston rests on its stop, or on the hand, until the pressure lifts it:

    rise = compliance (p - p_room - preload),   held between hand * stroke and stroke

The more it rises the less is the pressure (`contents`), so that one rise fits; it is found to round-off.
"""

from __future__ import annotations

from collaudo.compiled import compiled, inlined
from collaudo.laws.closing import positive_part
from collaudo.twin.kernel.contents import contents, space_slopes
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work

# How fast a hand draws the piston up, and how fast it comes down where nothing holds against it (assumed:
# nine tenths of the stroke in 0.7 s).
HAND_S = 0.3
# Over this pressure [Pa] the spring takes over from what the piston rests on, and gives over to the upper
# stop.
ROUNDED_PA = 5.0e3


@inlined
def spring_rise(over_Pa: float, rest: float, stroke: float, compliance: float) -> tuple[float, float, float]:
    """Rise [m3] under a pressure ``over_Pa`` beyond the preload when the piston rests on ``rest`` [m3];
    slopes by both."""
    width = ROUNDED_PA * compliance
    free = over_Pa * compliance + 0.5 * width
    lifted, dlifted = positive_part(free - rest, width)
    stopped, dstopped = positive_part(free - stroke, width)
    return rest + lifted - stopped, (dlifted - dstopped) * compliance, 1.0 - dlifted


@compiled
def rise_that_fits(
    space: float,
    floor: float,
    corner: float,
    per_compliance: float,
    swell: float,
    rho_v: float,
    p_sat: float,
    top_mass: float,
    air_J: float,
    rest: float,
    stroke: float,
    compliance: float,
    lifts_Pa: float,
) -> tuple[float, float, float]:
    """Rise [m3] at which spring and contents press alike, ``space`` [m3] being left at rest; how it follows
    the pressure the contents would have without it, and ``rest``.

    Newton's method from the lower end, where it never overshoots while the pressure is convex; halved where
    it would leave the span. ``lifts_Pa`` is the absolute pressure at which the spring begins to give.
    """
    # the upper end a little beyond the stroke, which is then looked at like any other place
    low, high, rise = rest, 1.001 * stroke, rest
    by_pressure, by_rest = 0.0, 1.0
    for _ in range(100):
        pressure, _, per_gas, _, _, ratio, _, dopen, dmissing, dtight = contents(
            space + rise, floor, corner, per_compliance, swell, rho_v, p_sat, top_mass, air_J
        )
        falls, _, _ = space_slopes(
            per_gas, per_compliance, swell, rho_v, p_sat, air_J, ratio, dopen, dmissing, dtight
        )
        wanted, by_over, by_low = spring_rise(pressure - lifts_Pa, rest, stroke, compliance)
        steep = 1.0 / (1.0 - by_over * falls)
        by_pressure, by_rest = by_over * steep, by_low * steep
        if wanted < rise:
            high = rise
        else:
            low = rise
        step = (wanted - rise) * steep
        if abs(step) <= 1e-15 * stroke or high - low <= 1e-15 * stroke:
            break
        rise += step
        if not low < rise < high:
            rise = 0.5 * (low + high)
    return rise, by_pressure, by_rest


@inlined
def resting_on(p: int, y: Floats, tb: Tables) -> tuple[float, float]:
    """What piston ``p`` rests on [m3] by the hand that holds it, and the slope."""
    share, stroke = y[tb.piston[p].state], tb.piston[p].stroke
    return (min(max(share, 0.0), 1.0) * stroke, stroke if 0.0 <= share <= 1.0 else 0.0)


@compiled
def follow_rise(
    begin: int,
    end: int,
    by_pressure: float,
    by_hand: float,
    by_space: tuple[float, float, float, float, float],
    p_by: Floats,
    level_by: Floats,
    gas_by: Floats,
    share_by: Floats,
    vapour_by: Floats,
) -> None:
    """Let all slopes of a vessel, worked out for a piston that stands, follow its rise too.

    Columns ``begin`` to ``end``, the hand's last. ``by_pressure``, ``by_hand``: of the rise; ``by_space``: of
    the five quantities in their order. (A function of its own, so that vessels without piston pay nothing.)
    """
    p, level, gas, share, vapour = by_space
    for k in range(begin, end):
        if k == end - 1:
            rise_by = by_hand
            p_by[k] = level_by[k] = gas_by[k] = share_by[k] = vapour_by[k] = 0.0
        else:
            rise_by = by_pressure * p_by[k]
        p_by[k] += p * rise_by
        level_by[k] += level * rise_by
        gas_by[k] += gas * rise_by
        share_by[k] += share * rise_by
        vapour_by[k] += vapour * rise_by


@inlined
def hand_rates(derive: bool, y: Floats, dy: Floats, tb: Tables, md: Mode, wk: Work) -> None:
    """Every hand goes where it is wanted."""
    for p in range(tb.piston.size):
        row = tb.piston[p].state
        up = 1.0 if md.inputs[tb.piston[p].input] >= 0.5 else 0.0
        dy[row] = (up - y[row]) * (1.0 / HAND_S)
        if derive:
            wk.jacobian[row, row] -= 1.0 / HAND_S
