"""The readings a technician would take on a sound machine, taken once for each machine and shared by the
tests."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np

from collaudo.machine.load import find_machine
from collaudo.twin.results import Results
from collaudo.twin.run import Run

BREW_GAUGE = "check_valve.out"


def value(run: Run, name: str) -> float:
    """The last value of a series."""
    return float(Results(run).series(name).values[-1])


@cache
def readings(machine_id: str) -> dict[str, float]:
    """Every reading of section 10 that the twin computes, in the trade's units."""
    machine = find_machine(machine_id)
    run = Run.of(machine)
    run.set_input("power", 1.0)
    run.advance(2700.0)
    out = _warm_up(run)
    run.advance(1500.0)
    warm = run.save()
    out.update(_idle(run))
    out.update(_free_flow(run))
    run.restore(warm)
    out.update(_blind(run))
    run.restore(warm)
    out.update(_shot(run))
    run.restore(warm)
    out.update(_steam(run))
    run.restore(warm)
    out.update(_cooling(run))
    out.update(_false_pressure(machine_id))
    out.update(_sensitivity(machine_id))
    return out


def _warm_up(run: Run) -> dict[str, float]:
    first = next(t for t, name, on in run.events if name == "pressure_switch" and on == 1.0)
    results = Results(run)
    group = results.series("temperature group")
    settled = float(group.values[-1]) - 2.0
    valve = results.series("mass room")
    return {
        "first_switch_off_min": first / 60.0,
        "group_settled_min": float(group.time_s[np.argmax(group.values > settled)]) / 60.0,
        "vacuum_valve_closes_degC": results.series("temperature boiler.upper").at(
            next(t for t, name, _ in run.events if name == "vacuum_valve")
        ),
        "vacuum_valve_g": float(valve.values[-1] - valve.values[0]),
        "expansion_tank_g": value(run, "mass tank"),
    }


def _idle(run: Run) -> dict[str, float]:
    results = Results(run)
    end = run.time_s
    boiler = results.series("pressure boiler").between(end - 1200.0, end)
    times = [(t, on) for t, name, on in run.events if name == "pressure_switch" and t > end - 1500.0]
    on = [b[0] - a[0] for a, b in pairwise(times) if a[1] == 0.0]
    off = [b[0] - a[0] for a, b in pairwise(times) if a[1] == 1.0]
    power = float(np.mean(on)) / float(np.mean(on) + np.mean(off)) * 1400.0
    return {
        "gauge_middle_bar": 0.5 * float(boiler.max() + boiler.min()),
        "gauge_swing_bar": float(boiler.max() - boiler.min()),
        "on_s": float(np.mean(on)),
        "off_s": float(np.mean(off)),
        "idle_W": power,
        "group_degC": value(run, "temperature group"),
        "exchanger_degC": value(run, "temperature exchanger.cell6"),
        "circulation_g_per_s": value(run, "circulation"),
        "legs_K": value(run, "temperature exchanger.hot to group.hot.leg1")
        - value(run, "temperature group.return to exchanger.return.leg0"),
        "brew_gauge_idle_bar": value(run, f"pressure {BREW_GAUGE}"),
    }


def _free_flow(run: Run) -> dict[str, float]:
    start = run.time_s
    run.set_input("lever", 1.0)
    run.advance(30.0)
    results = Results(run)
    cup = results.series("mass cup")
    water = results.series("temperature brew_chamber.water")
    after = cup.time_s > start + 1.0
    hot = after & (water.values > 99.0)
    hiss_end = float(cup.time_s[hot].max()) if hot.any() else start
    brew = after & (water.values < 96.0) & (cup.time_s > hiss_end)
    brew_at = float(cup.time_s[brew].min()) if brew.any() else start + 30.0
    return {
        "free_flow_g_in_10_s": cup.at(start + 30.0) - cup.at(start + 20.0),
        "free_flow_gauge_bar": results.series(f"pressure {BREW_GAUGE}").at(start + 29.0),
        "hiss_ends_s": hiss_end - start,
        "hiss_ends_ml": cup.at(hiss_end) - cup.at(start),
        "flush_to_brew_ml": cup.at(brew_at) - cup.at(start),
    }


def _blind(run: Run) -> dict[str, float]:
    run.change({"portafilter.holds": "blind"})
    run.set_input("lever", 1.0)
    run.advance(10.0)
    start, tank = run.time_s, value(run, "mass tank")
    gauge = value(run, f"pressure {BREW_GAUGE}")
    drawn = value(run, "flow pump")
    run.advance(10.0)
    results = Results(run)
    flow = results.series("flow relief_valve")
    inside = flow.time_s >= start
    returned = float(np.trapezoid(flow.values[inside], flow.time_s[inside]))
    return {
        "blind_bar": gauge,
        "relief_return_g_in_10_s": returned,
        "blind_pump_g_per_s": drawn,
        "tank_g": tank,
    }


