"""Regulators: of pressure by a seat that a falling pressure opens, of temperature by a share of the time."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from collaudo.parts.circuit import (
    Cell,
    Circuit,
    Command,
    Contact,
    Device,
    Lag,
    Lift,
    Link,
    Load,
    Regulator,
    Site,
    Source,
    Vessel,
)
from collaudo.twin.audit import balances
from collaudo.twin.behind import heaters_behind
from collaudo.twin.kernel.regulate import DUTY_ROUNDED
from collaudo.twin.results import Results
from collaudo.twin.run import Run
from tests.physics.small import COLD_K, bench, chamber, reservoir, throat, values, worst_slope

ROOM_PA = 101325.0

# -- of pressure

SET_PA, WIDTH_PA, SEAT_M2 = 2.5e5, 0.5e5, 2.0e-6
TAP_M2 = 0.7 * 0.25 * np.pi * 1.2e-3**2


def line(
    gauge_Pa: float = 4.0e5, outlet_Pa: float | None = None, leak: float = 0.0, K: float = COLD_K
) -> Run:
    """Mains, regulator, a small box with a tap; or a reservoir of given pressure behind it."""

    def say(circuit: Circuit) -> None:
        reservoir(circuit, "mains", gauge_Pa, 1.0, K)
        circuit.inputs["tap"] = 0.0
        chamber(circuit, "box", 2.0e-5, 2.0e-13)
        behind = "box.in"
        if outlet_Pa is not None:
            reservoir(circuit, "behind", outlet_Pa, 1.0, K)
            behind = "behind.in"
        circuit.lifts.append(
            Lift("regulator", "mains.out", behind, SEAT_M2, SET_PA, WIDTH_PA, leak, "below_outlet")
        )
        throat(circuit, "tap", "box.out", "room.in", 1.2, command=Command("input", "tap"))

    return bench(say)


def passes_kg_per_s(inlet_Pa: float, outlet_Pa: float) -> float:
    run = line(inlet_Pa, outlet_Pa)
    run.advance(0.1)
    return float(values(run, "flow regulator")[-1]) * 1e-3


@pytest.mark.parametrize("outlet_Pa", [SET_PA, SET_PA + 1.0, 3.9e5])
def test_at_its_setting_and_above_it_is_shut(outlet_Pa: float) -> None:
    assert passes_kg_per_s(4.0e5, outlet_Pa) == 0.0


@pytest.mark.parametrize("outlet_Pa", [SET_PA - WIDTH_PA, 1.0e5, 0.0])
def test_once_the_outlet_has_fallen_by_its_range_it_is_an_open_throat(outlet_Pa: float) -> None:
    """ISO 5167-1:2003, eq. 1, coefficient and bore in the area: q = A sqrt(2 rho dp); rho 997.8 kg/m3 at
    22 degC."""
    expected = SEAT_M2 * np.sqrt(2.0 * 997.8 * (4.0e5 - outlet_Pa))
    assert passes_kg_per_s(4.0e5, outlet_Pa) == pytest.approx(expected, rel=2e-4)


def test_in_the_middle_of_its_range_it_is_half_open() -> None:
    outlet_Pa = SET_PA - 0.5 * WIDTH_PA
    expected = 0.5 * SEAT_M2 * np.sqrt(2.0 * 997.8 * (4.0e5 - outlet_Pa))
    assert passes_kg_per_s(4.0e5, outlet_Pa) == pytest.approx(expected, rel=2e-4)


def test_it_opens_the_wider_the_lower_the_outlet() -> None:
    opening = [
        passes_kg_per_s(4.0e5, p) / np.sqrt(4.0e5 - p) for p in np.linspace(SET_PA, SET_PA - WIDTH_PA, 12)
    ]
    assert np.all(np.diff(opening) > 0.0)


def test_behind_it_the_pressure_rises_to_its_setting_and_stays_there() -> None:
    run = line()
    run.advance(60.0)
    pressure = values(run, "pressure box")
    assert pressure.max() <= 1e-5 * SET_PA + 1e-9
    assert pressure[-1] == pytest.approx(1e-5 * SET_PA, abs=1e-3)


def test_a_worn_seat_lets_the_pressure_creep_up_to_the_mains() -> None:
    run = line(leak=1e-11)
    run.advance(600.0)
    assert values(run, "pressure box")[-1] == pytest.approx(4.0, abs=0.01)


@pytest.mark.parametrize("tap", [0.3, 1.0])
def test_while_drawing_the_pressure_stands_where_seat_and_tap_pass_the_same(tap: float) -> None:
    """Straight part of the opening: x widths below the setting it is (x - 0.05) / 0.9 open."""
    run = line()
    run.advance(5.0)
    run.set_input("tap", tap)
    run.advance(5.0)

    def too_much(p: float) -> float:
        share = ((SET_PA - p) / WIDTH_PA - 0.05) / 0.9
        return float(SEAT_M2 * share * np.sqrt(4.0e5 - p) - tap * TAP_M2 * np.sqrt(p))

    expected = brentq(too_much, SET_PA - 0.9 * WIDTH_PA, SET_PA - 0.1 * WIDTH_PA)
    assert values(run, "pressure box")[-1] == pytest.approx(1e-5 * expected, abs=2e-4)


def test_water_runs_back_through_it_where_the_mains_have_none() -> None:
    """It is no check valve (common practice, no source)."""
    run = line(gauge_Pa=0.0, outlet_Pa=1.0e5)
    run.advance(0.1)
    expected = SEAT_M2 * np.sqrt(2.0 * 997.8 * 1.0e5)
    assert values(run, "flow regulator")[-1] == pytest.approx(-1e3 * expected, rel=2e-4)


def test_nothing_is_lost_at_a_pressure_regulator() -> None:
    run = line()
    run.advance(5.0)
    for tap in (1.0, 0.0, 0.4, 0.0):
        run.set_input("tap", tap)
        run.advance(4.0)
    assert max(balances(run).values()) < 1e-9


@pytest.mark.parametrize(("gauge_Pa", "tap"), [(4.0e5, 0.0), (4.0e5, 0.3), (4.0e5, 1.0), (0.5e5, 0.0)])
def test_slopes_of_a_pressure_regulator_are_those_of_small_differences(gauge_Pa: float, tap: float) -> None:
    run = line(gauge_Pa, K=320.0)
    run.advance(2.0)
    run.tables.zone[run.assembly.names.zones["mains"]].pressure = ROOM_PA + gauge_Pa - 1.0e4
    run.set_input("tap", tap)
    run.advance(0.5)
    worst, where = worst_slope(run)
    assert worst < 1e-3, where


@pytest.mark.parametrize("tap", [0.1, 1.0])
@pytest.mark.parametrize("way", ["forward", "back"])
def test_its_slopes_between_two_vessels_are_those_of_small_differences(tap: float, way: str) -> None:
    """Water before it and behind it has a pressure of its own; also where it runs back through it."""

    def say(circuit: Circuit) -> None:
        mains, room = ("mains", "room") if way == "forward" else ("room", "mains")
        reservoir(circuit, "mains", 3.0e5 if way == "forward" else 1.0e5, 1.0, 320.0)
        circuit.inputs["tap"] = 0.0
        for name in ("front", "box"):
            chamber(circuit, name, 2.0e-5, 2.0e-13)
        throat(circuit, "jet", f"{mains}.out", "front.in", 1.5)
        circuit.lifts.append(
            Lift("regulator", "front.out", "box.in", SEAT_M2, SET_PA, WIDTH_PA, 1e-12, "below_outlet")
        )
        throat(circuit, "tap", "box.out", f"{room}.in", 1.2, command=Command("input", "tap"))

    run = bench(say)
    run.advance(1.0)
    run.set_input("tap", tap)
    run.advance(0.5)
    flow = values(run, "flow regulator")[-1]
    assert flow > 0.5 if way == "forward" else flow < -0.5
    worst, where = worst_slope(run)
    assert worst < 1e-3, where


# -- of temperature

OHM = 52.9
"""1000 W at 230 V."""
CAPACITY, LOSS = 200.0, 2.0


def plate(
    circuit: Circuit,
    *,
    reset_s: float = 60.0,
    rate_s: float = 2.0,
    band_K: float = 10.0,
    set_K: float = 366.0,
    welded: bool = False,
    heated: str = "plate",
) -> None:
    """A heated plate that loses 2 W/K, its sensor, a controller on a switch, a relay in the heater's lead."""
    chamber(circuit, "box", 2.0e-5, 2.0e-13)
    circuit.walls["plate"] = (CAPACITY, COLD_K)
    circuit.links.append(Link("fixed", "plate", "room", LOSS))
    circuit.links.append(Link("fixed", "plate", "box.water", 5.0 if heated != "plate" else 0.0))
    circuit.lags.append(Lag("sensor", "temperature", "plate", 0.5))
    circuit.loads.append(Load("board", "board.live", "neutral", 1e4))
    circuit.loads.append(Load("element", "out", "neutral", OHM))
    circuit.heaters.append((heated, "element", OHM))
    circuit.inputs["power"] = 0.0
    circuit.devices.append(Device("switch", "input", input="power"))
    circuit.devices.append(Device("relay", "relay", load="board"))
    circuit.contacts.append(Contact("switch", "live", "board.live", Command("device", "switch")))
    stuck = Command("always") if welded else Command("device", "relay")
    circuit.contacts.append(Contact("relay", "board.live", "out", stuck))
    circuit.regulators.append(
        Regulator("controller", "sensor", set_K, band_K, reset_s, rate_s, "board", "relay")
    )


