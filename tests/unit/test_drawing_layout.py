"""Places, ways and rungs: small cases with a known answer, and an independent shortest way."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from collaudo.drawing.items import End, Item, Joint, Picture, looks_of
from collaudo.drawing.layout import covered, lay_out, lost
from collaudo.drawing.nets import Tree, finish, nets_of
from collaudo.drawing.place import place
from collaudo.drawing.placed import Placed
from collaudo.drawing.plane import STEP, Box, Stance
from collaudo.drawing.route import BEND, CROSS, EARLY, Router, Terminal
from collaudo.drawing.routing import route_all
from collaudo.drawing.rungs import rungs_of
from collaudo.drawing.symbols import PortPlace
from collaudo.drawing.tidy import put_tidily, wandering
from collaudo.drawing.wiring import wire_states, wiring_of
from collaudo.machine.load import find_machine, library_ids

TURNS = [Stance(k) for k in range(4)]


def item(name: str, stances: list[Stance] | None = None) -> Item:
    ports = {"in": PortPlace(0, 20, "W"), "out": PortPlace(40, 20, "E")}
    picture = Picture(40, 40, ports, {name: ""}, stances=stances or [Stance()])
    return Item(name, name, picture, looks_of(picture, name, (), ("in", "out")), ("in", "out"))


def chain(*names: str) -> list[Joint]:
    return [
        Joint(f"line-{k}", End(a, "out"), End(b, "in")) for k, (a, b) in enumerate(itertools.pairwise(names))
    ]


def test_parts_in_series_stand_in_one_straight_row() -> None:
    names = ("tank", "strainer", "pump", "valve")
    placed = place([item(name) for name in names], chain(*names))
    assert len({placed[name].y for name in names}) == 1
    xs = [placed[name].x for name in names]
    assert xs == sorted(xs)


def test_a_part_turns_to_where_its_line_goes() -> None:
    top = Picture(40, 40, {"down": PortPlace(20, 40, "S")}, {"top": ""})
    items = [Item("top", "top", top, looks_of(top, "top", (), ("down",)), ("down",)), item("valve", TURNS)]
    placed = place(items, [Joint("line-0", End("top", "down"), End("valve", "in"))])
    port = placed["valve"].port("in")
    assert (port.side, port.x) == ("N", placed["top"].port("down").x)


def test_a_place_the_machine_file_gives_is_kept() -> None:
    names = ("a", "b", "c")
    sheet = lay_out([item(name) for name in names], chain(*names), {"a": (0.0, 0.0), "c": (4.0, 3.0)})
    a, c = sheet.placed["a"], sheet.placed["c"]
    assert (c.x - a.x, c.y - a.y) == (20, 15)
    assert lost(sheet) == covered(sheet) == []


def test_the_same_parts_give_the_same_sheet() -> None:
    names = ("a", "b", "c", "d")
    joints = [*chain(*names), Joint("line-9", End("a", "out"), End("d", "in"))]
    first, second = (place([item(name, TURNS) for name in names], joints) for _ in range(2))
    assert {k: (p.x, p.y, p.look.stance) for k, p in first.items()} == {
        k: (p.x, p.y, p.look.stance) for k, p in second.items()
    }


def cost_of(points: list[tuple[int, int]], start: Terminal) -> int:
    """Steps and bends of a way from the port's lead, reckoned anew."""
    ways = [(b[0] - a[0], b[1] - a[1]) for a, b in itertools.pairwise(points)]
    outward = (start.lead[0] - start.x, start.lead[1] - start.y)
    bends = [a != b for a, b in zip([outward, *ways], ways, strict=False)]
    return len(ways) + BEND * sum(bends) + (EARLY if bends and bends[0] else 0)


def shortest(router: Router, start: Terminal, goal: tuple[int, int]) -> float:
    """The same by SciPy's Dijkstra, over points and ways of coming, walls left out."""
    ways = ((1, 0), (0, 1), (-1, 0), (0, -1))
    size = router.width * router.height * 4
    first = (start.lead[1] * router.width + start.lead[0]) * 4 + "ESWN".index(start.side)
    rows, columns, costs = [], [], []
    for node in range(router.width * router.height):
        y, x = divmod(node, router.width)
        for way in range(4):
            for turn in (0, 1, 3):
                dx, dy = ways[(way + turn) % 4]
                nx, ny = x + dx, y + dy
                if not (0 <= nx < router.width and 0 <= ny < router.height):
                    continue
                wall = router.wall_e if dx else router.wall_s
                if wall[min(node, ny * router.width + nx)]:
                    continue
                state = node * 4 + way
                rows.append(state)
                columns.append((ny * router.width + nx) * 4 + (way + turn) % 4)
                costs.append(1 + (BEND + (EARLY if state == first else 0) if turn else 0))
    lengths = dijkstra(csr_matrix((costs, (rows, columns)), shape=(size, size)), indices=first)
    at = (goal[1] * router.width + goal[0]) * 4
    return float(np.min(lengths[at : at + 4]))


