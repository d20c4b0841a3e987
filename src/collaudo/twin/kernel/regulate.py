"""Temperature controllers whose output is a share of the time, and the heaters they share out.

Duty is taken as continuous: a relay that opens and closes every second or two moves no temperature a
technician could read, and its edges alone would cost thousands of events.
"""

from __future__ import annotations

from collaudo.compiled import inlined
from collaudo.laws.closing import positive_part
from collaudo.twin.kernel.tables import Floats, Mode, Tables, Work

# Both corners of the duty are rounded over this share of it, half of it on either side of 0 and of 1.
DUTY_ROUNDED = 0.02


@inlined
def duty_of(wanted: float) -> tuple[float, float, float]:
    """``wanted`` held within 0 and 1, its slope, and the slope of that.

    The slope is also the share at which the integral still grows: where the duty cannot follow any more, the
    integral stands.
    """
    half = 0.5 * DUTY_ROUNDED
    low, dlow = positive_part(wanted + half, DUTY_ROUNDED)
    over, dover = positive_part(wanted - 1.0 + half, DUTY_ROUNDED)
    bend = (1.0 if 0.0 < dlow < 1.0 else 0.0) - (1.0 if 0.0 < dover < 1.0 else 0.0)
    return low - over, dlow - dover, bend / DUTY_ROUNDED


@inlined
def regulators(derive: bool, y: Floats, dy: Floats, tb: Tables, md: Mode, wk: Work) -> None:
    """Duty of every controller and rate of its integral; without current neither moves."""
    for r in range(tb.regulator.size):
        lag, row = tb.regulator[r].lag, tb.regulator[r].state
        dy[row] = 0.0
        wk.regulator[r].duty = 0.0
        wk.regulator[r].by_integral = wk.regulator[r].by_lag = wk.regulator[r].by_felt = 0.0
        if not md.energised[tb.regulator[r].load] > 0.0:
            continue
        shown, felt = y[tb.lag[lag].state], wk.temperature[tb.lag[lag].index]
        error = tb.regulator[r].set - shown
        ahead = tb.regulator[r].rate / tb.lag[lag].time
        per_band = 1.0 / tb.regulator[r].band
        duty, follows, bend = duty_of((error + y[row] - ahead * (felt - shown)) * per_band)
        growth = error * tb.regulator[r].per_reset
        dy[row] = follows * growth
        wk.regulator[r].duty = duty
        wk.regulator[r].by_integral = follows * per_band
        wk.regulator[r].by_lag = follows * per_band * (ahead - 1.0)
        wk.regulator[r].by_felt = -follows * per_band * ahead
        if derive:
            turns = bend * per_band * growth
            wk.jacobian[row, row] += turns
            wk.jacobian[row, tb.lag[lag].state] += turns * (ahead - 1.0) - follows * tb.regulator[r].per_reset
            source = tb.node_state[tb.lag[lag].index]
            if source >= 0:
                wk.jacobian[row, source] -= turns * ahead


@inlined
def book_duty(r: int, row: int, watt: float, tb: Tables, wk: Work) -> None:
    """How a power of ``watt`` at full duty follows the states of controller ``r``, in one row."""
    lag = tb.regulator[r].lag
    wk.jacobian[row, tb.regulator[r].state] += watt * wk.regulator[r].by_integral
    wk.jacobian[row, tb.lag[lag].state] += watt * wk.regulator[r].by_lag
    source = tb.node_state[tb.lag[lag].index]
    if source >= 0:
        wk.jacobian[row, source] += watt * wk.regulator[r].by_felt


@inlined
def heaters(derive: bool, dy: Floats, tb: Tables, md: Mode, wk: Work) -> None:
    """Power of every heater, at once or by its controller's duty; what it draws is booked as electric
    energy."""
    drawn = tb.state_count[1] - 1
    for k in range(tb.heater.size):
        node, r = tb.heater[k].node, tb.heater[k].regulator
        watt = md.heater_W[k]
        if r >= 0 and watt > 0.0:
            shared = watt * tb.heater[k].regulated
            watt += shared * (wk.regulator[r].duty - 1.0)
            if derive and shared > 0.0:
                book_duty(r, tb.node_row[node], shared, tb, wk)
                book_duty(r, drawn, shared, tb, wk)
        wk.power[k] = watt
        wk.income[node] += watt
        dy[drawn] += watt