def warmed(seconds: float, **how: Any) -> Run:
    site = {key: how.pop(key) for key in ("mains_V", "rtol") if key in how}
    run = bench(partial(plate, **how), **site)
    run.set_input("power", 1.0)
    run.advance(seconds)
    return run


def integral_K(run: Run) -> Any:
    start = Results(run).start["state"]
    return Results(run).rows[:, start + int(run.tables.regulator[0].state)]


def test_the_duty_lies_within_0_and_1_and_the_power_goes_with_it() -> None:
    run = warmed(300.0)
    duty, power = values(run, "duty controller"), values(run, "power plate")
    assert duty.min() >= 0.0
    assert duty.max() == pytest.approx(1.0, abs=1e-12)
    assert duty.max() <= 1.0 + 1e-12
    assert np.allclose(power, 1000.0 * duty * values(run, "load element"), atol=1e-9)


def test_with_integral_action_the_plate_stands_at_the_setting() -> None:
    run = warmed(1500.0)
    assert values(run, "temperature plate")[-1] == pytest.approx(366.0 - 273.15, abs=1e-3)
    steady = LOSS * (366.0 - COLD_K) / 1000.0
    assert values(run, "duty controller")[-1] == pytest.approx(steady, rel=1e-4)


def test_without_it_the_plate_stays_short_by_what_the_band_asks() -> None:
    """LOSS (T - room) = 1000 W (set - T) / band."""
    run = warmed(1500.0, reset_s=0.0)
    expected_K = (1000.0 / 10.0 * 366.0 + LOSS * COLD_K) / (1000.0 / 10.0 + LOSS)
    assert values(run, "temperature plate")[-1] == pytest.approx(expected_K - 273.15, abs=1e-3)


