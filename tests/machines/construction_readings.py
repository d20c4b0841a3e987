"""What a technician would read on a sound machine of each construction, taken once and shared by the tests.

Everything is done through the operations any machine knows (`brew: on`), so that one course fits all.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from collaudo.twin.results import Results
from tests.machines.construction_bench import Bench, WARM_s, amount, bench, do, first_time, value

FILLS = 2.0
"""Phase of a level control that runs pump and valve."""
STEAM_J_PER_KG = 2.70e6
"""Saturated steam at 1.2 bar above the room, 2.70e6 J/kg (IAPWS-IF97), liquid at 0 degC as zero."""
MILK_J_PER_ML = 1.03 * 3.93
"""Density and specific heat of milk (common practice, no source); to be heated from 5 to 65 degC."""
Readings = dict[str, float]


@cache
def readings(machine_id: str) -> Readings:
    """Every reading of every section that fits the machine, in the trade's units."""
    return readings_of(bench(machine_id))


def readings_of(place: Bench) -> Readings:
    """Every reading that fits a machine that stands warm on the bench."""
    out: Readings = {}
    for section in SECTIONS:
        place.branch()
        out.update(section(place))
    place.branch()
    return out


def _warm_up(b: Bench) -> Readings:
    run = b.run
    group = Results(run).series(f"temperature {b.group}")
    last = group.time_s > WARM_s - 900.0
    end = float(np.trapezoid(group.values[last], group.time_s[last]) / np.ptp(group.time_s[last]))
    settled = float(group.time_s[np.argmax(group.values > end - 2.0)])
    out = {"group_degC": end, "group_settled_min": settled / 60.0}
    if b.heat_control:
        out["ready_min"] = first_time(run, b.heat_control, True) / 60.0
    if b.has("relief_valve"):
        out["expansion_g"] = amount(run, f"flow {b.role['relief_valve']}", 0.0, WARM_s)
    if b.has("brew_boiler") or b.has("flow_through_heater"):
        out.update(_brew_side(b))
    if b.has("boiler"):
        out.update(_steam_side(b))
    return out


def _brew_side(b: Bench) -> Readings:
    vessel = b.brew_vessel
    place = f"{vessel}.upper" if b.has("brew_boiler") else vessel
    hot = Results(b.run).series(f"temperature {place}")
    late = hot.between(WARM_s - 1200.0, WARM_s)
    reached = float(hot.time_s[np.argmax(hot.values > late.mean() - 1.0)])
    return {
        "brew_reached_min": reached / 60.0,
        "brew_vessel_degC": float(late.mean()),
        "brew_swing_K": float(np.ptp(late)),
        "brew_over_K": float(hot.values.max() - late.mean()),
    }


def _steam_side(b: Bench) -> Readings:
    results, boiler = Results(b.run), b.role["boiler"]
    late = results.series(f"pressure {boiler}").between(WARM_s - 1200.0, WARM_s)
    hot = results.series(f"temperature {boiler}.upper")
    bar = results.series(f"pressure {boiler}")
    out = {
        "steam_bar": 0.5 * float(late.max() + late.min()),
        "steam_swing_bar": float(np.ptp(late)),
        "saturated_off_K": float(hot.values[-1]) - boiling_degC(float(bar.values[-1])),
        "steam_reached_min": float(bar.time_s[np.argmax(bar.values > late.min())]) / 60.0,
    }
    if b.has("vacuum_valve"):
        closes = first_time(b.run, b.role["vacuum_valve"], True)
        out["vacuum_valve_closes_degC"] = hot.at(closes)
        out["vacuum_valve_g"] = amount(b.run, f"flow {b.role['vacuum_valve']}", 0.0, WARM_s)
    return out


def boiling_degC(above_room_bar: float) -> float:
    """Boiling point at a pressure above the room at sea level: straight lines through the trade's row, 117,
    120, 123, 127.5, 133.5 degC at 0.8, 1.0, 1.2, 1.5, 2.0 bar (common practice, no source)."""
    return float(np.interp(above_room_bar, (0.8, 1.0, 1.2, 1.5, 2.0), (117.0, 120.0, 123.0, 127.5, 133.5)))


def _free_flow(b: Bench) -> Readings:
    if not b.has("check_valve"):
        return {}
    run, start = b.run, b.run.time_s
    do(run, "fit: nothing; brew: on; wait: 30 s")
    cup = Results(run).series(f"mass {b.role['cup']}")
    out = {
        "free_flow_g_in_10_s": cup.at(start + 30.0) - cup.at(start + 20.0),
        "free_flow_bar": Results(run).series(b.brew_bar).at(start + 29.0),
    }
    water = Results(run).series(f"temperature {b.chamber}")
    hiss = (water.time_s > start + 1.0) & (water.values > 99.0)
    ends = float(water.time_s[hiss].max()) if hiss.any() else start
    cool = (water.time_s > max(ends, start + 1.0)) & (water.values < 96.0)
    out["hiss_ml"] = cup.at(ends) - cup.at(start)
    out["flush_ml"] = cup.at(float(water.time_s[cool].min())) - cup.at(start) if cool.any() else 999.0
    if b.has("flow_meter"):
        meter = b.role["flow_meter"]
        counted = Results(run).series(f"metered {meter}")
        ml = counted.at(start + 30.0) - counted.at(start + 20.0)
        out["pulses_per_ml"] = b.machine.parts[meter].pulses(ml) / out["free_flow_g_in_10_s"]  # type: ignore[attr-defined]
    return out


