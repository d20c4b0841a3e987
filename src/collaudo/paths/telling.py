"""A path as text: in full for an apprentice, short and without jargon for a customer."""

from __future__ import annotations

from collaudo.paths.model import Path, Step, Walk
from collaudo.paths.words import capital, joined, sentence, spoken, the

AUDIENCES = ("apprentice", "customer")
_MATTERS = {"water": "water", "heat": "heat", "current": "current"}


def told(path: Path, audience: str) -> list[str]:
    """Lines of text; a line that begins with two blanks belongs to the step above it."""
    lines = [f"{path.title}: {path.state_title.lower()}.", path.summary, ""]
    walks = [walk for walk in path.walks if audience == "apprentice" or walk.kind in ("way", "circulation")]
    told_parts: set[str] = set()
    for walk in walks:
        lines += _for_apprentice(walk, told_parts) if audience == "apprentice" else _for_customer(walk)
    return lines[:-1]


def _for_apprentice(walk: Walk, told_parts: set[str]) -> list[str]:
    """Title, reason, numbered steps; what a part does and how it fails is told once."""
    lines = [f"{walk.title}{' (closed)' if walk.kind == 'closed' and walk.why else ''}"]
    if walk.why:
        lines.append(f"  {joined(walk.why)}")
    for number, step in enumerate(walk.steps, 1):
        lines += _step_lines(number, step, told_parts)
    return [*lines, ""]


def _step_lines(number: int, step: Step, told_parts: set[str]) -> list[str]:
    lines = [f"{number:2}. {capital(spoken(step.part))}"]
    if step.part not in told_parts:
        lines[0] += f": {step.does}."
    if step.says:
        lines.append(f"    {joined(' '.join(step.says))}")
    if step.part not in told_parts and step.fails:
        lines.append(f"    When it fails, it {step.fails}.")
    told_parts.add(step.part)
    return lines


def _for_customer(walk: Walk) -> list[str]:
    """One line a part that does something."""
    lines = [walk.title]
    if walk.kind == "circulation":
        lines.append("  Hot water goes round here by itself and keeps the group hot.")
    for step in walk.steps:
        lines.append(f"  {sentence(f'{spoken(step.part)}: {step.customer}')}{_customer_number(step)}")
    return [*lines, ""]


def _customer_number(step: Step) -> str:
    """The one number a customer can feel: how hot, how much pressure, how much power."""
    facts = step.facts
    if "watts_W" in facts and facts["watts_W"] >= 100.0:
        return f" ({facts['watts_W']:.0f} W)"
    if "out_bar" in facts and facts["out_bar"] > facts.get("in_bar", 0.0) + 1.0:
        return f" (about {facts['out_bar']:.0f} bar)"
    if "out_degC" in facts and facts["out_degC"] > facts.get("in_degC", facts["out_degC"]) + 5.0:
        return f" (about {facts['out_degC']:.0f} °C)"
    return ""


__all__ = ["AUDIENCES", "the", "told"]
