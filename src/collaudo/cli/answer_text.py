"""An answer as a technician with wet hands reads it: three causes, one next check, one alternative."""

from __future__ import annotations

from collaudo.bench.judging.answer import Answer, Explained, Foreseen, RankedFault, Step
from collaudo.bench.judging.case_ranking import LEADING
from collaudo.bench.naming import part_in_words
from collaudo.cli.words import (
    chance_in_words,
    minutes_in_words,
    range_in_words,
    value_in_words,
    wrapped,
)

MOST_FOR, MOST_AGAINST = 3, 2
"""Findings named for and against each cause."""
UNLIKELY = 0.01
"""Of a less likely cause only what speaks most against it is named."""
_CONDITIONS = {"cold": "machine cold", "warm": "machine warm", "hot": "machine hot"}
_LIDS = {"off": "lid off", "on": "lid on"}


def answer_text(answer: Answer, *, all_causes: bool = False, refining: bool = False) -> list[str]:
    """The lines of an answer; ``refining`` where a better one is on its way."""
    lines = [f"{answer.machine}: {answer.title}"]
    if answer.first:
        more = "it is being refined" if refining else "without --first it is refined"
        lines += [f"First answer, from {answer.draws} drawn machines; {more}."]
    lines += ["", "What it may be"]
    for place, fault in enumerate(answer.causes[:LEADING], 1):
        lines += _cause(place, fault, answer.findings)
    lines += _others(answer.causes[LEADING:], all_causes)
    lines += _unexplained(answer.findings)
    return [*lines, "", *_next(answer), "", *wrapped(_LIMITS, "")]


_LIMITS = (
    "Chances, not proof: they rest on the readings given and the causes known here. No part is replaced "
    "before its supply and its harmless alternatives are tested. Local codes and licensed work come first."
)


def _cause(place: int, fault: RankedFault, findings: list[Explained]) -> list[str]:
    head = f" {place}. {chance_in_words(fault.probability):15}"
    lines = wrapped(f"{fault.title} ({part_in_words(fault.part)})", head)
    unlikely = fault.probability < UNLIKELY
    for word, most in (("for", 0 if unlikely else MOST_FOR), ("against", 1 if unlikely else MOST_AGAINST)):
        for text in _speaking(word, fault.cause, findings)[:most]:
            lines += wrapped(text, f"      {word + ':':9}")
    return lines


def _speaking(word: str, cause: str, findings: list[Explained]) -> list[str]:
    """Findings that speak for or against a cause, the strongest first; readings of one thing together."""
    pairs = [
        (finding, foreseen)
        for finding in findings
        for foreseen in finding.predicted
        if foreseen.cause == cause and foreseen.speaks == word
    ]
    together: dict[str, list[tuple[Explained, Foreseen]]] = {}
    for finding, foreseen in sorted(pairs, key=lambda pair: -abs(pair[1].support)):
        together.setdefault(_name(finding), []).append((finding, foreseen))
    return [
        f"{name}: {', '.join(_value(finding) for finding, _ in same)}{_expected(*same[0])}"
        for name, same in together.items()
    ]


def _name(finding: Explained) -> str:
    return f"{finding.check_title}, {finding.title}" if finding.check_title else finding.title


def _value(finding: Explained) -> str:
    return value_in_words(finding.value, finding.unit) + (" (doubted)" if finding.doubted else "")


def _expected(finding: Explained, foreseen: Foreseen) -> str:
    """The range, or the chance, that the cause gives the finding."""
    if foreseen.low is not None and foreseen.high is not None:
        return f" (with it {range_in_words(foreseen.low, foreseen.high, finding.unit)})"
    return "" if foreseen.chance is None else f" (with it {chance_in_words(foreseen.chance)})"


def _others(causes: list[RankedFault], every: bool) -> list[str]:
    if not causes:
        return []
    if not every:
        together = chance_in_words(sum(fault.probability for fault in causes))
        return [f"    {together:15}any of {len(causes)} other causes (--all shows them)"]
    return [
        f"{place:2}. {chance_in_words(fault.probability):15}{fault.title} ({part_in_words(fault.part)})"
        for place, fault in enumerate(causes, LEADING + 1)
    ]


def _unexplained(findings: list[Explained]) -> list[str]:
    odd = [f"{_name(finding)}: {_value(finding)}" for finding in findings if finding.unexplained]
    if not odd:
        return []
    advice = "none of the leading causes explains this; take it again, or look beyond this list"
    return ["", *wrapped(f"{'; '.join(odd)} -- {advice}.", "Unexplained: ")]


def _next(answer: Answer) -> list[str]:
    """The next thing to do and its alternative."""
    steps, repair = answer.next_checks, answer.repair
    if not repair.now and steps:
        lines = _check("Next check: ", steps[0])
        if len(steps) > 1 and steps[1].expected_saving_min > 0.0:
            return [*lines, *_alternative(steps[1])]
        return [*lines, *_repair("Or repair at once: ", answer)]
    lines = _repair("Repair now: ", answer)
    lines += ["   Then see whether the machine is cured before anything else is changed."]
    return [*lines, *(_alternative(steps[0]) if steps else [])]


def _check(head: str, step: Step) -> list[str]:
    lines = wrapped(f"{step.title} ({step.check}), {_costs(step)}; {_saves(step)}.", head, "   ")
    lines += wrapped(step.why, "   ")
    for place, text in enumerate(step.steps, 1):
        lines += wrapped(text, f"   {place}. ")
    if step.tools:
        lines += wrapped(", ".join(step.tools), "   Tools: ")
    for text in step.cautions:
        lines += wrapped(text, "   CAUTION: ")
    return lines


def _costs(step: Step) -> str:
    conditions = [_CONDITIONS.get(step.needs, ""), _LIDS.get(step.lid, "")]
    return ", ".join([minutes_in_words(step.minutes, step.wait_minutes), *filter(None, conditions)])


def _saves(step: Step) -> str:
    saving = step.expected_saving_min
    if saving >= 0.5:
        return f"on average it saves {round(saving)} min"
    return (
        "on average it is hardly worth its time"
        if saving > -0.5
        else (f"on average it costs {round(-saving)} min more than it saves")
    )


def _alternative(step: Step) -> list[str]:
    return wrapped(f"{step.title} ({step.check}), {_costs(step)}; {_saves(step)}.", "Or check first: ", "   ")


def _repair(head: str, answer: Answer) -> list[str]:
    repair = answer.repair
    lines = wrapped(
        f"{repair.title} ({part_in_words(repair.part)}), {minutes_in_words(repair.minutes)}.", head, "   "
    )
    lines += wrapped(repair.remedy, "   ")
    for text in repair.cautions:
        lines += wrapped(text, "   CAUTION: ")
    return lines
