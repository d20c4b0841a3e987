"""Formulas of readings: what is read off a run.

Written as ``mean(gauge("brew_gauge"), lifted + 5, lifted + 10)``: an expression of numbers, named moments
(``start``, ``end`` and the check's own marks, in seconds), arithmetic, comparisons, ``and``, ``or``, ``not``
and the functions of `FUNCTIONS`. A text names a place by roles (`collaudo.checks.roles`). A result that did
not come about is not a number (NaN); compared with anything it is false.
"""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from collaudo.checks import metering
from collaudo.checks.roles import place_of, roles_in
from collaudo.errors import CatalogueError, Problem, near_misses
from collaudo.twin.results import Results, Series
from collaudo.twin.run import Run

LONGEST = 400


@dataclass(frozen=True)
class Scene:
    """A run that a check was made on: its series, named moments [s] and the names of its parts by role."""

    run: Run
    marks: Mapping[str, float]
    bound: Mapping[str, str]
    results: Results = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "results", Results(self.run))

    def name(self, place: str) -> str:
        """A place in the machine's own names."""
        return place_of(place, self.bound)

    def event(self, device: str, acts: bool, after: float) -> float:
        """Seconds from ``after`` until a device acts or rests; NaN if it never does."""
        wanted, name = float(acts), self.name(device)
        times = (t for t, of, state in self.run.events if of == name and state == wanted and t >= after)
        return next(times, math.nan) - after


def _of_series(word: str) -> Callable[..., Any]:
    def series(scene: Scene, place: str) -> Series:
        return scene.results.series(f"{word} {scene.name(place)}")

    return series


def _of_load(word: str) -> Callable[..., Any]:
    """Series of what takes current; of a pump with a motor of its own that of the motor."""

    def series(scene: Scene, place: str) -> Series:
        name = scene.name(place)
        motor = getattr(scene.run.machine.parts.get(name), "driven_by", "")
        return scene.results.series(f"{word} {motor or name}")

    return series


def _span(series: Series, a: float, b: float) -> tuple[Any, Any]:
    """Times and values between two moments, both ends read between the run's steps."""
    inside = (series.time_s > a) & (series.time_s < b)
    time_s = np.concatenate([[a], series.time_s[inside], [b]])
    return time_s, np.concatenate([[series.at(a)], series.values[inside], [series.at(b)]])


def _integral(series: Series, a: float, b: float) -> float:
    time_s, values = _span(series, a, b)
    return float(np.trapezoid(values, time_s))


def _crossing(series: Series, level: float, after: float, sign: float) -> float:
    """Seconds from ``after`` until the series first stands at or beyond ``level``; NaN if it never does."""
    time_s, values = _span(series, after, max(float(series.time_s[-1]), after))
    beyond = sign * (values - level) >= 0.0
    if not beyond.any():
        return math.nan
    k = int(np.argmax(beyond))
    if k == 0 or values[k] == values[k - 1]:
        return float(time_s[k]) - after
    share = (level - values[k - 1]) / (values[k] - values[k - 1])
    return float(time_s[k - 1] + share * (time_s[k] - time_s[k - 1])) - after


def _last_above(series: Series, level: float, a: float, b: float) -> float:
    """Seconds from ``a`` until the series was last at or above ``level``; NaN if it never was."""
    time_s, values = _span(series, a, b)
    above = np.flatnonzero(values >= level)
    return float(time_s[above[-1]]) - a if above.size else math.nan


def _field(scene: Scene, place: str) -> float:
    return float(scene.run.machine.value(scene.name(place)))


# Name: arguments (p a place, s a series, n a number) and what it gives.
FUNCTIONS: Mapping[str, tuple[str, Callable[..., Any]]] = {
    **{word: ("p", _of_series(word)) for word in ("pressure", "gauge", "temperature", "mass", "flow")},
    **{word: ("p", _of_series(word)) for word in ("level", "power", "device")},
    **{word: ("p", _of_load(word)) for word in ("load", "volts", "amps")},
    "at": ("sn", lambda _, series, t: series.at(t)),
    "highest": ("snn", lambda _, series, a, b: float(_span(series, a, b)[1].max())),
    "lowest": ("snn", lambda _, series, a, b: float(_span(series, a, b)[1].min())),
    "mean": ("snn", lambda _, series, a, b: _integral(series, a, b) / (b - a) if b > a else math.nan),
    "gain": ("snn", lambda _, series, a, b: series.at(b) - series.at(a)),
    "integral": ("snn", lambda _, series, a, b: _integral(series, a, b)),
    "rises_to": ("snn", lambda _, series, level, after: _crossing(series, level, after, 1.0)),
    "falls_to": ("snn", lambda _, series, level, after: _crossing(series, level, after, -1.0)),
    "last_above": ("snnn", lambda _, series, level, a, b: _last_above(series, level, a, b)),
    "acts": ("pn", lambda scene, device, after: scene.event(device, True, after)),
    "rests": ("pn", lambda scene, device, after: scene.event(device, False, after)),
    "ohm": ("p", metering.ohm),
    "way": ("p", metering.way),
    "sound": ("p", metering.sound),
    "figure": ("p", metering.figure),
    "felt_degC": ("p", metering.felt_degC),
    "insulation_Mohm": ("", metering.insulation_Mohm),
    "declared": ("p", _field),
    "mains_V": ("", lambda scene: scene.run.assembly.site.mains_V),
    "room_degC": ("", lambda scene: scene.run.assembly.site.room_K - 273.15),
    "log10": ("n", lambda _, x: math.log10(x) if x > 0.0 else math.nan),
}
_GIVES_SERIES = (
    *("pressure", "gauge", "temperature", "mass", "flow"),
    *("level", "power", "device", "load", "volts", "amps"),
)
_ARITHMETIC: Mapping[type[ast.AST], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: lambda a, b: a / b if b else math.nan,
}
_COMPARISONS: Mapping[type[ast.AST], Callable[[Any, Any], bool]] = {
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
}


