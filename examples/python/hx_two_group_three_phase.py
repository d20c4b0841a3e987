"""Two groups, three phases in star: what does the clamp show when a leg is lost?

Slow in the rush, nothing trips, the lamp burns. Clamped round each conductor of the cord, three equal
currents mean a sound element; one conductor without, and as much in the neutral, a lost leg. Work on three
phases (400 V between them) is for those who are licensed for it; wires are moved with the machine isolated
and proved dead.
"""

from collaudo.api import current


def main() -> None:
    """Currents in the cord, sound and with each leg's wire off the contactor."""
    print("wire off   L1, A   L2, A   L3, A   N, A   element, W")
    for wire in ("none", "contactor.b1", "contactor.b2", "contactor.b3"):
        lifted = [] if wire == "none" else [wire]
        answer = current(
            "hx-two-group-three-phase",
            condition={"power": 1, "pressure_switch": "closed"},
            lifted=lifted,
            clamp=["cord"],
        )
        amps = {item.between[0].split("_in")[0].removeprefix("cord "): item.value for item in answer.measured}
        element_W = sum(x.volts_V * x.amps_A for x in answer.loads if x.load.startswith("heating_element"))
        row = " ".join(f"{amps[name] or 0.0:7.1f}" for name in ("live", "live_2", "live_3"))
        print(f"{wire.removeprefix('contactor.'):8} {row} {amps['neutral'] or 0.0:6.1f} {element_W:12.0f}")


if __name__ == "__main__":
    main()
