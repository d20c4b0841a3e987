"""120 V: the house has 108 V in the evening. What does the machine lose?

Power goes with the square of the voltage, a vibration pump loses flow. The owner complains of slow
evenings; before any part is blamed, the mains are measured with the machine heating.
"""

from collaudo.api import live


def main() -> None:
    """The same evening on three mains."""
    print("mains, V   element, W   ready, min   free flow, g/s   blind disc, bar")
    for mains_V in (120.0, 114.0, 108.0):
        bench = live("hx-vibration-120v", site={"mains_V": mains_V})
        bench.operate([{"power": "on"}, {"wait": "3 min"}])
        power_W = bench.read("heating_element_power_W")
        bench.operate({"until": {"device": "pressure_switch", "does": "act", "at_most": "60 min"}})
        ready_min = bench.time_s / 60.0
        bench.operate([{"brew": "on"}, {"wait": "10 s"}])
        flow_g_per_s = bench.read("portafilter_flow_g_per_s")
        bench.operate([{"brew": "off"}, {"wait": "10 s"}, {"fit": "blind"}, {"brew": "on"}, {"wait": "10 s"}])
        blind_bar = bench.read("brew_gauge_shown_bar")
        print(f"{mains_V:8.0f} {power_W:12.0f} {ready_min:12.1f} {flow_g_per_s:16.1f} {blind_bar:17.1f}")


if __name__ == "__main__":
    main()
