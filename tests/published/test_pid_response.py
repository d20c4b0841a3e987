"""The temperature controller against linear control theory, the spring against Hooke's law.

A wall with one conductance is a process of the first order:
``capacity dT/dt = power duty - loss (T - room)``.
With the controller's law (gain ``1 / band``, integral time ``reset``, derivative time ``rate`` acting on the
measured value alone) the closed loop is linear as long as the duty is within 0 and 1.
"""

from __future__ import annotations

from functools import cache, partial
from math import acos, atan2, exp, pi, sqrt
from typing import Any

import numpy as np
import pytest
from scipy import signal

from collaudo.parts.circuit import Circuit, Command, Contact, Lag, Link, Load, Piston, Regulator
from collaudo.twin.results import Results
from tests.physics.small import COLD_K, bench, chamber, throat

CAPACITY, LOSS, POWER_W = 200.0, 2.0, 1000.0
SETTLED_S, STEP_K = 3000.0, 1.0
# The run keeps 1e-6 of 100 K, 1e-4 K, in each of its steps; a few tens of them make one swing.
RTOL, WITHIN_K = 1e-6, 1.0e-3


def controlled(circuit: Circuit, band_K: float, reset_s: float, rate_s: float, lag_s: float) -> None:
    """A plate heated through a relay that the controller shares out."""
    chamber(circuit, "box", 2.0e-5, 2.0e-13)
    circuit.walls["plate"] = (CAPACITY, COLD_K)
    circuit.links.append(Link("fixed", "plate", "room", LOSS))
    circuit.lags.append(Lag("sensor", "temperature", "plate", lag_s))
    circuit.inputs["power"] = 0.0
    circuit.loads.append(Load("element", "out", "neutral", 230.0**2 / POWER_W))
    circuit.heaters.append(("plate", "element", 230.0**2 / POWER_W))
    circuit.contacts.append(Contact("relay", "live", "out", Command("input", "power")))
    circuit.regulators.append(
        Regulator("controller", "sensor", 350.0, band_K, reset_s, rate_s, "element", "relay")
    )


@cache
def stepped(
    band_K: float, reset_s: float = 0.0, rate_s: float = 0.0, lag_s: float = 1e-4, watch_s: float = 60.0
) -> tuple[Any, Any, Any]:
    """Times, and what plate and sensor rise after the setting has been raised by a kelvin, from rest."""
    say = partial(controlled, band_K=band_K, reset_s=reset_s, rate_s=rate_s, lag_s=lag_s)
    run = bench(say, rtol=RTOL)
    run.set_input("power", 1.0)
    run.advance(SETTLED_S)
    run.tables.regulator[0].set += STEP_K
    run.clock[2] = 1.0
    run.advance(watch_s)
    results = Results(run)
    after = results.time_s >= SETTLED_S
    duty = results.series("duty controller").values[after]
    assert duty.min() > 0.02
    assert duty.max() < 0.98
    plate = results.series("temperature plate").values[after]
    shown = results.rows[:, results.start["state"] + int(run.tables.lag[0].state)][after]
    return results.time_s[after] - SETTLED_S, plate - plate[0], shown - shown[0]


def second_order(time_s: Any, omega: float, zeta: float) -> Any:
    """Unit step of ``omega^2 / (s^2 + 2 zeta omega s + omega^2)``, ``zeta`` below 1 (Ogata, Modern Control
    Engineering, section on second-order systems: 1 - e^(-zeta omega t) / sqrt(1 - zeta^2)
    sin(omega_d t + acos zeta))."""
    damped = omega * sqrt(1.0 - zeta * zeta)
    swing = np.sin(damped * time_s + acos(zeta)) / sqrt(1.0 - zeta * zeta)
    return 1.0 - np.exp(-zeta * omega * time_s) * swing


@pytest.mark.parametrize(("band_K", "lag_s"), [(20.0, 5.0), (8.0, 3.0), (40.0, 12.0)])
def test_proportional_action_on_a_lagging_sensor_swings_as_a_second_order_system(
    band_K: float, lag_s: float
) -> None:
    gain = POWER_W / band_K
    omega = sqrt((gain + LOSS) / (CAPACITY * lag_s))
    zeta = (1.0 / lag_s + LOSS / CAPACITY) / (2.0 * omega)
    assert 0.1 < zeta < 0.9
    time_s, _, shown = stepped(band_K, lag_s=lag_s)
    expected = STEP_K * gain / (gain + LOSS) * second_order(time_s, omega, zeta)
    assert np.abs(shown - expected).max() < WITHIN_K


def test_its_first_peak_comes_when_and_as_high_as_the_damping_says() -> None:
    """Peak time pi / omega_d, overshoot e^(-pi zeta / sqrt(1 - zeta^2)) (Ogata, same section)."""
    gain = POWER_W / 8.0
    omega = sqrt((gain + LOSS) / (CAPACITY * 3.0))
    zeta = (1.0 / 3.0 + LOSS / CAPACITY) / (2.0 * omega)
    time_s, _, shown = stepped(8.0, lag_s=3.0)
    at = int(np.argmax(shown))
    end = STEP_K * gain / (gain + LOSS)
    fine = np.linspace(time_s[at - 2], time_s[at + 2], 401)
    peak = np.polyval(np.polyfit(time_s[at - 2 : at + 3], shown[at - 2 : at + 3], 3), fine)
    assert fine[int(np.argmax(peak))] == pytest.approx(pi / (omega * sqrt(1.0 - zeta * zeta)), rel=0.03)
    assert shown.max() / end - 1.0 == pytest.approx(exp(-pi * zeta / sqrt(1.0 - zeta * zeta)), abs=5e-3)


