"""Dual boiler, vibration pump: the display is ready, is the group?

The brew boiler is at its temperature after a few minutes, the group long after it. The office wants to know
when the timer has to switch on for coffee at eight o'clock.
"""

from collaudo.api import live


def main() -> None:
    """Branch one coffee off the same warm-up every few minutes."""
    bench = live("dual-vibration", site={"room_degC": 18})
    bench.operate({"power": "on"})
    print("after, min   boiler, degC   group, degC   at the coffee, degC")
    for minutes in (6, 10, 15, 20, 30, 40):
        bench.advance(60.0 * minutes - bench.time_s)
        boiler_degC, group_degC = bench.read("brew_boiler_upper_water_degC"), bench.read("group_degC")
        before = bench.save()
        bench.operate([{"fit": "puck"}, {"brew": "on"}, {"wait": "20 s"}])
        coffee_degC = bench.read("brew_chamber_water_degC")
        bench.restore(before)
        print(f"{minutes:10} {boiler_degC:14.1f} {group_degC:13.1f} {coffee_degC:21.1f}")


if __name__ == "__main__":
    main()
