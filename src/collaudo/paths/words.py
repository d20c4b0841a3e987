"""Numbers and names as a technician says them."""

from __future__ import annotations

import re
from collections.abc import Sequence

_HYPHENS = {
    "three way": "three-way",
    "cut out": "cut-out",
    "residual current": "residual-current",
    "solid state": "solid-state",
    "flow through": "flow-through",
}
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth")
DROP_G = 0.05
"""A drop of water weighs about 0.05 g (20 drops to the millilitre: common practice, no source)."""
LEAST_FLOW_G_PER_S = 2e-3
"""Less is a seat's own leak: fewer than three drops a minute."""


def spoken(part: str) -> str:
    """``three_way_valve_2`` -> ``second three-way valve``."""
    stem, _, number = part.partition(".")[0].rpartition("_")
    words = part.partition(".")[0].replace("_", " ")
    if stem and number.isdigit() and 1 <= int(number) <= len(_ORDINALS):
        words = f"{_ORDINALS[int(number) - 1]} {stem.replace('_', ' ')}"
    for plain, hyphened in _HYPHENS.items():
        words = words.replace(plain, hyphened)
    return words


def the(part: str) -> str:
    """``the pump``."""
    return f"the {spoken(part)}"


def named(part: str, clause: str) -> str:
    """A clause about ``it`` with the part's name for its beginning."""
    if clause.startswith("its "):
        return f"the {clause.removeprefix('its ').partition(' ')[0]} of {the(part)} {clause.split(' ', 2)[2]}"
    return f"{the(part)} {clause.removeprefix('it ')}" if clause.startswith("it ") else clause


def of_itself(part: str, clause: str) -> str:
    """A clause that begins with the part's own name says ``it`` instead; with what it has, ``its coil``."""
    name = f"{the(part)} "
    if own := re.match(rf"the (\w+) of {re.escape(name)}", clause):
        return f"its {own[1]} {clause[own.end() :]}"
    return f"it {clause.removeprefix(name)}" if clause.startswith(name) else clause


def capital(sentence: str) -> str:
    """First letter large."""
    return sentence[:1].upper() + sentence[1:]


def sentence(text: str) -> str:
    """A sentence: first letter large, one full stop."""
    return capital(text.strip().rstrip(".")) + "."


def listed(items: Sequence[str]) -> str:
    """``a, b and c``."""
    items = list(items)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""


_NOT_PRESSED = "nobody has pressed the button of "


def all_of(clauses: Sequence[str]) -> str:
    """Clauses that hold together, each once; those that have an ``and`` of their own apart by semicolons."""
    clauses = list(dict.fromkeys(clauses))
    buttons = [x.removeprefix(_NOT_PRESSED) for x in clauses if x.startswith(_NOT_PRESSED)]
    if len(buttons) > 1:
        merged = f"{_NOT_PRESSED}{', '.join(buttons[:-1])} or of {buttons[-1]}"
        clauses = [x for x in clauses if not x.startswith(_NOT_PRESSED)] + [merged]
    if len(clauses) > 1 and any(" and " in clause for clause in clauses):
        return f"{'; '.join(clauses[:-1])}; and {clauses[-1]}"
    return listed(clauses)


def degrees(value_degC: float) -> str:
    """``96 °C``."""
    return f"{value_degC:.0f} °C".replace("-0 °C", "0 °C")


def bars(value_bar: float) -> str:
    """``9.5 bar``, ``1.16 bar``, ``no pressure``; below the room's pressure ``0.07 bar of suction``."""
    if abs(value_bar) < 0.02:
        return "no pressure"
    if value_bar < 0.0:
        return f"{-value_bar:.2f} bar of suction"
    return f"{value_bar:.1f} bar" if value_bar >= 2.0 else f"{value_bar:.2f} bar"


def and_bars(value_bar: float) -> str:
    """``and 9.5 bar`` behind a temperature; ``, without pressure``."""
    return ", without pressure" if abs(value_bar) < 0.02 else f" and {bars(value_bar)}"


def there_are(value_bar: float) -> str:
    """``9.5 bar stand``, ``no pressure stands``: begins a sentence."""
    return "no pressure stands" if abs(value_bar) < 0.02 else f"{bars(value_bar)} stand"


def flow(value_g_per_s: float) -> str:
    """``3.6 g/s``; what only drips is told in drops."""
    size = abs(value_g_per_s)
    if size >= 10.0:
        return f"{size:.0f} g/s"
    if size >= 1.0:
        return f"{size:.1f} g/s"
    if size >= 0.1:
        return f"{size:.2f} g/s"
    every_s = DROP_G / max(size, 1e-9)
    if every_s < 1.5:
        return f"{1.0 / every_s:.0f} drops a second" if every_s < 0.67 else "a drop a second"
    return f"a drop every {every_s:.0f} seconds"


def gas_flow(value_g_per_s: float) -> str:
    """``0.87 g/s``, ``3 mg/s``: steam and air do not drip."""
    return flow(value_g_per_s) if value_g_per_s >= 0.1 else f"{1e3 * value_g_per_s:.0f} mg/s"


def watts(value_W: float) -> str:
    """``1400 W`` to two figures beyond a hundred, whole below."""
    size = abs(value_W)
    rounded = round(size, -1) if size >= 100.0 else round(size)
    return f"{rounded:.0f} W"


def volts(value_V: float) -> str:
    """``230 V``."""
    return f"{value_V:.0f} V"


def amps(value_A: float) -> str:
    """``6.1 A``, ``40 mA``."""
    if value_A >= 1.0:
        return f"{value_A:.1f} A"
    if value_A >= 0.1:
        return f"{value_A:.2f} A"
    return f"{value_A * 1e3:.0f} mA" if value_A >= 1e-3 else "next to nothing"


def minutes(time_s: float) -> str:
    """``20 s``, ``60 min``."""
    return f"{time_s:.0f} s" if time_s < 100.0 else f"{time_s / 60.0:.0f} min"


def joined(text: str) -> str:
    """One space between words, none before a full stop."""
    return re.sub(r"\s+([.,;:])", r"\1", re.sub(r" {2,}", " ", text)).strip()
