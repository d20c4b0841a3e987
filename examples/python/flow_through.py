"""Flow-through heater: how cold are the first 60 ml, and does a flush help?

The machine says it is ready after a minute. The owner finds the first coffee lukewarm and the second one
right. The same long coffee is made 90 s after switching on, with and without 60 ml drawn through the empty
group before it, and after ten minutes.
"""

from collaudo.api import run

FLUSH = [{"brew": "on"}, {"wait": "6 s"}, {"brew": "off"}, {"wait": "20 s"}]
COFFEE = [{"fit": "puck"}, {"mark": "coffee"}, {"brew": "on"}, {"wait": "60 s"}, {"brew": "off"}]


def main() -> None:
    """Water at the coffee by what has run into the cup."""
    cold = run("flow-through", [{"power": "on"}, {"wait": "90 s"}, *COFFEE])
    flushed = run("flow-through", [{"power": "on"}, {"wait": "64 s"}, *FLUSH, *COFFEE])
    waited = run("flow-through", [{"power": "on"}, {"wait": "10 min"}, *COFFEE])
    print("in the cup, g   at once, degC   after a flush, degC   after 10 min, degC")
    for grams in (5.0, 10.0, 20.0, 30.0, 45.0, 60.0):
        row = []
        for result in (cold, flushed, waited):
            begin_s = result.marks["coffee"]
            empty_g = result["cup_g"].at(begin_s)
            time_s = result["cup_g"].first_time(empty_g + grams, since_s=begin_s)
            row.append(result["brew_chamber_water_degC"].at(time_s))
        print(f"{grams:13.0f} {row[0]:15.1f} {row[1]:21.1f} {row[2]:20.1f}")


if __name__ == "__main__":
    main()
