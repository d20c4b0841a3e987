"""Single boiler: how long from coffee to steam, and how much water brings it back?

A café corner makes one drink at a time. The barista pours the coffee first and wants to know how long the
guest waits for the milk, and how much to draw afterwards so that the next coffee is not scalded. Cup under
the steam tap, hands away: what comes out first is steam.
"""

from collaudo.api import live


def main() -> None:
    """Time the way to steam, then draw water until the boiler is fit for coffee again."""
    bench = live("single-boiler", site={"mains_V": 228})
    bench.operate([{"power": "on"}, {"wait": "20 min"}])
    begin_s = bench.time_s
    bench.operate({"steam": "on"})
    bench.operate({"until": {"device": "steam_thermostat", "does": "act", "at_most": "10 min"}})
    print(f"steam after {bench.time_s - begin_s:.0f} s, shell at {bench.read('brew_boiler_degC'):.0f} degC")
    before_g = bench.read("tank_g")
    bench.operate([{"steam": "off"}, {"open": "steam_tap"}, {"water": "on"}])
    print("drawn, g   water, degC")
    while (water_degC := bench.read("brew_boiler_upper_water_degC")) > 98.0:
        bench.advance(3.0)
        print(f"{before_g - bench.read('tank_g'):8.0f} {bench.read('brew_boiler_upper_water_degC'):12.0f}")
    bench.operate([{"water": "off"}, {"close": "steam_tap"}])
    print(f"ready for coffee below {water_degC:.0f} degC")


if __name__ == "__main__":
    main()
