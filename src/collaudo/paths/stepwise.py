"""A path step by step: what is told at each part, for an apprentice or a customer."""

from __future__ import annotations

from dataclasses import dataclass

from collaudo.paths.model import NOTHING_DRIVES, Path, Step, Walk
from collaudo.paths.telling import ROUND, apprentice_steps, customer_steps
from collaudo.paths.words import capital, joined, sentence, spoken, the


@dataclass(frozen=True)
class ToldStep:
    """What is told at one part; a customer is told of a whole circulation at once."""

    steps: tuple[Step, ...]
    name: str
    sentence: str
    """What it is for, a whole sentence."""
    now: str = ""
    """What happens there at this moment: whole sentences."""
    fails: str = ""
    """How it fails and how that shows: a sentence."""


@dataclass(frozen=True)
class ToldWalk:
    """Steps that belong together. ``kind``: way, branch, circulation, closed."""

    kind: str
    title: str
    why: str
    steps: tuple[ToldStep, ...]


def stepwise(path: Path, audience: str) -> list[ToldWalk]:
    """The walks of a path with what is told at each step: the same that `telling.told` says in a row."""
    if audience == "customer":
        walks = [_for_customer(walk) for walk in path.walks]
        # Two pumps of one kind, two groups: what would be told in the same words is told once.
        once = {tuple(step.sentence for step in walk.steps): walk for walk in reversed(walks) if walk.steps}
        return list(reversed(once.values()))
    told: set[str] = set()
    found = []
    for walk in path.walks:
        steps = tuple(_for_apprentice(step, told) for step in apprentice_steps(walk, told))
        if steps or walk.why:
            # A gauge at the end of its tube, a way that nothing drives: still, yet nothing shuts them.
            still = walk.kind == "closed" and walk.why in ("", NOTHING_DRIVES)
            kind = "way" if still else walk.kind
            found.append(ToldWalk(kind, walk.title, joined(walk.why), steps))
    return found


def _for_apprentice(step: Step, told: set[str]) -> ToldStep:
    first = step.part not in told
    told.add(step.part)
    return ToldStep(
        (step,),
        capital(spoken(step.part)),
        sentence(f"{the(step.part)} {step.does}"),
        joined(" ".join(step.says)),
        f"When it fails, it {step.fails}." if first and step.fails else "",
    )


def _for_customer(walk: Walk) -> ToldWalk:
    if walk.kind == "circulation":
        steps: tuple[ToldStep, ...] = (ToldStep(walk.steps, "Circulation", ROUND),)
    else:
        said: dict[str, ToldStep] = {}
        for step, text in customer_steps(walk):
            there = said.get(text)
            together = (*there.steps, step) if there else (step,)
            said[text] = ToldStep(together, capital(spoken(step.part)), text)
        steps = tuple(said.values())
    return ToldWalk(walk.kind, walk.title, "", steps)
