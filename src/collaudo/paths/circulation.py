"""A circulation as a loop: where it goes, how much, and why it turns or stands."""

from __future__ import annotations

from collaudo.fluid.water import liquid_density
from collaudo.paths.model import Step, Walk
from collaudo.paths.view import View, part_of
from collaudo.paths.words import capital, degrees, flow, sentence, the
from collaudo.twin.snapshot import Circulation

GRAVITY_M_PER_S2 = 9.80665
_LEAST_G_PER_S = 0.05


def circulation_walk(loop: Circulation, view: View) -> Walk:
    """The loop as a walk of its vessels."""
    turns = loop.flow_g_per_s >= _LEAST_G_PER_S
    names = _vessels(loop, view)
    steps = tuple(_step(n, names, loop, view, turns) for n in range(len(names)))
    title = f"The circulation between {the(names[0])} and {the(names[-1])}"
    return Walk("circulation" if turns else "closed", title, steps, "", _why(loop, view, turns))


def _vessels(loop: Circulation, view: View) -> list[str]:
    """Parts the loop passes, beginning with the one its first leg leaves."""
    found = []
    for number, way in zip(loop.lines, loop.ways, strict=True):
        line = view.line(number)
        found.append(part_of(line.from_port if way > 0 else line.to_port))
    return found


def _step(n: int, names: list[str], loop: Circulation, view: View, turns: bool) -> Step:
    number, way = loop.lines[n], loop.ways[n]
    line = view.line(number)
    leaves, arrives = (line.from_port, line.to_port) if way > 0 else (line.to_port, line.from_port)
    before = view.line(loop.lines[n - 1])
    enters = before.to_port if loop.ways[n - 1] > 0 else before.from_port
    kind = view.part(names[n])
    degC = view.snapshot.ports[leaves].temperature_degC
    came = view.arrives_degC(loop.lines[n - 1])
    says: tuple[str, ...] = ()
    if turns:
        word = "heated" if degC > came else "cooled"
        says = (
            sentence(
                f"it comes in at {degrees(came)}, is {word} and leaves for {the(part_of(arrives))} "
                f"at {degrees(degC)}"
            ),
        )
    facts = {"flow_g_per_s": loop.flow_g_per_s, "in_degC": came, "out_degC": degC}
    return Step(
        names[n], enters, leaves, kind.text, kind.customer or kind.text, kind.fails, says, turns, "", facts,
        (loop.lines[n - 1],),
    )  # fmt: skip


def buoyancy_Pa(loop: Circulation, view: View) -> float:
    """What drives the water round in the loop's order [Pa]: weight of what falls less what rises."""
    degC = view.snapshot.temperatures_degC
    return -sum(
        liquid_density(degC[place] + 273.15)[0] * GRAVITY_M_PER_S2 * rise * 1e-3
        for place, rise in zip(loop.places, loop.rises_mm, strict=True)
    )


def _height_mm(loop: Circulation) -> float:
    """Height between the lowest and the highest point of the loop."""
    height, heights = 0.0, [0.0]
    for rise in loop.rises_mm:
        height += rise
        heights.append(height)
    return max(heights) - min(heights)


def _why(loop: Circulation, view: View, turns: bool) -> str:
    drive, amount = buoyancy_Pa(loop, view), capital(flow(loop.flow_g_per_s))
    if turns and drive > 0.0:
        return (
            f"{amount} go round by themselves: the water that rises is hotter and therefore lighter than the "
            f"water that falls; over {_height_mm(loop) / 10.0:.0f} cm of height that makes {drive:.0f} Pa."
        )
    if turns:
        return f"{amount} still go round, although the difference in weight has turned against it."
    moved = sum(abs(view.line(n).flow_g_per_s) for n in loop.lines)
    if moved > 2 * _LEAST_G_PER_S:
        return "It does not go round now: what is drawn for the coffee comes through both legs at once."
    return "It stands: no leg is warmer than the other, so nothing drives it."