def _shot(run: Run) -> dict[str, float]:
    run.change({"portafilter.holds": "nothing"})
    run.set_input("lever", 1.0)
    run.advance(12.0)
    run.set_input("lever", 0.0)
    run.advance(60.0)
    run.change({"portafilter.holds": "puck"})
    start = run.time_s
    cup, tray = value(run, "mass cup"), value(run, "mass tray")
    run.set_input("lever", 1.0)
    run.advance(28.0)
    results = Results(run)
    poured = results.series("mass cup")
    drops = poured.time_s[(poured.time_s > start) & (poured.values > cup + 0.3)]
    out = {
        "shot_g": poured.values[-1] - cup,
        "first_drops_s": float(drops.min()) - start if drops.size else 99.0,
        "shot_bar": value(run, f"pressure {BREW_GAUGE}"),
        "brew_water_degC": value(run, "temperature brew_chamber.water"),
        "puck_flow_g_per_s": value(run, "flow screen"),
    }
    run.set_input("lever", 0.0)
    run.advance(20.0)
    out["exhaust_g"] = value(run, "mass tray") - tray
    run.advance(280.0)
    results = Results(run)
    pressed = results.series(f"pressure {BREW_GAUGE}")
    out["after_shot_bar"] = float(pressed.between(run.time_s - 280.0, run.time_s).max())
    let_go = results.series("flow relief_valve")
    after = let_go.time_s >= run.time_s - 300.0
    out["relief_drip_g"] = float(np.trapezoid(let_go.values[after], let_go.time_s[after]))
    return out


def _sensitivity(machine_id: str) -> dict[str, float]:
    """Group temperature after an hour and a half, boiler set 0.1 bar lower and higher."""
    group = []
    for opens_bar in (1.06, 1.26):
        run = Run.of(find_machine(machine_id).with_fields({"pressure_switch.opens_bar": opens_bar}))
        run.set_input("power", 1.0)
        run.advance(5400.0)
        group.append(float(np.mean(Results(run).series("temperature group").between(4800.0, 5400.0))))
    return {"group_K_per_0_1_bar": 0.5 * (group[1] - group[0])}


def _steam(run: Run) -> dict[str, float]:
    run.force("pressure_switch", on=True)
    run.advance(1.0)
    run.force("pressure_switch", on=None)
    start_bar = value(run, "pressure boiler")
    run.set_input("steam_tap", 1.0)
    start = run.time_s
    run.advance(30.0)
    drop = start_bar - value(run, "pressure boiler")
    flow = Results(run).series("flow steam_tap").between(start + 1.0, run.time_s)
    run.set_input("steam_tap", 0.0)
    closed = run.time_s
    run.advance(200.0)
    reached = [t for t, name, on in run.events if name == "pressure_switch" and on == 1.0 and t > closed]
    return {
        "steam_g_per_s": float(flow.mean()),
        "steam_drop_bar": drop,
        "steam_recovery_s": reached[0] - closed if reached else 999.0,
    }


def _cooling(run: Run) -> dict[str, float]:
    run.set_input("steam_tap", 1.0)
    run.advance(60.0)
    run.set_input("steam_tap", 0.0)
    run.advance(300.0)
    run.change({"vacuum_valve.opens_below_bar": 0.9})
    run.set_input("power", 0.0)
    start = run.time_s
    run.advance(6000.0)
    boiler = Results(run).series("pressure boiler")
    below = boiler.time_s[(boiler.time_s > start) & (boiler.values < -0.005)]
    warm = Results(run).series("temperature boiler.upper")
    cool = warm.time_s[(warm.time_s > start) & (warm.values < 60.0)]
    return {
        "vacuum_after_min": (float(below.min()) - start) / 60.0 if below.size else 999.0,
        "boiler_60_degC_min": (float(cool.min()) - start) / 60.0 if cool.size else 999.0,
    }


def _false_pressure(machine_id: str) -> dict[str, float]:
    machine = find_machine(machine_id).with_fields(
        {"vacuum_valve.bore_mm": 0.2, "vacuum_valve.leak_bore_mm": 0.0}
    )
    run = Run.of(machine)
    run.force("vacuum_valve", on=True)
    run.set_input("power", 1.0)
    run.advance(900.0)
    results = Results(run)
    boiler = results.series("pressure boiler")
    first = float(boiler.time_s[np.argmax(boiler.values > 1.1)])
    return {"false_pressure_water_degC": results.series("temperature boiler.upper").at(first)}
