"""What can be turned on a machine and where it can stand: every setting and site value with its range, its
step, how it is set on the bench and what can hurt there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from collaudo.bench.setting.effects import Prepared
from collaudo.checks.check import cautions
from collaudo.checks.files import library_file
from collaudo.errors import CatalogueError
from collaudo.machine.site import KEYS, home_site
from collaudo.machine.source import Problems, read_source, take_list, take_mapping, take_number, take_text
from collaudo.parts.mains import Mains


@dataclass(frozen=True)
class Turnable:
    """One setting or site value: at ``value`` as the machine came, from ``low`` to ``high``."""

    name: str
    title: str
    value: float
    unit: str
    low: float
    high: float
    step: float
    """One press of the key beside the slider."""
    how: str = ""
    note: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Words:
    how: str
    note: str
    hazards: tuple[str, ...]
    step: float


def turnable_settings(made: Prepared) -> list[Turnable]:
    """Every setting of the machine, in the order of its file."""
    found = []
    for name, setting in made.machine.settings.items():
        part = made.machine.model.part(setting.sets.partition(".")[0])
        words = _all_words().get(part.kind, _Words("", "", (), (setting.high - setting.low) / 50.0))
        told = tuple(cautions()[hazard] for hazard in words.hazards)
        found.append(
            Turnable(
                name,
                name.replace("_", " ").capitalize(),
                setting.value,
                setting.unit,
                setting.low,
                setting.high,
                words.step,
                words.how,
                words.note,
                told,
            )
        )
    return found


# Key of a site: title, unit, least and most of a slider, step; those of the mains in shares of what the plate
# names, for it may be a tenth off (IEC 60038); further off a fault is looked for. What can be at all: `KEYS`.
_SITE: Mapping[str, tuple[str, str, float, float, float]] = {
    "mains_V": ("Mains", "V", 0.9, 1.1, 1.0),
    "altitude_m": ("Altitude", "m", 0.0, 4000.0, 50.0),
    "room_degC": ("Room", "degC", 5.0, 40.0, 1.0),
    "feed_bar": ("Feed water pressure", "bar", 0.0, 6.0, 0.1),
    "feed_degC": ("Feed water", "degC", 4.0, 30.0, 1.0),
    "conductivity_uS_per_cm": ("Conductivity of the water", "uS_per_cm", 5.0, 1500.0, 5.0),
}
_SINCE: Mapping[str, str] = {
    "feed_bar": "water_line",
    "feed_degC": "water_line",
    "conductivity_uS_per_cm": "level_control",
}
"""Role without which a value changes nothing."""


def turnable_site(made: Prepared) -> list[Turnable]:
    """Every site value that changes what this machine shows, at first where such machines stand."""
    site = home_site(made.machine.model)
    plates = [part for part in made.machine.model.parts.values() if isinstance(part, Mains)]
    values = {
        "mains_V": site.mains_V,
        "altitude_m": 0.0,
        "room_degC": site.room_K - 273.15,
        "feed_bar": site.feed_Pa * 1e-5,
        "feed_degC": site.feed_K - 273.15,
        "conductivity_uS_per_cm": site.conductivity_uS_per_cm,
    }
    found = []
    for key, (title, unit, low, high, step) in _SITE.items():
        if (key == "mains_V" and not plates) or not _counts(key, made):
            continue
        scale = site.mains_V if key == "mains_V" else 1.0
        _, _, least, most = KEYS[key]
        ends = max(round(low * scale, 3), least), min(round(high * scale, 3), most)
        found.append(Turnable(key, title, round(values[key], 6), unit, *ends, step))
    return found


def _counts(key: str, made: Prepared) -> bool:
    """Whether a site value changes anything: a line that the inlet selector shuts off does not."""
    if key not in _SINCE:
        return True
    model, selector = made.machine.model, made.bound.get("inlet_selector")
    shut = key.startswith("feed_") and selector and float(model.value(f"{selector}.position_share")) < 0.5
    return _SINCE[key] in made.bound and not shut


@cache
def _all_words() -> dict[str, _Words]:
    name = "setting_words.yaml"
    root = read_source(library_file(name).read_bytes(), name=name, error=CatalogueError)
    problems = Problems()
    found = {}
    for kind, node in take_mapping(root, "the words", problems).items():
        given = take_mapping(node, kind, problems, required=("how", "note", "hazards", "step"))
        how, note = (take_text(given[key], f"{kind}.{key}", problems) or "" for key in ("how", "note"))
        entries = take_list(given["hazards"], f"{kind}.hazards", problems)
        hazards = tuple(take_text(x, kind, problems, known=cautions()) or "" for x in entries)
        found[kind] = _Words(how, note, hazards, take_number(given["step"], kind, problems) or 0.1)
    problems.raise_if_any(CatalogueError)
    return found