def _blind(b: Bench) -> Readings:
    if not b.has("check_valve"):
        return {}
    run = b.run
    do(run, "fit: blind; brew: on; wait: 10 s")
    start, tray = run.time_s, value(run, f"mass {b.role['tray']}")
    gauge = value(run, b.brew_bar)
    do(run, "wait: 10 s")
    returned = amount(run, f"flow {b.role['relief_valve']}", start, run.time_s)
    to_tray = 0.0 if b.machine.parts.get("tank") else returned
    out = {
        "blind_bar": gauge,
        "relief_return_g_in_10_s": returned,
        "exhaust_at_blind_g_in_10_s": value(run, f"mass {b.role['tray']}") - tray - to_tray,
    }
    do(run, "brew: off; wait: 5 s")
    out["blind_let_go_bar"] = value(run, f"pressure {b.role['brew_chamber']}")
    return out


def _shot(b: Bench) -> Readings:
    run = b.run
    if b.has("check_valve"):
        do(run, "fit: nothing; brew: on; wait: 5 s; brew: off; wait: 40 s")
    do(run, "fit: puck; wait: 1 s")
    start, cup = run.time_s, value(run, f"mass {b.role['cup']}")
    tray = value(run, f"mass {b.role['tray']}") if b.has("tray") else 0.0
    before = run.save()
    do(run, "brew: on; wait: 28 s")
    poured = Results(run).series(f"mass {b.role['cup']}")
    wet = poured.time_s[(poured.time_s > start) & (poured.values > cup + 0.3)]
    water = Results(run).series(f"temperature {b.chamber}")
    out = {
        "shot_g": float(poured.values[-1]) - cup,
        "first_drops_s": float(wet.min()) - start if wet.size else 999.0,
        "shot_bar": value(run, b.brew_bar),
        "puck_flow_g_per_s": value(run, f"flow {b.role['portafilter']}"),
        "brew_water_degC": float(water.between(start + 12.0, start + 28.0).mean()),
    }
    do(run, "brew: off; wait: 20 s")
    if b.has("tray"):
        out["exhaust_g"] = value(run, f"mass {b.role['tray']}") - tray
    run.restore(before)
    return out


def _needle(b: Bench) -> Readings:
    if not b.has("check_valve"):
        return {}
    run, start = b.run, b.run.time_s
    do(run, "fit: needle; brew: on; wait: 25 s")
    water = Results(run).series(f"temperature {b.chamber}")
    return {
        "needle_g_per_s": value(run, f"flow {b.role['portafilter']}"),
        "needle_bar": value(run, f"pressure {b.role['brew_chamber']}"),
        "needle_degC": float(water.between(start + 15.0, start + 25.0).mean()),
    }


def _steam(b: Bench) -> Readings:
    if not b.has("steam_tap"):
        return {}
    run, tap, milk_ml = b.run, b.role["steam_tap"], 300.0
    vessel, settings = b.role.get("boiler", b.brew_vessel), run.assembly.names.inputs
    if "steam" in settings:
        milk_ml = 150.0
        do(run, "steam: on; wait: 240 s")
    elif b.has("pressure_switch"):
        do(run, f"until: {{device: {b.role['pressure_switch']}, does: act, at_most: 900 s}}; wait: 1 s")
    start, before = run.time_s, value(run, f"pressure {vessel}")
    do(run, f"open: {tap}; wait: 120 s")
    flow = Results(run).series(f"flow {tap}")
    taken = flow.time_s >= start
    t, rate = flow.time_s[taken], flow.values[taken] * Results(run).series(f"steam {tap}").values[taken]
    needed_g = milk_ml * MILK_J_PER_ML * 60.0 / (STEAM_J_PER_KG - 4190.0 * 65.0) * 1e3
    gone = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(t))])
    out = {"milk_s": 999.0, "steam_before_bar": before}
    if gone[-1] < needed_g:
        return out
    enough = float(np.interp(needed_g, gone, t)) - start
    bar = Results(run).series(f"pressure {vessel}")
    out |= {
        "milk_s": enough,
        "steam_g_per_s": needed_g / enough,
        "milk_drop_bar": before - bar.at(start + enough),
    }
    return out | _recovery(b, enough, before)