def test_while_the_duty_is_full_the_integral_stands_still() -> None:
    """No wind-up over a long heating: it has not moved when the duty leaves its stop."""
    run = warmed(200.0, rate_s=0.0)
    duty, integral = values(run, "duty controller"), integral_K(run)
    full = duty >= 1.0
    assert np.count_nonzero(full) > 3
    assert np.abs(integral[: int(np.argmin(full))]).max() < 1e-9
    # the set point less the band is where it leaves it
    first = int(np.argmin(full))
    shown = values(run, "temperature plate")[first] + 273.15
    assert shown > 366.0 - 10.0 * (1.0 + DUTY_ROUNDED)


def test_a_slow_machine_overshoots_less_than_the_band_for_all_its_integral() -> None:
    run = warmed(1500.0, reset_s=20.0, rate_s=0.0)
    assert values(run, "temperature plate").max() < 366.0 - 273.15 + 10.0


def test_without_current_there_is_no_duty_and_the_integral_is_kept() -> None:
    run = warmed(300.0)
    kept = integral_K(run)[-1]
    run.set_input("power", 0.0)
    run.advance(100.0)
    after = Results(run).time_s > 300.0
    assert abs(kept) > 0.1
    assert np.all(integral_K(run)[after] == kept)
    assert values(run, "duty controller")[-1] == 0.0
    assert values(run, "power plate")[-1] == 0.0


