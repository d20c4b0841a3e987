"""Diagrams for the screen hold everything that moves, by numbers a frame can follow."""

from __future__ import annotations

import re
from functools import cache
from xml.etree import ElementTree

import pytest

from collaudo.drawing.screen import ScreenDrawing, screen_drawing
from collaudo.machine.described import described
from collaudo.machine.library import library_ids
from collaudo.machine.load import find_machine

SVG = "{http://www.w3.org/2000/svg}"
CASES = [(name, of) for name in library_ids() for of in ("water", "current", "heat")]


@cache
def drawn(name: str, of: str) -> tuple[ScreenDrawing, ElementTree.Element]:
    found = screen_drawing(find_machine(name), of)
    return found, ElementTree.fromstring(found.svg)


@pytest.mark.parametrize(("name", "of"), CASES)
def test_every_stretch_has_its_number_in_order(name: str, of: str) -> None:
    drawing, root = drawn(name, of)
    numbers = [int(path.attrib["data-run"]) for path in root.iter(f"{SVG}path") if "data-run" in path.attrib]
    assert numbers == list(range(len(drawing.runs)))
    lines = len(find_machine(name).wires if of == "current" else find_machine(name).lines)
    word = "wire" if of == "current" else "line"
    told = {key for ways in drawing.runs for key in ways if key.startswith(word)}
    assert told == {f"{word}-{n}" for n in range(lines)}
    assert {way for ways in drawing.runs for way in ways.values()} <= {1, -1}


@pytest.mark.parametrize(("name", "of"), CASES)
def test_ids_are_its_own_and_nothing_is_styled_inside(name: str, of: str) -> None:
    drawing, root = drawn(name, of)
    ids = [one.attrib["id"] for one in root.iter() if "id" in one.attrib]
    assert len(ids) == len(set(ids))
    assert all(one.startswith(f"{of}-") for one in ids)
    assert "<style" not in drawing.svg
    assert " style=" not in drawing.svg
    assert "width" not in root.attrib


@pytest.mark.parametrize(("name", "of"), CASES)
def test_the_view_holds_every_line(name: str, of: str) -> None:
    _, root = drawn(name, of)
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    for path in root.iter(f"{SVG}path"):
        if path.attrib.get("class") == "run":
            start = re.match(r"M(-?[\d.]+) (-?[\d.]+)", path.attrib["d"])
            assert start
            assert left < float(start[1]) < left + width
            assert top < float(start[2]) < top + height


@pytest.mark.parametrize("name", library_ids())
def test_tanks_trays_and_boilers_can_be_filled(name: str) -> None:
    drawing, root = drawn(name, "water")
    parts = find_machine(name).parts.values()
    open_ones = {part.name for part in parts if part.kind in ("boiler", "brew_boiler", "tank")}
    assert open_ones <= set(drawing.vessels)
    fills = [one for one in root.iter(f"{SVG}rect") if one.attrib.get("class") == "water-fill"]
    assert [one.attrib["data-vessel"] for one in fills] == list(drawing.vessels)
    for one in fills:
        assert float(one.attrib["data-height"]) > 20.0
        assert one.attrib["height"] == "0"
        assert float(one.attrib["y"]) == float(one.attrib["data-bottom"])


@pytest.mark.parametrize("name", library_ids())
def test_contacts_are_drawn_open_and_shut_and_show_how_they_rest(name: str) -> None:
    _, root = drawn(name, "current")
    contacts = described(find_machine(name)).contacts
    seen = [one for one in root.iter(f"{SVG}g") if one.attrib.get("class") == "contact"]
    assert seen
    for one in seen:
        command = contacts[int(one.attrib["data-contact"])].command.kind
        hidden = [way.attrib["class"] for way in one if way.attrib.get("display") == "none"]
        assert hidden == (["open"] if command.endswith("_off") else ["shut"])
