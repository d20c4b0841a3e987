"""What can be done to a stand: one function for each word of the socket's ``do``.

Each takes what was sent as it came, and answers with a note to who asked, or with nothing. What cannot be is
an `InputError` that says what would be right.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from collaudo.bench.explaining.states import operations_into
from collaudo.bench.naming import part_in_words
from collaudo.bench.running.stand import SPEEDS, Kept
from collaudo.errors import InputError, Problem, unknown_name

if TYPE_CHECKING:
    from collaudo.bench.running.stand import Stand

MOST_KEPT = 12
LONGEST_STEP_s = 600.0
LONGEST_NAME = 60
ALWAYS = ("renew", "back", "speed", "goes", "hide")
"""What can be done to a machine that has stopped."""
TAKES_TIME = ("wait", "until", "repeat", "mark")
WARMS_BY = "idle"
"""The state that is hot and at rest."""


def done(stand: Stand, asked: Mapping[str, Any]) -> str:
    """Do one thing."""
    if len(asked) != 1:
        raise InputError(Problem(f"{len(asked)} things at once", "ask for one thing at a time"))
    word, told = next(iter(asked.items()))
    if word not in DEEDS:
        raise unknown_name("thing to do", word[:60], DEEDS)
    if stand.stopped and word not in ALWAYS:
        _refuse_stopped()
    before, count = stand.positions(), stand.event_count
    answer = DEEDS[word](stand, told)
    stand.look()
    if word not in ALWAYS:
        now = stand.positions()
        moved = [one for one in stand.controls if now[one.id] != before[one.id]]
        stand.note_before(count, [(one.part, f"{one.title}: {now[one.id]}") for one in moved])
    return answer


def _refuse_stopped() -> None:
    raise InputError(Problem("the machine has stopped", "begin again cold, or go back to a moment kept"))


# --- hands on the machine -----------------------------------------------------------------------------------


def _operate(stand: Stand, told: Any) -> str:
    if not isinstance(told, dict) or len(told) != 1:
        raise InputError(
            Problem("an operation is one word with what it is put to", 'such as {"power": "on"}')
        )
    if next(iter(told)) in TAKES_TIME:
        raise InputError(Problem("time passes by itself here", "choose a speed, or let it step"))
    operations = stand.live.understood(told)
    stand.untouched = False
    stand.begin_course(operations)
    stand.settle()
    return ""


def _move(stand: Stand, told: Any) -> str:
    name, to = _two(told, "input", "to")
    place = _number(to, "to", 0.0, 1.0)
    stand.live.run.set_input(_word(name), place)
    return _touched(stand)


def _press(stand: Stand, told: Any) -> str:
    """A dose's button: pressed and let go, where that changes anything."""
    name, running = _two(told, "input", "running")
    keys = {one.id: one.reads[1] for one in stand.controls if one.kind == "key"}
    if _word(name) not in keys:
        raise unknown_name("button", _word(name), keys or ["(this machine has none)"])
    run = stand.live.run
    device = run.assembly.names.devices[keys[name]]
    if (run.mode.device[device].phase == 1.0) != (running is True):
        for place in (0.0, 1.0, 0.0):
            run.set_input(name, place)
            stand.settle()
    return _touched(stand)


def _jug(stand: Stand, told: Any) -> str:
    """A jug of cold milk under a wand, or taken away."""
    at, holds = _two(told, "at", "holds")
    places = [one.part for one in stand.controls if one.id == f"{one.part}.jug"]
    if at not in places:
        raise unknown_name("place for a jug", _word(at), places or ["(this machine has no steam wand)"])
    if holds not in ("nothing", "milk"):
        raise unknown_name("jug", _word(holds), ["nothing", "milk"])
    stand.live.run.change({f"{at}.contents": holds})
    stand.live.pour_out(at)
    return _touched(stand)


def _fill_tank(stand: Stand, told: Any) -> str:
    del told
    stand.live.fill_tank()
    stand.note("tank: filled up", "tank")
    return _touched(stand)


def _empty(stand: Stand, told: Any) -> str:
    stand.live.pour_out(_word(told))
    stand.note(f"{part_in_words(_word(told))}: poured out", _word(told))
    return _touched(stand)


def _reset(stand: Stand, told: Any) -> str:
    stand.live.reset(_word(told))
    return _touched(stand)


def _touched(stand: Stand) -> str:
    stand.untouched = False
    stand.settle()
    return ""


# --- its time -----------------------------------------------------------------------------------------------


def _speed(stand: Stand, told: Any) -> str:
    if isinstance(told, bool) or told not in SPEEDS:
        raise InputError(Problem(f"speed is {_word(told)}", f"one of {', '.join(map(str, SPEEDS))}"))
    stand.speed = int(told)
    return ""


def _goes(stand: Stand, told: Any) -> str:
    if told is True and stand.stopped:
        _refuse_stopped()
    stand.goes = told is True
    return ""


def _step(stand: Stand, told: Any) -> str:
    if stand.goes:
        raise InputError(Problem("it goes by itself", "pause it first, then let it step"))
    stand.go(_number(told, "step", 0.0, LONGEST_STEP_s))
    return ""