def _recovery(b: Bench, seconds_s: float, before_bar: float) -> Readings:
    """The same jug again from the warm moment, tap shut when hot: seconds until the pressure is back."""
    if not b.has("boiler"):
        return {}
    run, boiler = b.branch(), b.role["boiler"]
    if b.has("pressure_switch"):
        do(run, f"until: {{device: {b.role['pressure_switch']}, does: act, at_most: 900 s}}; wait: 1 s")
    do(run, f"open: steam_tap; wait: {seconds_s:g} s; close: steam_tap")
    shut = run.time_s
    do(run, "wait: 200 s")
    bar = Results(run).series(f"pressure {boiler}")
    back = bar.time_s[(bar.time_s > shut) & (bar.values > before_bar - 0.03)]
    return {"milk_recovery_s": float(back.min()) - shut if back.size else 999.0}


def _fill(b: Bench) -> Readings:
    """A little hot water again and again, or steam where there is no water tap, until the board fills; how
    much one call brings."""
    if not b.has("level_control"):
        return {}
    run, probe, boiler = b.run, b.role["level_control"], b.role["boiler"]
    draw = "open: water_tap; wait: 1 s; close: water_tap; wait: 8 s"
    if not b.has("water_tap"):
        draw = "open: steam_tap; wait: 8 s; close: steam_tap; wait: 8 s"
    while not (
        calls := [t for t, name, phase in run.events if name == probe and phase == FILLS and t > WARM_s]
    ):
        if run.time_s > WARM_s + 1800.0:
            return {"fill_ml": 0.0}
        do(run, draw)
    least = float(Results(run).series(f"level {boiler}").values[-1])
    do(run, "wait: 120 s")
    done = first_time(run, probe, False, calls[0])
    return {
        "fill_ml": amount(run, f"flow {b.role['fill_valve']}", calls[0] - 0.01, done + 1.0),
        "fill_s": done - calls[0],
        "fill_level_before": least,
        "fill_level_after": value(run, f"level {boiler}"),
    }


def _cool(b: Bench) -> Readings:
    run, start, vessel = b.run, b.run.time_s, b.role.get("boiler", b.brew_vessel)
    do(run, "power: off; wait: 7200 s")
    return {
        "vessel_after_2_h_degC": value(run, f"temperature {_place(b, vessel)}"),
        "least_bar": float(Results(run).series(f"pressure {vessel}").between(start, run.time_s).min()),
    }


def _place(b: Bench, vessel: str) -> str:
    return f"{vessel}.upper" if f"{vessel}.upper" in b.run.assembly.names.cells else vessel


def _spring(b: Bench) -> Readings:
    """Shots of a spring lever two minutes apart, the lever let go and left until it no longer pours."""
    if "spring_piston_group" not in {part.kind for part in b.machine.parts.values()}:
        return {}
    run, water = b.run, f"temperature {b.chamber}"
    out: Readings = {}
    do(run, "fit: puck")
    for shot in range(1, 7):
        start, cup = run.time_s, value(run, f"mass {b.role['cup']}")
        do(run, "brew: on; wait: 60 s")
        pressure = Results(run).series(b.brew_bar)
        poured = Results(run).series(f"mass {b.role['cup']}")
        if shot == 1:
            let_go = start + 8.5
            ends = float(poured.time_s[np.argmax(poured.values > poured.values[-1] - 3.0)])
            out |= {"spring_top_bar": float(pressure.between(let_go, run.time_s).max())}
            out |= {"spring_end_bar": pressure.at(ends), "spring_cup_g": float(poured.values[-1]) - cup}
        hot = Results(run).series(water).between(start + 10.0, start + 28.0)
        out[f"shot_{shot}_degC"] = float(hot.mean())
        do(run, "brew: off; wait: 60 s")
    return out


def _first_cup(b: Bench) -> Readings:
    """How much colder than later the first 45 ml leave a flow-through heater two minutes after it was
    switched on cold."""
    if not b.has("flow_through_heater"):
        return {}
    run = b.run
    run.restore(b.cold)
    do(run, "power: on; wait: 120 s")
    start = run.time_s
    do(run, "fit: needle; brew: on; wait: 90 s")
    cup = Results(run).series(f"mass {b.role['cup']}")
    poured = cup.values - cup.at(start)
    wet, early = (float(cup.time_s[np.argmax(poured > grams)]) for grams in (0.5, 45.0))
    water = Results(run).series(f"temperature {b.chamber}")
    later = float(water.between(run.time_s - 20.0, run.time_s).mean())
    return {"first_cup_cold_K": later - float(water.between(wet, early).mean()), "later_degC": later}


SECTIONS: tuple[Callable[[Bench], Readings], ...] = (
    _warm_up,
    _free_flow,
    _blind,
    _shot,
    _needle,
    _steam,
    _fill,
    _cool,
    _spring,
    _first_cup,
)
