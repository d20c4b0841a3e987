"""Two groups, one phase: what does a lost leg of the element do to the morning?

The bar opens at seven, the machine is switched on at half past six and is ready when the pressure switch
opens for the first time. One of the three legs is lost over night. At eight somebody wants tea: 20 s of hot
water.
"""

from collaudo.api import live


def main() -> None:
    """Warm up with three legs and with two."""
    print("legs   power, W   gauge at 0.5 bar, min   ready, min   recovery after the tea, min")
    for legs in (3, 2):
        bench = live("hx-two-group", site={"mains_V": 226, "room_degC": 16})
        if legs == 2:
            bench.put_in("element-leg-open", 1.0)
        bench.operate([{"power": "on"}, {"wait": "5 min"}])
        power_W = bench.read("heating_element_power_W")
        until_off = {"until": {"device": "pressure_switch", "does": "act", "at_most": "60 min"}}
        bench.operate(until_off)
        ready_s = bench.time_s
        half_s = bench.recording()["steam_gauge_shown_bar"].first_time(0.5)
        bench.operate([{"wait": "30 min"}, {"open": "water_tap"}, {"wait": "20 s"}, {"close": "water_tap"}])
        drawn_s = bench.time_s
        bench.operate(until_off)
        minutes = (half_s / 60.0, ready_s / 60.0, (bench.time_s - drawn_s) / 60.0)
        print(f"{legs:4} {power_W:10.0f} {minutes[0]:23.1f} {minutes[1]:12.1f} {minutes[2]:29.1f}")


if __name__ == "__main__":
    main()