@dataclass(frozen=True)
class Formula:
    """A formula, read and found in order."""

    text: str
    tree: ast.expr = field(repr=False)
    roles: frozenset[str]

    def value(self, scene: Scene) -> float | bool:
        """What the formula gives on a run."""
        result: float | bool = _value(self.tree, scene)
        return result


def read_formula(text: str, marks: Collection[str]) -> Formula:
    """Read a formula that may name ``marks``; raises `CatalogueError` saying what is not in order."""
    if len(text) > LONGEST:
        raise CatalogueError(Problem(f"a formula of {len(text)} signs", f"at most {LONGEST}"))
    try:
        tree = ast.parse(text, mode="eval").body
    except (SyntaxError, ValueError, RecursionError) as fault:
        raise CatalogueError(Problem(f"formula {text!r}: {fault}", "see collaudo.checks.formula")) from None
    roles: set[str] = set()
    _inspect(tree, {"start", "end", *marks}, roles)
    return Formula(text, tree, frozenset(roles))


def _refuse(node: ast.AST, message: str, remedy: str = "see collaudo.checks.formula") -> CatalogueError:
    return CatalogueError(Problem(f"formula: {message} in {ast.unparse(node)!r}", remedy))


def _inspect(node: ast.expr, marks: Collection[str], roles: set[str]) -> str:
    """Go through a formula; returns ``n`` for a number, ``s`` for a series, ``p`` for a place."""
    match node:
        case ast.Constant(value=str() as place):
            if not roles_in(place):
                raise _refuse(node, "a place without a role", "name a role of library/roles.yaml")
            roles.update(roles_in(place))
            return "p"
        case ast.Constant(value=int() | float()):
            return "n"
        case ast.Name(id=name):
            if name not in marks:
                raise _refuse(node, f"unknown moment {name!r}", near_misses(name, marks))
            return "n"
        case ast.Call(func=ast.Name(id=name), args=arguments, keywords=[]):
            if name not in FUNCTIONS:
                raise _refuse(node, f"unknown function {name!r}", near_misses(name, FUNCTIONS))
            found = "".join(_inspect(argument, marks, roles) for argument in arguments)
            if found != FUNCTIONS[name][0]:
                raise _refuse(node, f"{name} takes {FUNCTIONS[name][0]!r} and was given {found!r}")
            return "s" if name in _GIVES_SERIES else "n"
    if any(_inspect(part, marks, roles) != "n" for part in _terms(node)):
        raise _refuse(node, "reckons with something that is no number")
    return "n"


def _terms(node: ast.expr) -> list[ast.expr]:
    """What arithmetic, a comparison or a connection of them is made of."""
    match node:
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _ARITHMETIC:
            return [left, right]
        case ast.UnaryOp(op=ast.USub() | ast.Not(), operand=operand):
            return [operand]
        case ast.BoolOp(values=values):
            return values
        case ast.Compare(left=left, ops=ops, comparators=right) if {type(op) for op in ops} <= {
            *_COMPARISONS
        }:
            return [left, *right]
    raise _refuse(node, "something formulas do not have")


def _value(node: ast.expr, scene: Scene) -> Any:
    match node:
        case ast.Constant(value=value):
            return value
        case ast.Name(id=name):
            return scene.marks.get(name, math.nan)
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return FUNCTIONS[name][1](scene, *(_value(argument, scene) for argument in arguments))
        case ast.BoolOp(op=op, values=values):
            connect = all if isinstance(op, ast.And) else any
            return connect(_value(part, scene) for part in values)
    return _reckoned(node, [_value(part, scene) for part in _terms(node)])


def _reckoned(node: ast.expr, terms: list[Any]) -> Any:
    match node:
        case ast.BinOp(op=op):
            return _ARITHMETIC[type(op)](*terms)
        case ast.UnaryOp(op=op):
            return -terms[0] if isinstance(op, ast.USub) else not terms[0]
        case ast.Compare(ops=ops):
            return all(_COMPARISONS[type(op)](terms[k], terms[k + 1]) for k, op in enumerate(ops))
    raise AssertionError(ast.dump(node))
