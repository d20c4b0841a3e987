"""Heat exchanger, vibration pump: a worn pump still makes nine bar. What gives it away?

For the apprentice: the same pump is worn more and more while the machine runs. At the blind disc the gauge
hardly moves at first, but what the relief valve sends back to the tank in ten seconds does. A fault put in
here is for teaching, never a finding.
"""

from collaudo.api import live


def main() -> None:
    """Blind disc, ten seconds, with four pumps."""
    bench = live("hx-vibration")
    bench.operate([{"power": "on"}, {"wait": "2 min"}])
    cold = bench.save()
    print("wear     gauge, bar   returned in 10 s, g   free flow in 10 s, g")
    for wear in (None, 0.0, 0.2, 0.4, 0.8):
        bench.restore(cold)
        if wear is not None:
            bench.put_in("vibration-pump-worn", wear)
        bench.operate([{"fit": "nothing"}, {"brew": "on"}, {"wait": "5 s"}])
        before_g = bench.read("cup_g")
        bench.advance(10.0)
        free_g = bench.read("cup_g") - before_g
        bench.operate([{"brew": "off"}, {"wait": "5 s"}, {"fit": "blind"}, {"brew": "on"}, {"wait": "15 s"}])
        gauge_bar, flow_g_per_s = bench.read("brew_gauge_shown_bar"), bench.read("relief_valve_flow_g_per_s")
        said = "sound" if wear is None else f"{wear:.1f}"
        print(f"{said:5} {gauge_bar:13.1f} {10.0 * flow_g_per_s:21.0f} {free_g:22.0f}")


if __name__ == "__main__":
    main()
