"""Portraits: what a machine has is what its picture shows."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from collaudo.bench.machines.portraits import portrait_of
from collaudo.drawing.portrait.features import Features, Group, Heated, features_of
from collaudo.drawing.portrait.front import drawn, portrait
from collaudo.machine.load import find_machine, library_ids, read_machine

SVG = "{http://www.w3.org/2000/svg}"


def shown(machine_id: str) -> str:
    return " / ".join(portrait_of(machine_id).has).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("machine_id", library_ids())
def test_a_portrait_is_a_picture_with_a_title_and_words(machine_id: str) -> None:
    found = portrait_of(machine_id)
    root = ElementTree.fromstring(found.svg)
    assert root.tag == f"{SVG}svg"
    assert root.findtext(f"{SVG}title") == find_machine(machine_id).title
    assert root.findtext(f"{SVG}desc") == "; ".join(found.has)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    assert 150 <= width <= 240
    assert height == 160


def test_no_two_machines_of_the_library_look_alike() -> None:
    pictures = {
        machine_id: portrait_of(machine_id).svg.partition("<style>")[2] for machine_id in library_ids()
    }
    alike = [pair for pair in itertools.combinations(pictures, 2) if pictures[pair[0]] == pictures[pair[1]]]
    assert alike == []


@pytest.mark.parametrize(
    ("machine_id", "words"),
    [
        ("hx-vibration", ["one lever group", "exchanger tube", "vibration pump", "tank", "230 V, one phase"]),
        ("hx-vibration-120v", ["120 V, one phase"]),
        ("hx-rotary", ["rotary pump", "tank or water line"]),
        ("hx-two-group", ["two groups with keys", "two exchanger tubes", "element of three legs"]),
        ("hx-two-group-three-phase", ["three phases"]),
        ("dual-rotary", ["brew boiler of 0.8 l", "steam boiler of 1.4 l", "water line"]),
        ("dual-vibration", ["with heat of its own"]),
        ("single-boiler", ["one boiler of 0.3 l for brewing and steam"]),
        ("spring-lever", ["one spring-lever group"]),
        ("flow-through", ["flow-through heater"]),
    ],
)
def test_the_words_say_what_the_machine_is_built_of(machine_id: str, words: list[str]) -> None:
    for word in words:
        assert word in shown(machine_id)


def test_a_part_taken_out_is_gone_from_the_picture() -> None:
    like = "machine: other\ntitle: Other\nlike: hx-vibration\nparts: {"
    whole = find_machine("hx-vibration")
    fewer = read_machine(f"{like}water_tap: none}}\n")
    assert features_of(whole).water_taps == 1
    assert features_of(fewer).water_taps == 0
    assert "M0 0V12" in portrait(whole)
    assert "M0 0V12" not in portrait(fewer)


def test_a_larger_boiler_is_drawn_larger() -> None:
    small, large = (
        find_machine("hx-vibration"),
        find_machine("hx-vibration").with_fields({"boiler.volume_l": 6}),
    )
    widths = []
    for machine in (small, large):
        root = ElementTree.fromstring(portrait(machine))
        widths.append(
            max(float(one.get("width", 0)) for one in root.iter(f"{SVG}rect") if one.get("class") == "paper")
        )
    assert widths[1] > widths[0] + 10


def boxes(svg: str) -> list[tuple[float, float]]:
    """Left and right ends of everything placed or boxed, and of the picture itself as the first."""
    root = ElementTree.fromstring(svg)
    found = [(0.0, float(root.attrib["viewBox"].split()[2]))]
    for one in root.iter(f"{SVG}g"):
        x = float(re.findall(r"[-0-9.]+", one.attrib["transform"])[0])
        found.append((x, x))
    for one in root.findall(f"{SVG}rect"):
        x = float(one.get("x", 0))
        found.append((x, x + float(one.get("width", 0))))
    return found


BREW, STEAM = Heated("a", "brew", 0.8, 1.0, 1, (), 0), Heated("b", "steam", 30.0, 0.6, 3, (), 0)
LONE = Features((), (), (), tank=False, water_line=False, steam_taps=0, water_taps=0, volts_V=0.0, phases=1)


@pytest.mark.parametrize("groups", range(6))
@pytest.mark.parametrize("way", ["circulated", "bolted", "hung", "spring"])
@pytest.mark.parametrize("heated", [(), (BREW,), (BREW, STEAM), (BREW, replace(BREW, name="c"), STEAM)])
def test_whatever_a_machine_has_is_drawn_within_the_picture(
    groups: int, way: str, heated: tuple[Heated, ...]
) -> None:
    worked = "spring lever" if way == "spring" else "keys"
    made = tuple(Group(f"g{n}", way, worked, heated[0].name if heated else "", False) for n in range(groups))
    svg = drawn(replace(LONE, groups=made, heated=heated, pumps=("rotary",), steam_taps=2, water_taps=1), "x")
    whole, *inside = boxes(svg)
    assert len(inside) >= groups
    for left, right in inside:
        assert whole[0] <= left <= right <= whole[1]
    places = re.findall(r"translate\(([-0-9.]+) 112\)", svg)  # the portafilters
    assert len(places) == len(set(places)) == groups
    apart = sorted(float(place) for place in places)
    assert all(b - a >= 38 for a, b in itertools.pairwise(apart))


def test_a_title_cannot_break_out_of_the_picture() -> None:
    text = 'machine: x\ntitle: "<script>alert(1)</script>"\nlike: hx-vibration\n'
    svg = portrait(read_machine(text))
    assert "<script>" not in svg
    assert ElementTree.fromstring(svg).findtext(f"{SVG}title") == "<script>alert(1)</script>"
