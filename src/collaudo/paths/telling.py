"""A path as text: in full for an apprentice, short and without jargon for a customer."""

from __future__ import annotations

from collaudo.paths.model import NOTHING_DRIVES, Path, Step, Walk
from collaudo.paths.words import capital, joined, sentence, spoken, the

AUDIENCES = ("apprentice", "customer")
LEAST_TOLD_W = 5.0
"""What takes less current is no matter for a customer: lamps, boards, coils."""


def told(path: Path, audience: str) -> list[str]:
    """Lines of text; blanks at a line's beginning are its indentation."""
    lines = [f"{path.title}: {path.state_title.lower()}.", path.summary, ""]
    if audience == "customer":
        told_walks = dict.fromkeys(tuple(_for_customer(walk)) for walk in path.walks)
        return [*lines, *(line for walk in told_walks for line in walk)][:-1]
    told_parts: set[str] = set()
    for walk in path.walks:
        lines += _for_apprentice(walk, told_parts)
    return lines[:-1]


def _for_apprentice(walk: Walk, told_parts: set[str]) -> list[str]:
    """Title, reason, numbered steps; what a part does and how it fails is told once."""
    shut = walk.kind == "closed" and walk.why
    steps = apprentice_steps(walk, told_parts)
    if not steps and not walk.why:
        return []
    lines = [f"{walk.title} (closed)" if shut and walk.why != NOTHING_DRIVES else walk.title]
    if walk.why:
        lines.append(f"  {joined(walk.why)}")
    for number, step in enumerate(steps, 1):
        lines += _step_lines(number, step, told_parts)
    return [*lines, ""]


def apprentice_steps(walk: Walk, told_parts: set[str]) -> list[Step]:
    """Those of which there is something to say: what a part is for is told once."""
    return [step for step in walk.steps if step.says or step.part not in told_parts]


def _step_lines(number: int, step: Step, told_parts: set[str]) -> list[str]:
    first = step.part not in told_parts
    told_parts.add(step.part)
    lines = [f"{number:2}. {capital(spoken(step.part))}" + (f": {step.does}." if first else ".")]
    if step.says:
        lines.append(f"    {joined(' '.join(step.says))}")
    if first and step.fails:
        lines.append(f"    When it fails, it {step.fails}.")
    return lines


ROUND = "Hot water goes round here by itself and keeps warm what must not be cold."
"""All a customer is told of a circulation."""


def _for_customer(walk: Walk) -> list[str]:
    """A paragraph of what does something; nothing of what is shut."""
    if walk.kind == "circulation":
        return [ROUND, ""]
    sentences = [text for _, text in customer_steps(walk)]
    return [" ".join(dict.fromkeys(sentences)), ""] if sentences else []


def customer_steps(walk: Walk) -> list[tuple[Step, str]]:
    """The steps of a way with their sentences; none of what is shut, nor of what takes next to nothing."""
    drawn = [step.facts["volts_V"] * step.facts["amps_A"] for step in walk.steps if "amps_A" in step.facts]
    if walk.kind == "closed" or (walk.kind == "branch" and (not drawn or max(drawn) < LEAST_TOLD_W)):
        return []
    return [(step, sentence(f"{the(step.part)} {step.customer}{_number(step)}")) for step in walk.steps]


def _number(step: Step) -> str:
    """The one number a customer can picture: pressure raised, how hot it has become, power."""
    facts = step.facts
    if facts.get("amps_A", 0.0) * facts.get("volts_V", 0.0) >= 100.0:
        return f" ({round(facts['amps_A'] * facts['volts_V'], -1):.0f} W)"
    if facts.get("out_bar", 0.0) > facts.get("in_bar", 0.0) + 1.0:
        return f" (about {round(2.0 * facts['out_bar']) / 2.0:g} bar)"
    if facts.get("out_degC", 0.0) > facts.get("in_degC", facts.get("out_degC", 0.0)) + 5.0:
        return f" (about {facts['out_degC']:.0f} °C)"
    return ""
