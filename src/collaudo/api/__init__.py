"""The tool from Python: one function for each thing one can ask.

    from collaudo.api import machine, run

    quick = machine("flow-through").with_values({"controller.set_degC": 96})
    result = run(quick, [{"power": "on"}, {"wait": "3 min"}], site={"mains_V": 225})
    print(result["heater_degC"].at(60.0))

Wherever a machine is asked for it can be the id of one of the library, a machine file, or a `Machine`. Every
name of a value ends in its unit. What cannot be used raises `InputError`, a run that cannot go on `RunError`.
``docs/python.md`` shows all of it at work.
"""

from __future__ import annotations

from collaudo.api.judging import causes, checks, diagnose, expect, wall_sheet
from collaudo.api.machines import check_file, machine, machines, new_machine, questions
from collaudo.api.running import live, run
from collaudo.api.showing import draw, path, snapshot, states
from collaudo.api.wiring import current, find_open
from collaudo.bench.machines.handle import Machine
from collaudo.errors import CollaudoError, InputError, QuantityError, RunError

__all__ = [
    "CollaudoError",
    "InputError",
    "Machine",
    "QuantityError",
    "RunError",
    "causes",
    "check_file",
    "checks",
    "current",
    "diagnose",
    "draw",
    "expect",
    "find_open",
    "live",
    "machine",
    "machines",
    "new_machine",
    "path",
    "questions",
    "run",
    "snapshot",
    "states",
    "wall_sheet",
]