def _save(stand: Stand, told: Any) -> str:
    name = _word(told).strip() if isinstance(told, str) else ""
    if not name:
        raise InputError(Problem("the moment has no name", "give it one, such as 'hot, before the shot'"))
    gone = ""
    if name not in stand.kept and len(stand.kept) >= MOST_KEPT:
        oldest = next(iter(stand.kept))
        del stand.kept[oldest]
        gone = f"; {MOST_KEPT} are kept at most, so '{oldest}' is gone"
    stand.kept.pop(name, None)
    stand.kept[name] = Kept(name, stand.time_s, stand.live.save())
    return f"kept: {name}{gone}"


def _back(stand: Stand, told: Any) -> str:
    if not isinstance(told, str) or told not in stand.kept:
        raise unknown_name("moment kept", _word(told), list(stand.kept) or ["(none is kept)"])
    stand.restore(stand.kept[told])
    stand.note(f"back to '{told}'")
    return ""


def _renew(stand: Stand, told: Any) -> str:
    del told
    without = ", without the faults that were in" if stand.teaching else ""
    stopped = bool(stand.stopped)
    if stand.source.changed():
        stand.take_file()
    else:
        stand.begin()
    stand.goes = stand.goes or stopped
    stand.note(f"a cold machine again{without}")
    return ""


def _warm(stand: Stand, told: Any) -> str:
    """Everything but the power shut and let go, then the time passes quickly until it is hot and at rest."""
    del told
    operations = operations_into(WARMS_BY, stand.live.run.machine)
    run = stand.live.run
    hands = {one.id for one in stand.controls if one.kind in ("tap", "lever", "switch", "key")}
    for name in hands & run.assembly.names.inputs.keys() - {"power"}:
        run.set_input(name, 0.0)
    stand.untouched, stand.goes = False, True
    stand.note("warming up quickly, everything shut and let go")
    stand.begin_course(operations, quick=True, then="hot and at rest")
    return "warming up: an hour of the machine's time passes quickly"


# --- faults, for teaching -----------------------------------------------------------------------------------


def _put_in(stand: Stand, told: Any) -> str:
    cause, severity = _two(told, "cause", "severity")
    name, share = _word(cause), _number(severity, "severity", 0.0, 1.0)
    faults = {**stand.live.faults, name: share}
    _with_faults(stand, faults, lambda: stand.live.put_in(name, share))
    return ""


def _take_out(stand: Stand, told: Any) -> str:
    name = _word(told)
    faults = {cause: share for cause, share in stand.live.faults.items() if cause != name}
    _with_faults(stand, faults, lambda: stand.live.take_out(name))
    return ""


def _take_out_all(stand: Stand, told: Any) -> str:
    if told is not True:
        raise InputError(Problem("this is not understood", 'give {"take_out_all": true}'))

    def all_out() -> None:
        for name in list(stand.live.faults):
            stand.live.take_out(name)

    _with_faults(stand, {}, all_out)
    return ""


def _hide(stand: Stand, told: Any) -> str:
    """For a quiz: no screen is told which faults are in, until they are shown again."""
    if not isinstance(told, bool):
        raise InputError(Problem("this is not understood", 'give {"hide": true}, or false'))
    stand.hidden = told
    return ""


def _with_faults(stand: Stand, faults: Mapping[str, float], do: Callable[[], None]) -> None:
    """What can be put in or taken out only cold begins anew where nobody has touched the machine yet."""
    try:
        do()
    except InputError:
        if not stand.untouched or stand.time_s == 0.0:
            raise
        before = dict(stand.live.faults)
        stand.begin()
        try:
            for cause, share in faults.items():
                stand.live.put_in(cause, share)
        except InputError:
            for cause, share in before.items():
                stand.live.put_in(cause, share)
            raise
    stand.settle()


# --- what was sent ------------------------------------------------------------------------------------------


def _word(told: Any) -> str:
    return str(told)[:LONGEST_NAME]


def _two(told: Any, first: str, second: str) -> tuple[Any, Any]:
    if not isinstance(told, dict) or set(told) != {first, second}:
        raise InputError(Problem("this is not understood", f"give {first} and {second}"))
    return told[first], told[second]


def _number(told: Any, name: str, low: float, high: float) -> float:
    number = isinstance(told, int | float) and not isinstance(told, bool)
    if not number or not low <= told <= high:
        raise InputError(Problem(f"{name} is {_word(told)[:20]}", f"it can be {low:g} to {high:g}"))
    return float(told)


DEEDS: dict[str, Callable[[Stand, Any], str]] = {
    "operate": _operate,
    "move": _move,
    "press": _press,
    "jug": _jug,
    "fill_tank": _fill_tank,
    "empty": _empty,
    "reset": _reset,
    "speed": _speed,
    "goes": _goes,
    "step": _step,
    "save": _save,
    "back": _back,
    "renew": _renew,
    "warm": _warm,
    "put_in": _put_in,
    "take_out": _take_out,
    "take_out_all": _take_out_all,
    "hide": _hide,
}