@pytest.mark.parametrize("number", range(12))
def test_a_way_is_as_short_as_the_one_of_an_independent_program(number: int) -> None:
    chance = random.Random(number)
    boxes = []
    for _ in range(6):
        left, top = STEP * chance.randint(3, 16), STEP * chance.randint(0, 16)
        boxes.append(Box(left, top, left + STEP * chance.randint(1, 3), top + STEP * chance.randint(1, 3)))
    router = Router(24, 20, boxes)
    start, goal = Terminal(0, 10, "E"), (22, chance.randint(1, 18))
    expected = shortest(router, start, goal)
    if not np.isfinite(expected):
        pytest.skip("walled in")
    assert cost_of(router.route(1, start, {goal}), start) == expected


@pytest.mark.parametrize("number", range(12))
def test_ways_to_all_points_cost_what_an_independent_program_says(number: int) -> None:
    chance = random.Random(number)
    boxes = []
    for _ in range(6):
        left, top = STEP * chance.randint(3, 16), STEP * chance.randint(0, 16)
        boxes.append(Box(left, top, left + STEP * chance.randint(1, 3), top + STEP * chance.randint(1, 3)))
    router, start = Router(24, 20, boxes), Terminal(0, 10, "E")
    found = router.flood(1, start, 200)
    for _ in range(5):
        x, y = goal = (chance.randint(2, 22), chance.randint(1, 18))
        least = min(found.get((y * 24 + x) * 4 + way, np.inf) for way in range(4))
        assert least == shortest(router, start, goal)


def test_a_line_goes_back_to_its_own_net_where_another_crosses_its_way_out() -> None:
    router = Router(20, 20, [])
    port = Terminal(10, 10, "N")
    router.keep(port, 2)
    router.occupy(1, [(x, 9) for x in range(5, 15)])
    router.occupy(2, [(10, 10), (10, 9)])
    way = router.route(2, Terminal(10, 2, "S"), {(10, 9)})
    assert way == [(10, y) for y in range(3, 10)]


def test_what_is_shut_in_is_not_come_to_and_what_is_boxed_in_only_through_the_box() -> None:
    router = Router(60, 60, [])
    router.occupy(1, [(28, 30), (29, 30), (29, 29)])
    router.occupy(3, [(30, 28), (30, 29), (31, 29)])
    router.occupy(4, [(32, 30), (31, 30), (31, 31)])
    router.occupy(5, [(30, 32), (30, 31), (29, 31)])
    assert router.route(2, Terminal(2, 2, "E"), {(30, 30)}) == []  # a corner of another line on every side
    router.release(5)
    assert router.route(2, Terminal(2, 2, "E"), {(30, 30)})[-2:] == [(30, 31), (30, 30)]
    boxed = Router(60, 60, [Box(STEP * 28, STEP * 28, STEP * 32, STEP * 32)])
    way = boxed.route(2, Terminal(2, 2, "E"), {(30, 30)})
    assert sum(28 <= x <= 32 and 28 <= y <= 32 for x, y in way) == 3


def test_what_hangs_behind_a_wall_is_put_before_it() -> None:
    wall = Picture(40, 400, {"felt": PortPlace(0, 200, "W")}, {"wall": ""})
    feeler = Picture(40, 40, {"feels": PortPlace(40, 20, "E")}, {"feeler": ""})
    items = [
        Item("wall", "wall", wall, looks_of(wall, "wall", (), ("felt",)), ("felt",), anchor=True),
        Item("feeler", "feeler", feeler, looks_of(feeler, "feeler", (), ("feels",)), ("feels",)),
    ]
    joints = [Joint("link-0", End("feeler", "feels"), End("wall", "felt"), "link")]
    placed = {
        "wall": Placed(items[0], items[0].looks[0], 20, 10),
        "feeler": Placed(items[1], items[1].looks[0], 30, 20),
    }
    nets = nets_of(joints)
    route_all(nets, placed)
    assert wandering(nets, {"wall": (20, 10)}) == ["feeler"]
    moved = put_tidily("feeler", nets, placed, joints, 2)
    nets = nets_of(joints)
    route_all(nets, moved)
    assert wandering(nets, {"wall": (20, 10)}) == []
    assert moved["feeler"].x < 20
    assert len(nets[0].paths["link-0"]) == 2  # straight


