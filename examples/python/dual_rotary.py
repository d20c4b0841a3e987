"""Dual boiler, rotary pump: what does the coffee get when the display says 94?

A roaster asks for 93 degC at the coffee. The display sets the brew boiler; between it and the coffee stand
the group and the basket. The table says what to set.
"""

from collaudo.api import machine, run

SESSION = [
    *({"power": "on"}, {"wait": "40 min"}, {"fit": "puck"}),
    *(
        {"mark": "coffee"},
        {"brew": "on"},
        {"wait": "28 s"},
        {"mark": "end"},
        {"brew": "off"},
        {"wait": "1 s"},
    ),
]


def main() -> None:
    """One coffee at each of five set temperatures."""
    setting = machine("dual-rotary").settings["brew_temperature"]
    print(f"the setting goes from {setting.low:g} to {setting.high:g} {setting.unit}")
    print("set, degC   at the coffee, degC   in the cup, degC   cup, g")
    for set_degC in (90.0, 92.0, 94.0, 96.0, 98.0):
        result = run("dual-rotary", SESSION, settings={"brew_temperature": set_degC})
        begin_s, end_s = result.marks["coffee"], result.marks["end"]
        coffee_degC = result["brew_chamber_water_degC"].between(begin_s + 5.0, end_s).mean()
        cup_degC, cup_g = result["cup_water_degC"].at(end_s), result["cup_g"].at(end_s)
        print(f"{set_degC:9.0f} {coffee_degC:21.1f} {cup_degC:18.1f} {cup_g:8.0f}")


if __name__ == "__main__":
    main()