def test_a_welded_relay_heats_at_full_power_whatever_the_duty() -> None:
    run = warmed(300.0, welded=True)
    sound = warmed(1.0)
    assert values(run, "power plate")[-1] == pytest.approx(1000.0, rel=1e-9)
    assert values(run, "duty controller")[-1] == 0.0
    assert values(run, "temperature plate")[-1] > 150.0
    # the same structure: a fault is a patch of numbers
    for one, other in zip(run.tables, sound.tables, strict=True):
        assert one.shape == other.shape
    assert run.tables.heater[0].regulator == sound.tables.heater[0].regulator == 0
    run.patch(sound.tables)
    run.advance(1.0)
    assert values(run, "power plate")[-1] == 0.0


def test_low_voltage_is_made_up_by_the_duty() -> None:
    rated, low = warmed(1500.0), warmed(1500.0, mains_V=207.0)
    assert values(low, "temperature plate")[-1] == pytest.approx(
        values(rated, "temperature plate")[-1], abs=1e-3
    )
    ratio = values(low, "duty controller")[-1] / values(rated, "duty controller")[-1]
    assert ratio == pytest.approx((230.0 / 207.0) ** 2, rel=1e-3)


def test_the_meter_counts_what_the_duty_lets_through() -> None:
    """Energy in by wire: heat in the plate, and what it lost; the books close on it."""
    run = warmed(600.0, rtol=1e-5)
    results = Results(run)
    time_s, power = results.time_s, results.series("power plate").values
    drawn = float(np.sum(0.5 * (power[1:] + power[:-1]) * np.diff(time_s)))
    assert run.y[-1] == pytest.approx(drawn, rel=2e-3)
    assert balances(run)["energy"] < 1e-9


@pytest.mark.parametrize("heated", ["plate", "box.water"])
@pytest.mark.parametrize("seconds", [5.0, 16.8, 18.0, 40.0, 200.0])
def test_slopes_of_a_regulated_heater_are_those_of_small_differences(heated: str, seconds: float) -> None:
    run = warmed(seconds, heated=heated)
    # that water's specific heat follows its temperature is left out: 2e-4 per kelvin
    own = "temperature of box.water"
    worst, where = worst_slope(run, lambda row, column: row == column == own)
    assert worst < 2e-3, where


@pytest.mark.parametrize("wanted", [0.004, -0.003, 0.996, 1.004])
def test_slopes_in_the_rounded_corners_of_the_duty_are_those_of_small_differences(wanted: float) -> None:
    run = warmed(30.0, reset_s=5.0)
    controller, sensor = run.tables.regulator[0], run.tables.lag[0]
    shown, felt = run.y[sensor.state], run.work.temperature[sensor.index]
    ahead = controller.rate / sensor.time * (felt - shown)
    run.y[controller.state] = wanted * controller.band - (controller.set - shown - ahead)
    run.clock[2] = 1.0
    worst, where = worst_slope(run)
    assert 0.0 < values(run, "duty controller")[-1] < 1.0
    assert worst < 1e-3, where


