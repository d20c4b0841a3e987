"""What a portrait shows, in words."""

from __future__ import annotations

from collections import Counter

from collaudo.drawing.portrait.features import Features, Group, Heated

TIED = "\N{NO-BREAK SPACE}"
"""Between a number and its unit."""
COUNTS = ("no", "one", "two", "three", "four", "five", "six")
PUMPS = {"vibration": "vibration pump", "rotary": "rotary pump"}
WORKED = {
    "lever": "lever group",
    "spring lever": "spring-lever group",
    "keys": "group with keys",
    "switch": "group with a switch",
}


def told(features: Features) -> list[str]:
    """What the machine has, a few words each: ``one lever group, kept hot by circulation``."""
    groups = Counter(_group(group) for group in features.groups)
    words = [_counted(count, *text) for text, count in groups.items()]
    words += [_heated(one, features) for one in features.heated]
    words += [PUMPS[pump] for pump in dict.fromkeys(features.pumps)]
    if water := [
        word for word, there in (("tank", features.tank), ("water line", features.water_line)) if there
    ]:
        words.append(" or ".join(water))
    if features.volts_V:
        words.append(
            f"{features.volts_V:g}{TIED}V, {'three phases' if features.phases == 3 else 'one phase'}"
        )
    return words


def _counted(count: int, name: str, more: str) -> str:
    named = name if count == 1 else name.replace("group", "groups", 1)
    number = COUNTS[count] if count < len(COUNTS) else str(count)
    return f"{number} {named}{more}"


def _group(group: Group) -> tuple[str, str]:
    ways = {"circulated": ", kept hot by circulation", "bolted": ", bolted on", "spring": "", "hung": ""}
    heat = ", with heat of its own" if group.own_heat else ""
    return WORKED[group.worked], ways[group.way] + heat


def _heated(one: Heated, features: Features) -> str:
    if one.way == "block":
        return "flow-through heater"
    size = f"{one.volume_l:g}{TIED}l"
    tubes = len(one.tubes) + one.loose_tubes
    if one.way == "steam":
        through = {0: "", 1: " with an exchanger tube"}.get(
            tubes, f" with {COUNTS[tubes] if tubes < 7 else tubes} exchanger tubes"
        )
        legs = f", element of {COUNTS[one.legs]} legs" if 1 < one.legs < len(COUNTS) else ""
        return f"steam boiler of {size}{through}{legs}"
    alone = len(features.heated) == 1 and features.steam_taps
    return f"one boiler of {size} for brewing and steam" if alone else f"brew boiler of {size}"
