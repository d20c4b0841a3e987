"""Everything that may be written on a findings sheet of a machine, held in memory while its file stays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from collaudo.bench.findings.words import complaint_in_words
from collaudo.bench.machines.shelf import Shelf
from collaudo.bench.naming import part_in_words
from collaudo.causes.cause import history_words
from collaudo.causes.draws import known_name, spreads_of
from collaudo.checks.check import Reading
from collaudo.checks.course import Course, MachineCheck, course_for
from collaudo.checks.files import COMPLAINT
from collaudo.diagnosis.building import reading_info
from collaudo.diagnosis.cache import key_of, machine_bytes
from collaudo.diagnosis.findings_file import Vocabulary
from collaudo.machine.load import find_machine
from collaudo.machine.model import Machine
from collaudo.machine.site import KEYS, home_site
from collaudo.parts.circuit import Site
from collaudo.parts.part import declared_fields
from collaudo.quantities.units import from_si, split_suffix

MACHINES_HELD = 8
NOT_WORKED_ON = ("receiver", "mains", "water_line", "brew_chamber")
"""Kinds of parts that are where something comes from or goes to, and nothing a hand mends."""


@dataclass(frozen=True)
class Word:
    """A word that may be chosen, and as it is read."""

    word: str
    text: str


@dataclass(frozen=True)
class Sayable:
    """A number that may be said of the site, the settings or the machine, in the unit its key ends in."""

    key: str
    title: str
    unit: str
    low: float
    high: float
    default: float
    """What counts while nothing is said."""


@dataclass(frozen=True, eq=False)
class MachineWords:
    """One machine as findings sheets need it."""

    id: str
    place: str
    """The library's id or the place of the file."""
    key: str
    """Of its signatures."""
    title: str
    vocabulary: Vocabulary
    parts: Mapping[str, str]
    complaints: Mapping[str, str]
    history: Mapping[str, str]
    site: Mapping[str, Sayable]
    settings: Mapping[str, Sayable]
    known: Mapping[str, Sayable]
    worked_on: tuple[str, ...]
    """Parts that can be cleaned, replaced or set."""
    checks: Mapping[str, MachineCheck]
    """Those that can be made, not the questions of the first minute."""
    readings: Mapping[str, Reading]
    """By ``check.reading``."""


def words_for(shelf: Shelf, machine: str) -> MachineWords:
    """The words of a machine of the shelf; read again when its file, or one it is like, has changed.

    `UnknownNameError` where there is no such machine, `MachineFileError` where its file cannot be used.
    """
    place = shelf.place_of(machine)
    return _words_for(machine, place, machine_bytes(place))


@lru_cache(maxsize=MACHINES_HELD)
def _words_for(machine: str, place: str, _contents: bytes) -> MachineWords:
    model = find_machine(place)
    course = course_for(model)
    readings = {reading.id: reading for reading in course.readings}
    named = tuple(known_name(one.target, model) for one in spreads_of(model, course.bound) if one.known)
    vocabulary = Vocabulary(
        readings={name: reading_info(reading) for name, reading in readings.items()},
        known_names=named,
        parts=tuple(model.parts),
        history_words=tuple(history_words()),
    )
    return MachineWords(
        id=machine,
        place=place,
        key=key_of(place),
        title=model.title,
        vocabulary=vocabulary,
        parts={name: part_in_words(name) for name in model.parts},
        complaints={one.name: complaint_in_words(one.name) for one in readings[COMPLAINT].outcomes},
        history=history_words(),
        site=_site(model),
        settings=_settings(model, named),
        known=_known(model, named),
        worked_on=tuple(name for name, part in model.parts.items() if part.kind not in NOT_WORKED_ON),
        checks=_checks(course),
        readings=readings,
    )


def _checks(course: Course) -> dict[str, MachineCheck]:
    return {item.check.id: item for item in course.checks if item.readings and not item.check.asked}


SITE_TITLES = {
    "mains_V": "mains voltage",
    "mains_Hz": "mains frequency",
    "altitude_m": "altitude",
    "room_degC": "room",
    "feed_bar": "pressure of the feed water",
    "feed_degC": "feed water",
    "conductivity_uS_per_cm": "conductivity of the water",
}


def _site(model: Machine) -> dict[str, Sayable]:
    home = home_site(model)
    return {
        key: Sayable(key, SITE_TITLES[key], split_suffix(key)[1], low, high, _site_default(key, home))
        for key, (_, _, low, high) in KEYS.items()
    }


def _site_default(key: str, home: Site) -> float:
    field, unit, _, _ = KEYS[key]
    value = float(getattr(home, field))
    if key == "altitude_m":
        # International Standard Atmosphere below 11 km, ISO 2533: p = p0 (1 - h / 44,330.77 m)^5.25588.
        return float(round(44_330.77 * (1.0 - (value / 101_325.0) ** (1.0 / 5.25588))))
    return round(from_si(value, unit), 6) if unit else value


def _settings(model: Machine, named: tuple[str, ...]) -> dict[str, Sayable]:
    found = {}
    for name, setting in model.settings.items():
        unit = split_suffix(setting.sets)[1]
        key = f"{name}_{unit}"
        if f"setting.{key}" in named:
            title, value = name.replace("_", " "), float(model.value(setting.sets))
            found[key] = Sayable(key, title, unit, setting.low, setting.high, value)
    return found


def _known(model: Machine, named: tuple[str, ...]) -> dict[str, Sayable]:
    found = {}
    for key in named:
        part, _, name = key.partition(".")
        if part in model.parts:
            declared = declared_fields(type(model.parts[part]))[name]
            stem, unit = split_suffix(name)
            title = f"{part_in_words(part)}, {stem.replace('_', ' ')}"
            value = float(model.value(key))
            found[key] = Sayable(key, title, unit, float(declared["low"]), float(declared["high"]), value)
    return found
