"""Every diagram of every machine of the library: readable, complete, nothing on top of anything."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest

from collaudo.bench.explaining.drawings import DRAWN, draw_machine
from collaudo.cli.draw_commands import DRAWN as OFFERED
from collaudo.cli.main import main
from collaudo.drawing.draw import Diagram, diagram, draw
from collaudo.drawing.heat import heat_ways
from collaudo.drawing.layout import covered, lost
from collaudo.drawing.page import BORDER, LEFT, TITLE_HEIGHT
from collaudo.drawing.plane import STEP, Box
from collaudo.errors import UnknownNameError
from collaudo.machine.load import find_machine, library_ids
from tests.documents.redraw import FOLDER

SVG = "{http://www.w3.org/2000/svg}"
EVERY = [(machine, of) for machine in library_ids() for of in DRAWN]


@cache
def drawn(machine: str, of: str) -> Diagram:
    return diagram(find_machine(machine), None, of)


@cache
def picture(machine: str, of: str) -> str:
    return draw_machine(machine, of=of)


def ids(machine: str, of: str) -> Counter[str]:
    root = ElementTree.fromstring(picture(machine, of))
    return Counter(node.attrib["id"] for node in root.iter() if "id" in node.attrib)


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_it_is_a_picture_with_a_title_and_a_description(machine: str, of: str) -> None:
    root = ElementTree.fromstring(picture(machine, of))
    assert root.tag == f"{SVG}svg"
    assert root.attrib["role"] == "img"
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert root.attrib["aria-labelledby"].split() == [title.attrib["id"], description.attrib["id"]]
    assert find_machine(machine).title in (title.text or "")


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_it_carries_classes_and_no_inline_style_script_or_outside_address(machine: str, of: str) -> None:
    for node in ElementTree.fromstring(picture(machine, of)).iter():
        assert "style" not in node.attrib
        assert node.tag not in {f"{SVG}script", f"{SVG}image", f"{SVG}use", f"{SVG}a"}
    assert picture(machine, of).count("http") == 1  # the name space


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_no_label_covers_another(machine: str, of: str) -> None:
    shown = drawn(machine, of)
    for on_sheet in (True, False):
        texts = [text for text, on in shown.texts() if on == on_sheet and text.text]
        for one, other in combinations(texts, 2):
            assert not one.box.grown(-0.5).overlaps(other.box), (one.text, other.text)


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_no_symbol_covers_another_and_no_label_a_symbol(machine: str, of: str) -> None:
    placed = drawn(machine, of).sheet.placed
    for (one, a), (other, b) in combinations(placed.items(), 2):
        assert not a.boxes[0].overlaps(b.boxes[0]), (one, other)
    for key, one in placed.items():
        for text in one.look.label:
            room = text.moved(one.x * STEP, one.y * STEP).box
            assert not [other for other, b in placed.items() if room.overlaps(b.boxes[0])], (key, text.text)


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_what_is_written_in_a_vessel_stays_in_it(machine: str, of: str) -> None:
    for one in drawn(machine, of).sheet.placed.values():
        inner = Box(0.0, 0.0, one.item.picture.width, one.item.picture.height)
        for texts in one.item.picture.texts.values():
            assert all(inner.holds(text.box) for text in texts)


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_it_stays_on_the_page_clear_of_frame_and_title(machine: str, of: str) -> None:
    shown = drawn(machine, of)
    page, box = shown.page, shown.sheet.box
    on_page = Box(
        *(
            round(at, 6)
            for at in (
                page.x + page.scale * box.left,
                page.y + page.scale * box.top,
                page.x + page.scale * box.right,
                page.y + page.scale * box.bottom,
            )
        )
    )
    free = Box(LEFT, BORDER, page.width - BORDER, page.height - BORDER - TITLE_HEIGHT)
    assert free.holds(on_page)
    frame = Box(LEFT, BORDER, page.width - BORDER, page.height - BORDER)
    assert all(page.title_block.holds(text.box) for text in shown.title)
    for text in shown.legend:
        assert frame.holds(text.box)
        assert not page.title_block.overlaps(text.box)


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_letters_are_tall_enough_to_read_on_paper(machine: str, of: str) -> None:
    # Common practice, no source: text below about 1.7 mm (5 point) is not read without effort.
    assert 12.0 / 4 * drawn(machine, of).page.scale > 1.7


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_no_line_runs_through_a_symbol_or_label_and_none_is_missing(machine: str, of: str) -> None:
    sheet = drawn(machine, of).sheet
    assert lost(sheet) == []
    assert covered(sheet) == []


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_lines_end_on_their_ports(machine: str, of: str) -> None:
    sheet = drawn(machine, of).sheet
    for net in sheet.nets:
        for joint in net.joints:
            for end, at in ((joint.a, net.paths[joint.key][0]), (joint.b, net.paths[joint.key][-1])):
                port = sheet.placed[end.item].port(end.port)
                assert at == (port.x * STEP, port.y * STEP), joint


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_stretches_of_different_nets_only_cross(machine: str, of: str) -> None:
    used: dict[tuple[object, object], int] = {}
    for net in drawn(machine, of).sheet.nets:
        for stretch in net.stretches:
            for (ax, ay), (bx, by) in zip(stretch.points, stretch.points[1:], strict=False):
                steps = int(max(abs(bx - ax), abs(by - ay)) / STEP)
                points = [(ax + (bx - ax) * k / steps, ay + (by - ay) * k / steps) for k in range(steps + 1)]
                for pair in pairwise(points):
                    edge = (min(pair), max(pair))
                    assert used.setdefault(edge, id(net)) == id(net)


@pytest.mark.parametrize("machine", library_ids())
@pytest.mark.parametrize("of", ["water", "heat"])
def test_every_part_with_a_line_and_every_line_appears_once(machine: str, of: str) -> None:
    built, found = find_machine(machine), ids(machine, of)
    assert max(found.values()) == 1
    joined = {end.partition(".")[0] for line in built.lines for end in (line.from_port, line.to_port)}
    assert {f"part-{name}" for name in joined} <= found.keys()
    assert {key for key in found if key.startswith("line-")} == {
        f"line-{number}" for number in range(len(built.lines))
    }


@pytest.mark.parametrize("machine", library_ids())
def test_every_part_with_a_wire_and_every_wire_appears_once(machine: str) -> None:
    built, found = find_machine(machine), ids(machine, "current")
    assert max(found.values()) == 1
    wired = {end.partition(".")[0] for wire in built.wires for end in wire}
    assert {key for key in found if key.startswith("part-")} == {f"part-{name}" for name in wired}
    assert {key for key in found if key.startswith("wire-")} == {
        f"wire-{number}" for number in range(len(built.wires))
    }


@pytest.mark.parametrize("machine", library_ids())
def test_every_part_of_a_machine_is_in_some_diagram(machine: str) -> None:
    shown = set(ids(machine, "water")) | set(ids(machine, "current"))
    parts = find_machine(machine).parts
    left = [name for name in parts if f"part-{name}" not in shown]
    assert [name for name in left if parts[name].ports or parts[name].terminals] == []


@pytest.mark.parametrize(("machine", "of"), EVERY)
def test_it_is_as_it_was_looked_at(machine: str, of: str) -> None:
    kept = (FOLDER / f"{machine}-{of}.svg").read_text(encoding="utf-8")
    assert picture(machine, of) == kept, "look at the new drawing, then: python -m tests.documents.redraw"


def test_no_rendering_is_kept_of_what_is_not_there() -> None:
    assert {path.name for path in FOLDER.glob("*.svg")} == {f"{machine}-{of}.svg" for machine, of in EVERY}


def test_the_command_offers_what_the_bench_can_draw() -> None:
    assert OFFERED == DRAWN


def test_nothing_else_can_be_drawn() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'water'"):
        draw(find_machine("hx-vibration"), None, "watr")


def test_drawing_at_rest_loads_no_kernel_and_no_compiler() -> None:
    code = (
        "import sys; from collaudo.bench.explaining.drawings import draw_machine;"
        "draw_machine('hx-vibration');"
        "print([name for name in sys.modules if name.startswith(('numba', 'collaudo.twin.kernel'))])"
    )
    source = str(Path(__file__).parents[2] / "src")
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env={"PYTHONPATH": source}
    )
    assert done.stdout.strip() == "[]"


def test_the_command_writes_the_file(tmp_path: Path) -> None:
    file = tmp_path / "water.svg"
    assert main(["draw", "flow-through", "-o", str(file)]) == 0
    assert file.read_text(encoding="utf-8") == picture("flow-through", "water")


@pytest.mark.parametrize(
    ("output", "said"), [("water.png", "written as SVG"), ("nowhere/water.svg", "there is no folder")]
)
def test_the_command_refuses_what_it_cannot_write(
    output: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["draw", "flow-through", "-o", str(tmp_path / output)]) == 2
    assert said in capsys.readouterr().err


def brewing(machine: str) -> Any:
    """An invented moment: 2 g/s along the lines that lead to the cup, hotter along the way, nothing else."""
    built = find_machine(machine)
    names = ("tank", "strainer", "pump", "check_valve", "heater", "three_way_valve", "brew_chamber", "screen")
    way = [*names, "portafilter", "cup"]
    lines = []
    for line in built.lines:
        a, b = (end.partition(".")[0] for end in (line.from_port, line.to_port))
        flows = a in way and b in way and way.index(a) < way.index(b)
        lines.append(
            SimpleNamespace(
                flow_g_per_s=2.0 if flows else 0.0,
                temperature_degC=20.0 + (8.0 * way.index(b) if flows else 0.0),
                steam_share=0.0,
                air_share=0.0,
            )
        )
    return SimpleNamespace(
        state="brewing",
        lines=lines,
        loads=[SimpleNamespace(name="pump", on=True)],
        contacts=[],
        site={"mains_V": 230.0, "room_K": 295.15},
        heats=[],
        temperatures_degC={},
        heaters_W={},
    )


def test_what_flows_has_arrows_and_amounts_and_what_stands_is_grey() -> None:
    moment = brewing("flow-through")
    shown = diagram(find_machine("flow-through"), moment, "water")
    svg = draw(find_machine("flow-through"), moment, "water")
    flowing = [flow for flow in shown.flows.values() if not flow.still]
    assert svg.count('class="run flows') - 7 == len(flowing) > 5  # seven are the legend's
    assert svg.count('class="run still"') - 1 == len(shown.flows) - len(flowing) > 0
    assert svg.count('class="arrow') > 3
    words = [text.text for text in shown.flow_labels]
    assert len(words) == len(set(words)) > 3
    assert all(word.startswith("2.0 g/s ") for word in words)
    assert 'id="part-pump" class="part kind-vibration_pump on"' in svg
    assert "brewing" in [text.text for text in shown.title]


def test_amounts_at_lines_cover_nothing() -> None:
    shown = diagram(find_machine("flow-through"), brewing("flow-through"), "water")
    taken = [box for one in shown.sheet.placed.values() for box in one.boxes]
    for text in shown.flow_labels:
        assert not [box for box in taken if text.box.overlaps(box)]
    for one, other in combinations(shown.flow_labels, 2):
        assert not one.box.overlaps(other.box)


def test_the_sheet_of_a_state_is_laid_out_as_at_rest() -> None:
    machine = find_machine("flow-through")
    running, resting = (diagram(machine, moment, "water").sheet for moment in (brewing("flow-through"), None))
    assert {key: (one.x, one.y) for key, one in running.placed.items()} == {
        key: (one.x, one.y) for key, one in resting.placed.items()
    }


def heated(machine: str) -> Any:
    """An invented moment: 40 W along every way heat can go, 90 °C everywhere, nothing flows."""
    moment = brewing(machine)
    ways = heat_ways(find_machine(machine), None)
    moment.heats = [SimpleNamespace(a=giver, b=taker, heat_W=40.0) for giver, taker in ways]
    moment.temperatures_degC = dict.fromkeys({giver for giver, _ in ways}, 90.0)
    for line in moment.lines:
        line.flow_g_per_s = 0.0
    return moment


@pytest.mark.parametrize("machine", library_ids())
def test_every_way_of_heat_between_parts_on_the_sheet_is_drawn_or_written_once(machine: str) -> None:
    shown = diagram(find_machine(machine), heated(machine), "heat")
    parts = {part for one in shown.sheet.placed.values() for part in one.item.picture.shapes}
    wanted = [
        way
        for way in heat_ways(find_machine(machine), None)
        if way[0] in parts and {way[1]} <= {*parts, "room"}
    ]
    words = [text.text for text, _ in shown.texts()]
    assert len(wanted) == sum("40 W" in text for text in words) > 2


@pytest.mark.parametrize("machine", library_ids())
def test_amounts_at_ways_of_heat_cover_nothing(machine: str) -> None:
    shown = diagram(find_machine(machine), heated(machine), "heat")
    symbols = [one.boxes[0] for one in shown.sheet.placed.values()]
    for one in shown.heat:
        assert not [box for box in symbols if one.text.box.overlaps(box)]
    texts = [text for text, on in shown.texts() if on and text.text]
    for one, other in combinations(texts, 2):
        assert not one.box.grown(-0.5).overlaps(other.box), (one.text, other.text)


def test_heat_to_the_room_leaves_its_part_and_ends_in_nothing() -> None:
    shown = diagram(find_machine("single-boiler"), heated("single-boiler"), "heat")
    (arrow,) = [one for one in shown.heat if (one.giver, one.taker) == ("brew_boiler", "room")]
    box = shown.sheet.placed["brew_boiler"].boxes[0]
    (start, end) = arrow.points
    assert box.grown(4.0).holds(Box(*start, *start))
    assert not [
        one for one in shown.sheet.placed.values() if one.boxes[0].overlaps(Box(*end, *end).grown(1.0))
    ]


def test_heat_along_a_link_runs_from_what_gives_it_to_what_takes_it() -> None:
    moment = heated("single-boiler")
    for way in moment.heats:
        if (way.a, way.b) == ("brew_chamber", "group"):
            way.heat_W = -40.0
    shown = diagram(find_machine("single-boiler"), moment, "heat")
    (one,) = [one for one in shown.heat if {one.giver, one.taker} == {"brew_chamber", "group"}]
    assert (one.giver, one.taker) == ("group", "brew_chamber")
    x, y = one.points[0]
    assert shown.sheet.placed["group"].boxes[0].grown(1.0).holds(Box(x, y, x, y))