@pytest.mark.parametrize(("band_K", "reset_s"), [(30.0, 3.0), (60.0, 4.0), (40.0, 20.0)])
def test_proportional_and_integral_action_swings_as_a_second_order_system_with_a_zero(
    band_K: float, reset_s: float
) -> None:
    """s^2 + (loss + gain) / capacity s + gain / (capacity reset) = 0 (Astrom and Murray, Feedback Systems,
    PI control of a first-order process: s^2 + (a + b kp) s + b ki); the error begins at the step and with the
    slope that full proportional action gives."""
    gain = POWER_W / band_K
    omega = sqrt(gain / (CAPACITY * reset_s))
    decay = 0.5 * (gain + LOSS) / CAPACITY
    damped = sqrt(omega * omega - decay * decay)
    time_s, plate, _ = stepped(band_K, reset_s)
    # error e(0) = step, e'(0) = -gain / capacity step
    side = (decay - gain / CAPACITY) / damped
    phase, size = atan2(1.0, side), sqrt(1.0 + side * side)
    expected = STEP_K * (1.0 - size * np.exp(-decay * time_s) * np.sin(damped * time_s + phase))
    assert np.abs(plate - expected).max() < WITHIN_K


@pytest.mark.parametrize(
    ("reset_s", "rate_s", "lag_s"), [(20.0, 4.0, 3.0), (60.0, 1.0, 6.0), (15.0, 0.0, 2.0)]
)
def test_all_three_actions_answer_as_the_transfer_function_says(
    reset_s: float, rate_s: float, lag_s: float
) -> None:
    """The loop written as a quotient of polynomials and stepped by SciPy (`scipy.signal.step`)."""
    gain = POWER_W / 20.0
    time_s, plate, _ = stepped(20.0, reset_s, rate_s, lag_s)
    process = np.array([CAPACITY, LOSS])
    lag = np.array([lag_s, 1.0])
    # process T = gain ((1 + 1 / (reset s)) (set - S) + ... ), S = T / lag, derivative -rate s S
    below = np.polyadd(
        np.polymul(np.polymul(process, lag), [reset_s, 0.0]),
        gain * np.array([reset_s * rate_s, reset_s, 1.0]),
    )
    above = gain * np.polymul([reset_s, 1.0], lag)
    even = np.linspace(0.0, time_s[-1], 4001)
    _, answer = signal.step((above, below), T=even)
    assert np.abs(plate - STEP_K * np.interp(time_s, even, answer)).max() < WITHIN_K


# -- the spring

RATE_N_PER_M, BORE_M, STROKE_M, SQUEEZED_M = 10.0e3, 0.050, 0.025, 0.090


def test_what_the_spring_gives_out_is_the_work_of_hookes_law() -> None:
    """W = k (x1^2 - x2^2) / 2 (Halliday, Resnick, Walker, Fundamentals of Physics, work done by a spring
    force): a spring of 10 N/mm over a bore of 50 mm, squeezed by 90 mm in the machine and 25 mm more by the
    lever. The pressure's work on what leaves is the sum of p dV along the run."""
    area = 0.25 * pi * BORE_M**2

    def say(circuit: Circuit) -> None:
        circuit.inputs["lever"] = 0.0
        preload = RATE_N_PER_M * SQUEEZED_M / area
        spring = Piston("lever", area * STROKE_M, preload, area * area / RATE_N_PER_M)
        chamber(circuit, "box", 1.0e-5, 1.0e-13, piston=spring)
        throat(circuit, "inlet", "room.in", "box.in", 6.0, command=Command("input", "lever", 0.5, 1.0))
        throat(circuit, "puck", "box.out", "room.in", 0.4)

    run = bench(say, rtol=1e-5)
    run.tables.zone[run.assembly.names.zones["room"]].level = 1.0
    run.set_input("lever", 1.0)
    run.advance(30.0)
    run.set_input("lever", 0.0)
    run.advance(2.0)
    start_s, start_m3 = run.time_s, float(run.work.zone[0].rise)
    run.advance(11.0)
    end_m3 = float(run.work.zone[0].rise)
    results = Results(run)
    inside = (results.time_s >= start_s) & (results.time_s <= run.time_s)
    time_s = results.time_s[inside]
    pressure = 1e5 * results.series("pressure box").values[inside]
    passing = 1e-3 * results.series("flow puck").values[inside] / 997.8
    work = float(np.trapezoid(pressure * passing, time_s))
    squeezed = [SQUEEZED_M + volume / area for volume in (start_m3, end_m3)]
    expected = 0.5 * RATE_N_PER_M * (squeezed[0] ** 2 - squeezed[1] ** 2)
    assert start_m3 - end_m3 > 0.5 * area * STROKE_M
    # water of 22 degC 997.8 kg/m3; trapezoids between the run's own steps
    assert work == pytest.approx(expected, rel=3e-3)
    force = pressure[[0, -1]] * area
    assert force == pytest.approx([RATE_N_PER_M * x for x in squeezed], rel=1e-6)
