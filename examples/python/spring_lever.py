"""Spring lever: what does the spring press, and when is the group hot enough?

The customer says that the first coffees of the day are sour. The twin pulls four coffees, three minutes
apart: pressure follows the spring and is the same each time, the water is not.
"""

from collaudo.api import run


def main() -> None:
    """Four coffees on a machine that has stood hot for half an hour."""
    session: list[dict[str, str]] = [{"power": "on"}, {"wait": "30 min"}]
    for number in range(1, 5):
        session += [{"fit": "puck"}, {"mark": f"pull {number}"}, {"brew": "on"}, {"wait": "45 s"}]
        session += [{"fit": "nothing"}, {"wait": "127 s"}]
    result = run("spring-lever", session)
    print("coffee   bar at 10 s   at 20 s   at 40 s   water at 20 s, degC   group, degC")
    for number in range(1, 5):
        # The lever is held for 8 s, then let go: times are from the pull.
        pull_s = result.marks[f"pull {number}"]
        bars = [result["screen_in_bar"].at(pull_s + after_s) for after_s in (10.0, 20.0, 40.0)]
        water_degC = result["group_water_degC"].at(pull_s + 20.0)
        group_degC = result["group_degC"].at(pull_s)
        print(
            f"{number:6} {bars[0]:13.1f} {bars[1]:9.1f} {bars[2]:9.1f} {water_degC:21.0f} {group_degC:13.0f}"
        )


if __name__ == "__main__":
    main()
