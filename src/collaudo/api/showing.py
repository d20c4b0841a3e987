"""What goes on inside a machine in one of its states: as numbers, told step by step, drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from collaudo.api.machines import MachineLike, machine
from collaudo.api.running import Words, texts

if TYPE_CHECKING:
    from collaudo.bench.explaining.states import StateSummary
    from collaudo.bench.explaining.telling import Snapshot, Told


def states(of: MachineLike) -> list[StateSummary]:
    """The states a machine can be in, in the order one meets them: name, title, what is going on."""
    from collaudo.bench.explaining.states import states_of

    return states_of(machine(of).model)


def snapshot(of: MachineLike, state: str, *, site: Words | None = None) -> Snapshot:
    """Every pressure [bar above the room], flow [g/s], temperature [degC], level, contact, load [V, A] and
    heat flow [W] of a machine in a state by name. `UnknownNameError` if it has no such state."""
    from collaudo.bench.explaining.telling import measured

    return measured(machine(of), state, texts(site))


def path(
    of: MachineLike,
    state: str,
    matter: str = "water",
    *,
    audience: str = "apprentice",
    site: Words | None = None,
) -> Told:
    """Where ``matter`` (``water``, ``heat``, ``current``) goes in a state, told for an ``audience``.

    ``audience``: ``apprentice``, in full, or ``customer``, short and without jargon. `InputError` for what
    there is not.
    """
    from collaudo.bench.explaining.telling import tell

    return tell(machine(of), state, matter, audience, texts(site))


def draw(of: MachineLike, state: str = "", matter: str = "water") -> str:
    """The diagram of a machine as the text of an SVG file: at rest, or with what goes on in a state.

    ``matter``: ``water``, ``heat`` or ``current``. `InputError` for what there is not.
    """
    from collaudo.bench.explaining.drawings import draw_machine

    with machine(of).as_file() as name:
        return draw_machine(name, state, matter)
