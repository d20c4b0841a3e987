"""What a findings sheet says: causes, what speaks for and against them, what to do next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from collaudo.bench.findings.asking_for import asks_of
from collaudo.bench.findings.before_power import CAUTION, unplugged_first
from collaudo.bench.findings.case import case_of, usable
from collaudo.bench.findings.check_cards import CheckCard, card_of, natural_order
from collaudo.bench.findings.held_signatures import Held
from collaudo.bench.findings.machine_words import MachineWords
from collaudo.bench.findings.reasons import Reasons
from collaudo.bench.findings.repairs import repair_told
from collaudo.bench.findings.sheet import Sheet, SheetFinding, Typed
from collaudo.bench.findings.told import (
    Building,
    CauseTold,
    FindingTold,
    PredictedTold,
    RangeTold,
    SheetAnswer,
)
from collaudo.bench.findings.words import chance_in_words, never_below_nought, stops
from collaudo.bench.judging.case_ranking import LEADING, ranking_of
from collaudo.bench.sound.expected import Expected
from collaudo.checks.files import COMPLAINT
from collaudo.diagnosis.cache import DRAWS
from collaudo.diagnosis.explanation import PredictedFinding
from collaudo.diagnosis.findings_file import Case
from collaudo.diagnosis.next_check import NextCheck, next_checks
from collaudo.diagnosis.ranking import RankedCause, Ranking
from collaudo.diagnosis.words import ABSENT
from collaudo.quantities.units import Choice

__all__ = ["Building", "FindingTold", "SheetAnswer", "answer_to", "leading_cause"]


def answer_to(
    sheet: Sheet, words: MachineWords, held: Held | None, choice: Choice, building: Building | None = None
) -> SheetAnswer:
    """What a sheet says; without signatures the first check of the natural order stands there."""
    sheet = usable(sheet, words)
    building = building or Building()
    if held is None:
        return _without_signatures(sheet, words, building)
    case = case_of(sheet, words)
    ranking = ranking_of(case, held.signatures, held.surrogate)
    steps = next_checks(
        held.signatures, held.surrogate, ranking, case.findings, case.condition, unreadable=_unreadable(sheet)
    )
    return _told(sheet, words, held, choice, building, case, ranking, steps)


def leading_cause(sheet: Sheet, words: MachineWords, held: Held) -> str:
    """Title of the likeliest cause; empty where nothing was found or complained of."""
    case = case_of(usable(sheet, words), words)
    if not case.findings:
        return ""
    ranking = ranking_of(case, held.signatures, held.surrogate)
    return ranking.causes[0].cause.title


def _unreadable(sheet: Sheet) -> list[str]:
    """Readings that could not be measured, and have not been since."""
    last = {f"{one.check}.{one.reading}": one.measured for one in sheet.findings}
    return [reading for reading, measured in last.items() if not measured]


def _typed(sheet: Sheet, ranking: Ranking) -> list[Typed | None]:
    """Of each ranked finding the number as it was typed; both stand in the same order."""
    entries = iter([one for one in sheet.findings if one.measured])
    return [
        None if explained.finding.reading == COMPLAINT else next(entries).typed
        for explained in ranking.findings
    ]


def _taken(sheet: Sheet) -> dict[str, list[str]]:
    taken: dict[str, list[str]] = {}
    for one in sheet.findings:
        taken.setdefault(f"{one.check}.{one.reading}", []).append(one.entry)
    return taken


def _without_signatures(sheet: Sheet, words: MachineWords, building: Building) -> SheetAnswer:
    taken = _taken(sheet)
    open_checks = [
        item
        for item in natural_order(words, sheet.condition.heat)
        if any(reading.id not in taken for reading in item.readings)
    ]
    cards, live = unplugged_first([card_of(item, taken=taken) for item in open_checks], sheet)
    first, alternative, others = _shared_out(cards, sheet.stop)
    return SheetAnswer(
        ready="none",
        draws=building.draws,
        of_draws=DRAWS,
        building=building.building,
        left_s=building.left_s,
        causes=[],
        findings=[_bare(one) for one in sheet.findings if one.measured],
        next=first,
        alternative=alternative,
        others=others,
        repair=None,
        unexplained=[],
        cautions=_once([*_dangers(sheet, live=live), *(first.cautions if first else [])]),
        asks=[],
    )


def _told(
    sheet: Sheet, words: MachineWords, held: Held, choice: Choice, building: Building,
    case: Case, ranking: Ranking, steps: Sequence[NextCheck],
) -> SheetAnswer:  # fmt: skip
    expected = held.expected(case.known)
    reasons = Reasons(ranking, held, expected, choice, _typed(sheet, ranking))
    taken = _taken(sheet)
    cards = [
        card_of(
            words.checks[step.id],
            expected,
            taken,
            (step.minutes, step.wait_minutes),
            step.expected_saving_min,
        )
        for step in steps
        if step.kind == "check" and step.id in words.checks
    ]
    cards, live = unplugged_first(cards, sheet)
    first, alternative, others = _shared_out(cards, sheet.stop)
    causes = [_cause(item, reasons) for item in ranking.causes]
    repair = repair_told(ranking, steps, live=live) if not sheet.stop else None
    cautions = [text for cause in causes[:LEADING] for text in cause.cautions]
    return SheetAnswer(
        ready="whole" if held.draws >= DRAWS else "first",
        draws=held.draws,
        of_draws=DRAWS,
        building=building.building,
        left_s=building.left_s,
        causes=causes,
        findings=_findings(sheet, ranking, expected, held),
        next=first,
        alternative=alternative,
        others=others,
        repair=repair,
        unexplained=[reasons.finding(one) for one in ranking.unexplained],
        cautions=_once([*_dangers(sheet, live=live), *(first.cautions if first else []), *cautions]),
        asks=asks_of(case, words, held, ranking, first),
    )


def _shared_out(
    cards: Sequence[CheckCard], stop: str
) -> tuple[CheckCard | None, CheckCard | None, list[CheckCard]]:
    """The next check, one alternative, and the rest; while there is danger none."""
    if stop or not cards:
        return None, None, []
    first, rest = cards[0], list(cards[1:])
    alternative = next((card for card in rest if _is_other(card, first)), rest[0] if rest else None)
    return first, alternative, [card for card in rest if card is not alternative]


def _is_other(card: CheckCard, first: CheckCard) -> bool:
    """Whether a check can be made where the first one cannot: with other tools, or in another condition."""
    other_condition = card.needs != first.needs or card.lid != first.lid
    return other_condition or (bool(first.tools) and not set(first.tools) <= set(card.tools))


def _cause(item: RankedCause, reasons: Reasons) -> CauseTold:
    cause = item.cause
    said = reasons.of.get(cause.id, {"for": [], "against": []})
    return CauseTold(
        cause=cause.id,
        part=cause.part,
        title=cause.title,
        chance=chance_in_words(item.probability),
        share=round(item.probability, 2),
        why=cause.why,
        remedy=cause.remedy,
        minutes=cause.repair_minutes,
        parts_eur=cause.parts_cost_eur,
        cautions=list(cause.cautions),
        for_=said["for"],
        against=said["against"],
    )


def _findings(
    sheet: Sheet, ranking: Ranking, expected: Mapping[str, Expected], held: Held
) -> list[FindingTold]:
    """Every finding as it was ranked, beside the entry it comes from."""
    readings = {reading.id: reading for reading in held.signatures.readings}
    entries = iter([one for one in sheet.findings if one.measured])
    told = []
    for explained in ranking.findings:
        finding = explained.finding
        entry: SheetFinding | None = None if finding.reading == COMPLAINT else next(entries, None)
        info, sound = readings[finding.reading], expected.get(finding.reading)
        check, _, word = finding.reading.partition(".")
        told.append(
            FindingTold(
                entry=entry.entry if entry else "",
                check=check,
                reading=word,
                title=info.title,
                value=finding.value,
                unit=info.unit,
                doubted=finding.doubted,
                unexplained=explained.unexplained,
                expected=_range(sound),
                chances=dict(sound.chances) if sound else {},
                predicted=[_predicted(item, finding.value, info.unit) for item in explained.predicted],
            )
        )
    return told


def _bare(one: SheetFinding) -> FindingTold:
    """A finding while nothing is known of what machines show."""
    return FindingTold(
        entry=one.entry,
        check=one.check,
        reading=one.reading,
        title=one.title,
        value=one.value,
        unit=one.unit,
        doubted=one.doubted,
        unexplained=False,
        expected=None,
        chances={},
        predicted=[],
    )


def _range(sound: Expected | None) -> RangeTold | None:
    if sound is None or not isinstance(sound.typical, float) or sound.low is None or sound.high is None:
        return None
    return RangeTold(sound.low, sound.typical, sound.high)


def _predicted(item: PredictedFinding, value: float | str | None, unit: str) -> PredictedTold:
    word = ABSENT if value is None else value
    chance = item.chances.get(word) if isinstance(word, str) else None
    low, typical, high = (
        None if one is None else never_below_nought(one, unit) for one in (item.low, item.typical, item.high)
    )
    return PredictedTold(item.cause, low, typical, high, chance, item.speaks)


def _dangers(sheet: Sheet, *, live: bool) -> tuple[str, ...]:
    """What comes before everything else while there is danger."""
    if sheet.stop in stops():
        return stops()[sheet.stop].first
    return (CAUTION,) if live else ()


def _once(texts: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(texts))
