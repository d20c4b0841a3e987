"""Heat exchanger, rotary pump: set on the tank, used on the line. What does the gauge show there?

The bypass of a rotary pump acts on the difference, so the pressure of the feed comes on top. The machine
was set to 8 bar on the tank and goes to a bar with its own line; the table says how far to turn the screw
back.
"""

from collaudo.api import run


def main() -> None:
    """Blind disc on the tank, then on lines of rising pressure."""
    reading = [{"fit": "blind"}, {"brew": "on"}, {"wait": "12 s"}]
    eight = {"brew_pressure": 8.0}
    tank = run("hx-rotary", [{"power": "on"}, {"wait": "3 min"}, *reading], settings=eight)
    tank_bar = tank["brew_gauge_shown_bar"].at(tank.duration_s)
    print("feed, bar   pump inlet, bar   brew gauge, bar   turn back by, bar")
    print(f"{'tank':>9} {tank['pump_in_bar'].at(tank.duration_s):17.2f} {tank_bar:17.1f}")
    for feed_bar in (1.0, 1.5, 2.0, 2.5, 3.0):
        session = [{"select": "line"}, {"power": "on"}, {"wait": "3 min"}, *reading]
        line = run("hx-rotary", session, site={"feed_bar": feed_bar}, settings=eight)
        inlet_bar, gauge_bar = (
            line[name].at(line.duration_s) for name in ("pump_in_bar", "brew_gauge_shown_bar")
        )
        print(f"{feed_bar:9.1f} {inlet_bar:17.2f} {gauge_bar:17.1f} {gauge_bar - tank_bar:19.1f}")


if __name__ == "__main__":
    main()
