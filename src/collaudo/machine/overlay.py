"""One machine file laid over another it is like: it gives only what differs.

- ``parts``: fields go into the part of the same name; a part given with another ``kind`` takes its place;
  ``name: none`` takes it out, with its lines, wires, settings, spreads and place in the drawing.
- ``lines``, ``wires``: come to those there are; a line between the same two ports takes the other's place.
  ``without_lines`` and ``without_wires``, lists of ``[end, end]``, take single ones out.
- ``settings``: as parts. ``spreads`` and ``drawing``: entry by entry; ``none`` takes one out.

The result is one tree of nodes that each still know their own file and line. What has no sense where it
stands (a list for a mapping …) is passed on as it is, for the loader to refuse.
"""

from __future__ import annotations

from dataclasses import replace

from collaudo.errors import near_misses
from collaudo.machine.source import Node, Problems, take_list

NONE = "none"
ENDS = {"lines": ("from", "to"), "wires": ()}
"""How the two ends of a line and of a wire are written: keys, or the two entries of a list."""

TOP_KEYS = ("machine", "title", "parts", "lines", "wires", "settings", "spreads", "drawing")
"""What a whole machine file holds, in the order it is written."""

_NAMED = ("parts", "settings", "spreads", "drawing")
_OWN = ("like", "without_lines", "without_wires")
_REQUIRED_OF_TOP = ("machine", "title")

Tree = dict[str, Node]
Pair = frozenset[object]


def laid_over(base: Node, top: Node, problems: Problems) -> Node:
    """The whole machine that ``top`` means, where it says ``like: base``."""
    if not isinstance(base.value, dict) or not isinstance(top.value, dict):
        return base
    below, above = base.value, top.value
    whole = {key: node for key, node in below.items() if key not in (*_OWN, *_REQUIRED_OF_TOP)}
    gone = _names_taken_out(below, above)
    for key, node in above.items():
        if key in _NAMED and key in below:
            whole[key] = _entries_laid_over(key, below[key], node, problems)
        elif key in ENDS and key in below:
            whole[key] = _joins_laid_over(key, below[key], node)
        elif key in TOP_KEYS:
            whole[key] = node
        elif key not in _OWN:
            known = near_misses(key[:60], (*TOP_KEYS, *_OWN))
            problems.add(f"the machine file has the unknown key {key[:60]!r}", node, known)
    for key in ENDS:
        _take_out_joins(whole, above, key, gone, problems)
    _take_out_what_named(whole, above, gone)
    return replace(top, value=whole)


def _is_none(node: Node) -> bool:
    return node.value == NONE


def _names_taken_out(below: Tree, above: Tree) -> set[str]:
    said = _mapping(above, "parts")
    return {name for name, node in said.items() if _is_none(node)} & _mapping(below, "parts").keys()


def _mapping(tree: Tree, key: str) -> Tree:
    node = tree.get(key)
    return node.value if node and isinstance(node.value, dict) else {}


def _entries_laid_over(what: str, base: Node, top: Node, problems: Problems) -> Node:
    """Named entries: merged where both are mappings of the same kind, else the upper one alone."""
    if not isinstance(base.value, dict) or not isinstance(top.value, dict):
        return base if isinstance(top.value, dict) else top
    entries = dict(base.value)
    for name, node in top.value.items():
        if not _is_none(node):
            entries[name] = _merged(entries.get(name), node) if what in ("parts", "settings") else node
        elif name in entries:
            del entries[name]
        else:
            near = near_misses(name[:60], base.value) if base.value else "leave it out"
            problems.add(f"{what}: the machine this is like has no {name[:60]!r}", node, near)
    return replace(top, value=entries)


def _merged(base: Node | None, top: Node) -> Node:
    if base is None or not isinstance(base.value, dict) or not isinstance(top.value, dict):
        return top
    if "kind" in top.value and "kind" in base.value and top.value["kind"].value != base.value["kind"].value:
        return top
    return replace(top, value={**base.value, **top.value})


def _joins_laid_over(what: str, base: Node, top: Node) -> Node:
    """Lines or wires of both; one of the base gives way to one between the same two ends."""
    if not isinstance(base.value, list) or not isinstance(top.value, list):
        return base if isinstance(top.value, list) else top
    renewed = {_ends(what, node) for node in top.value} - {None}
    return replace(top, value=[*(n for n in base.value if _ends(what, n) not in renewed), *top.value])


def _ends(what: str, node: Node) -> Pair | None:
    """The two ends of a line or wire, whichever comes first; None where there are not two."""
    value = node.value
    if isinstance(value, dict):
        value = [value[key] for key in ENDS[what] if key in value]
    if not isinstance(value, list) or len(value) != 2:
        return None
    ends = [end.value for end in value]
    return frozenset(ends) if all(isinstance(end, str) for end in ends) else None


def _take_out_joins(whole: Tree, above: Tree, what: str, gone: set[str], problems: Problems) -> None:
    """Lines or wires named to go, and those of parts that went."""
    list_of = whole.get(what)
    if list_of is None or not isinstance(list_of.value, list):
        return
    own = above[what].value if what in above else []
    kept = [node for node in list_of.value if _stays(what, node, gone, own)]
    for entry in _named_to_go(above, what, problems):
        pair = _ends("wires", entry)
        if pair is None:
            problems.add(f"without_{what}: this names no two ends", entry, "write '- [part.end, part.end]'")
        elif any(_ends(what, node) == pair for node in kept):
            kept = [node for node in kept if _ends(what, node) != pair]
        else:
            said = " and ".join(sorted(map(str, pair)))
            near = _other_ends(what, kept, pair)
            problems.add(f"without_{what}: there is none between {said[:120]}", entry, near)
    whole[what] = replace(list_of, value=kept)


def _stays(what: str, node: Node, gone: set[str], own: object) -> bool:
    """Whether a join stays; one the upper file draws to a part it takes out is left, to be refused."""
    pair = _ends(what, node) or ()
    touches = any(str(end).partition(".")[0] in gone for end in pair)
    return not touches or (isinstance(own, list) and any(node is entry for entry in own))


def _named_to_go(above: Tree, what: str, problems: Problems) -> list[Node]:
    key = f"without_{what}"
    return take_list(above[key], key, problems) if key in above else []


def _other_ends(what: str, nodes: list[Node], pair: Pair) -> str:
    """What would be right: the far ends of the lines or wires at either end named."""
    met = [other for node in nodes if (other := _ends(what, node)) and other & pair]
    pairs = sorted(" and ".join(sorted(map(str, other))) for other in met)
    return f"there are: {'; '.join(pairs[:4])}" if pairs else "leave it out"


def _take_out_what_named(whole: Tree, above: Tree, gone: set[str]) -> None:
    """Settings, spreads and places of parts that went."""
    for key in ("settings", "spreads", "drawing"):
        node, own = whole.get(key), _mapping(above, key)
        if node is None or not isinstance(node.value, dict):
            continue
        stays = {name for name, entry in node.value.items() if _part_of(key, name, entry) not in gone}
        kept = {name: entry for name, entry in node.value.items() if name in own or name in stays}
        whole[key] = replace(node, value=kept)


def _part_of(key: str, name: str, entry: Node) -> str:
    if key != "settings":
        return name.partition(".")[0]
    sets = entry.value.get("sets") if isinstance(entry.value, dict) else None
    return str(sets.value).partition(".")[0] if sets else ""