def test_a_line_crosses_another_straight_and_never_runs_on_it() -> None:
    router = Router(20, 20, [])
    wall = [(10, y) for y in range(20)]
    router.occupy(1, wall)
    way = router.route(2, Terminal(2, 5, "E"), {(17, 12)})
    crossed = [k for k, point in enumerate(way) if point in wall]
    assert len(crossed) == 1
    k = crossed[0]
    assert way[k - 1][1] == way[k][1] == way[k + 1][1]
    assert CROSS > BEND  # a bend more is dearer than none, yet cheaper than a crossing


def test_a_line_goes_round_another_rather_than_cross_it_where_that_is_short() -> None:
    router = Router(20, 20, [])
    router.occupy(1, [(10, y) for y in range(8, 12)])
    way = router.route(2, Terminal(7, 8, "E"), {(13, 8)})
    assert not set(way) & {(10, 9), (10, 10)}


def test_joints_that_share_an_end_are_one_net_with_a_dot_where_they_part() -> None:
    a, b, c = (End(name, "p") for name in "abc")
    nets = nets_of([Joint("line-0", a, b), Joint("line-1", a, c), Joint("link-0", b, c, "link")])
    assert [[joint.key for joint in net.joints] for net in nets] == [["line-0", "line-1"], ["link-0"]]
    tree = Tree(ends={a: (0, 0), b: (4, 0), c: (2, 3)})
    tree.add([(x, 0) for x in range(5)])
    tree.add([(2, y) for y in range(4)])
    finish(nets[0], tree)
    assert nets[0].dots == [(2 * STEP, 0)]
    shared = [stretch for stretch in nets[0].stretches if len(stretch.ways) == 2]
    assert [stretch.points for stretch in shared] == [((0, 0), (2 * STEP, 0))]
    assert len(nets[0].stretches) == 3
    assert nets[0].paths["line-1"] == ((0, 0), (2 * STEP, 0), (2 * STEP, 3 * STEP))


@pytest.mark.parametrize("machine", library_ids())
def test_every_element_of_a_ladder_has_a_place_of_its_own_and_live_lies_left(machine: str) -> None:
    wiring = wiring_of(find_machine(machine))
    found = rungs_of(wiring)
    assert set(found.rungs) == {one.key for one in wiring.elements}
    places = [(rung.row, rung.column) for rung in found.rungs.values()]
    assert len(places) == len(set(places))
    for rung in found.rungs.values():
        one = rung.element
        if one.kind == "load":
            assert wiring.side[wiring.net[one.a]] == "live"
            assert rung.column == found.loads
        elif one.a and one.b and not one.consumes and not found.behind_loads(one):
            assert wiring.depth[wiring.net[one.a]] <= wiring.depth[wiring.net[one.b]]


def test_contacts_in_series_share_a_row_and_those_side_by_side_do_not() -> None:
    rungs = rungs_of(wiring_of(find_machine("single-boiler"))).rungs.values()
    found = {rung.element.part: rung for rung in rungs if rung.element.kind != "body"}
    assert found["cut_out"].row == found["steam_thermostat"].row == found["heating_element"].row
    assert found["steam_switch"].row != found["brew_thermostat"].row
    assert found["steam_switch"].column == found["brew_thermostat"].column


def test_poles_of_one_part_stand_under_one_another() -> None:
    rungs = rungs_of(wiring_of(find_machine("hx-two-group-three-phase"))).rungs.values()
    for part in ("residual_current_device", "plug", "cord", "contactor"):
        poles = [rung for rung in rungs if rung.element.part == part and rung.element.kind != "load"]
        assert len(poles) >= 3
        assert len({rung.column for rung in poles}) == 1


def test_wires_are_live_as_far_as_contacts_are_closed() -> None:
    machine = find_machine("single-boiler")
    contacts = [
        (one.a, one.b) for one in wiring_of(machine).elements if one.kind in ("make", "break", "plain")
    ]
    switch = ("power_switch.a", "power_switch.b")
    states = wire_states(machine, [(*pair, pair != switch) for pair in contacts])
    wires = {f"wire-{k}": wire for k, wire in enumerate(machine.wires)}
    hot = {end for key, wire in wires.items() if states.get(key) == "hot" for end in wire}
    assert "power_switch.a" in hot
    assert "power_switch.b" not in hot
    assert "cord.neutral_out" not in {end for key in states for end in wires[key]}
