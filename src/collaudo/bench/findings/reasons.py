"""What speaks for and against each leading cause, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from collaudo.bench.findings.entry_words import value_in_words
from collaudo.bench.findings.held_signatures import Held
from collaudo.bench.findings.sheet import Typed
from collaudo.bench.findings.words import (
    complaint_in_words,
    finding_in_words,
    never_below_nought,
    reason_in_words,
)
from collaudo.bench.sound.expected import Expected
from collaudo.bench.units_in_texts import in_chosen_units
from collaudo.checks.files import COMPLAINT
from collaudo.diagnosis.explanation import ExplainedFinding, PredictedFinding
from collaudo.diagnosis.ranking import Ranking
from collaudo.diagnosis.words import ABSENT
from collaudo.quantities.units import Choice


class Reasons:
    """Of one ranking, in the reader's units."""

    def __init__(
        self,
        ranking: Ranking,
        held: Held,
        expected: Mapping[str, Expected],
        choice: Choice,
        typed: Sequence[Typed | None],
    ) -> None:
        self._readings = {reading.id: reading for reading in held.signatures.readings}
        self._expected, self._choice = expected, choice
        self._typed = {id(one): number for one, number in zip(ranking.findings, typed, strict=True)}
        self.of: dict[str, dict[str, list[str]]] = {}
        for finding in ranking.findings:
            for item in sorted(finding.predicted, key=lambda one: -abs(one.support)):
                if item.speaks != "neither":
                    said = self.of.setdefault(item.cause, {"for": [], "against": []})
                    said[item.speaks].append(self._sentence(finding, item))

    def finding(self, explained: ExplainedFinding) -> str:
        """The finding itself, in words."""
        finding = explained.finding
        info = self._readings[finding.reading]
        if finding.reading == COMPLAINT:
            return f"Complaint: {complaint_in_words(str(finding.value))}"
        title, typed = in_chosen_units(info.title, self._choice), self._typed.get(id(explained))
        if typed is not None and typed.unit == self._choice.unit_for(info.unit):
            return f"{title[:1].upper()}{title[1:]}: {value_in_words(typed.value, typed.unit)}"
        return finding_in_words(title, finding.value, info.unit, self._choice)

    def _sentence(self, explained: ExplainedFinding, item: PredictedFinding) -> str:
        finding, info = explained.finding, self._readings[explained.finding.reading]
        expected = self._expected.get(finding.reading)
        made: tuple[float, float] | float
        sound: tuple[float, float] | float | None = None
        if item.low is not None and item.high is not None:
            made = never_below_nought(item.low, info.unit), never_below_nought(item.high, info.unit)
            if expected and expected.low is not None and expected.high is not None:
                sound = expected.low, expected.high
        else:
            word = str(ABSENT if finding.value is None else finding.value)
            made = item.chances.get(word, 0.0)
            sound = expected.chances.get(word) if expected else None
        return reason_in_words(self.finding(explained), made, sound, info.unit, self._choice)
