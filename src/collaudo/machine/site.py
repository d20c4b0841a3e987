"""Where a machine stands: at home on the mains its plate names, and as session and findings files give it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from collaudo.errors import InputError, unknown_name
from collaudo.fluid.atmosphere import standard_pressure_Pa
from collaudo.machine.model import Machine
from collaudo.machine.source import Node, Problems, option_node, take_mapping, take_number
from collaudo.parts.circuit import Site
from collaudo.parts.mains import Mains
from collaudo.quantities.units import to_si

KEYS: dict[str, tuple[str, str, float, float]] = {
    # key: field of Site, unit, least, most
    "mains_V": ("mains_V", "V", 80.0, 460.0),
    "mains_Hz": ("mains_Hz", "Hz", 45.0, 65.0),
    "altitude_m": ("atmosphere_Pa", "m", -430.0, 5500.0),
    "room_degC": ("room_K", "degC", 2.0, 45.0),
    "feed_bar": ("feed_Pa", "bar", 0.0, 10.0),
    "feed_degC": ("feed_K", "degC", 1.0, 40.0),
    "conductivity_uS_per_cm": ("conductivity_uS_per_cm", "", 0.0, 5000.0),
}


def home_site(machine: Machine, given: Mapping[str, float] | None = None) -> Site:
    """Where a machine stands when nothing is said: on the mains its own plate names; ``given`` goes before.

    ``given`` holds fields of `Site` in SI, as `read_site` gives them.
    """
    plates = [part for part in machine.parts.values() if isinstance(part, Mains)]
    mains = {"mains_V": plates[0].rated_V, "mains_Hz": plates[0].rated_Hz} if plates else {}
    return replace(Site(), **{**mains, **(given or {})})


def read_site(node: Node, problems: Problems) -> dict[str, float]:
    """The fields of `collaudo.parts.circuit.Site` that a mapping gives, in SI."""
    found: dict[str, float] = {}
    for key, entry in take_mapping(node, "site", problems, allowed=KEYS).items():
        field, unit, low, high = KEYS[key]
        value = take_number(entry, f"site.{key}", problems)
        if value is None:
            continue
        if not low <= value <= high:
            problems.add(f"site.{key} is {value:g}", entry, f"it can be {low:g} to {high:g}")
            continue
        in_si = to_si(value, unit) if unit else value
        found[field] = standard_pressure_Pa(value) if key == "altitude_m" else in_si
    return found


def site_from(given: Mapping[str, str], built: Machine) -> Site:
    """Where ``built`` stands with options ``{"altitude_m": "900"}``; `InputError` where these cannot be."""
    problems = Problems()
    nodes = {}
    for key, text in given.items():
        if key not in KEYS:
            raise unknown_name("key of a site", key[:60], KEYS)
        nodes[key] = option_node("--site", key, text)
    fields = read_site(Node(nodes, 0, "--site"), problems)
    problems.raise_if_any(InputError)
    return home_site(built, fields)