def test_a_regulated_heater_may_sit_in_a_vessel_of_two_cells() -> None:
    """Heat given to the lower cell reaches the top's evaporation: its slopes have their places."""

    def say(circuit: Circuit) -> None:
        plate(circuit, heated="boiler.lower")
        circuit.vessels["boiler"] = Vessel(
            "boiler", [Cell("lower", 5e-5), Cell("upper", 1e-4)], [(0, 1, 0.0)], 1e-11, 1e-3, water_m3=1e-4
        )
        circuit.links.append(Link("mixing", "boiler.lower", "boiler.upper", 5.0, 400.0))
        circuit.links.append(Link("fixed", "boiler.upper", "plate", 10.0))

    run = bench(say, rtol=1e-5)
    run.set_input("power", 1.0)
    for seconds in (20.0, 40.0, 100.0):
        run.advance(seconds)
        worst, where = worst_slope(run)
        assert worst < 2e-3, where
    assert values(run, "duty controller")[-1] < 1.0
    assert balances(run)["energy"] < 1e-5


# -- which heaters a contact shares out


def wired(loads: list[Load], contacts: list[Contact], phases: bool = False) -> Circuit:
    circuit = Circuit(Site())
    angles = (0.0, -120.0, 120.0) if phases else (0.0,)
    circuit.sources += [Source(f"L{n + 1}", 1.0, angle) for n, angle in enumerate(angles)]
    circuit.sources += [Source("N"), Source("E")]
    circuit.loads += loads
    circuit.heaters += [(f"wall {x.name}", x.name, x.ohm) for x in loads if x.ohm < 1e3]
    circuit.contacts += contacts
    return circuit


def behind(circuit: Circuit, device: str = "relay") -> list[str]:
    return [circuit.heaters[n][1] for n in heaters_behind(device, circuit, circuit.contacts)]


RELAY = Command("device", "relay")


def test_of_two_heaters_the_one_behind_the_relay_is_shared_out() -> None:
    loads = [Load("one", "a", "N", 50.0), Load("two", "b", "N", 50.0), Load("lamp", "a", "N", 5e4)]
    circuit = wired(loads, [Contact("relay", "L1", "a", RELAY), Contact("wire", "L1", "b")])
    assert behind(circuit) == ["one"]


def test_a_relay_in_the_neutral_lead_shares_out_too() -> None:
    circuit = wired(
        [Load("one", "a", "b", 50.0)], [Contact("wire", "L1", "a"), Contact("relay", "b", "N", RELAY)]
    )
    assert behind(circuit) == ["one"]


def test_a_contact_beside_it_takes_the_heater_out_of_its_hands() -> None:
    contacts = [Contact("relay", "L1", "a", RELAY), Contact("thermostat", "L1", "a", Command("device", "t"))]
    assert behind(wired([Load("one", "a", "N", 50.0)], contacts)) == []


def test_a_relay_that_is_stuck_is_known_by_its_name() -> None:
    circuit = wired([Load("one", "a", "N", 50.0)], [Contact("relay", "L1", "a", Command("always"))])
    assert behind(circuit) == ["one"]


def test_in_a_star_without_neutral_two_poles_of_a_relay_hold_all_three_legs() -> None:
    legs = [Load(name, name, "star", 50.0) for name in ("u", "v", "w")]
    contacts = [
        Contact("relay", "L1", "u", RELAY),
        Contact("relay", "L2", "v", RELAY),
        Contact("wire", "L3", "w"),
    ]
    assert behind(wired(legs, contacts, phases=True)) == ["u", "v", "w"]


def test_in_a_star_one_pole_of_a_relay_holds_its_own_leg_alone() -> None:
    legs = [Load(name, name, "star", 50.0) for name in ("u", "v", "w")]
    contacts = [
        Contact("relay", "L1", "u", RELAY),
        Contact("wire", "L2", "v"),
        Contact("wire", "L3", "w"),
    ]
    assert behind(wired(legs, contacts, phases=True)) == ["u"]


def test_neutral_and_earth_are_one_pole() -> None:
    """A heater from neutral to earth has no current whatever the relay does."""
    circuit = wired([Load("one", "a", "E", 50.0)], [Contact("relay", "N", "a", RELAY)])
    assert behind(circuit) == []
