"""Properties any ranking must have, and the rules for priors, pairs and explanations."""

from __future__ import annotations

import dataclasses
import time

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from collaudo.diagnosis.noise import Finding
from collaudo.diagnosis.priors import Background, prior_chances
from collaudo.diagnosis.ranking import Ranking, RankingSettings, rank
from collaudo.diagnosis.signature_set import NO_FAULT, CauseInfo, ReadingInfo, SignatureSet
from collaudo.diagnosis.surrogate import fit_surrogate
from collaudo.errors import FindingsFileError, UnknownNameError
from tests.unit.invented_signatures import draw_case, invented_set
from tests.unit.worded_signatures import EXACT, cause, worded_set

SIGNATURES = invented_set()
SURROGATE = fit_surrogate(SIGNATURES)


def ranked(*findings: Finding, **changes: object) -> Ranking:
    return rank(SIGNATURES, SURROGATE, findings, **changes)  # type: ignore[arg-type]


def chances(ranking: Ranking) -> np.ndarray:
    return np.array([ranking.probability(info.id) for info in SIGNATURES.causes])


numbers = {
    "gauge.idle": st.floats(-1.0, 4.0),
    "gauge.brew": st.floats(-5.0, 20.0),
    "flow.free": st.floats(0.0, 1e4),
    "flow.return": st.floats(0.0, 1e3),
    "heat.group": st.floats(-40.0, 300.0),
    "heat.steam": st.floats(-40.0, 300.0),
    "watch.recovery": st.floats(0.0, 1e5),
}


@st.composite
def any_finding(draw: st.DrawFn) -> Finding:
    doubted = draw(st.booleans())
    name = draw(st.sampled_from([*numbers, "look.valve"]))
    if name == "look.valve":
        return Finding(name, draw(st.sampled_from(["dry", "wet", None])), doubted)
    words = st.sampled_from(["low", "normal", "high", None])
    return Finding(name, draw(st.one_of(numbers[name], words)), doubted)


several = st.lists(any_finding(), max_size=9)


@given(several)
def test_chances_sum_to_one_and_are_never_none_or_all(findings: list[Finding]) -> None:
    ranking = ranked(*findings)
    found = chances(ranking)
    assert found.sum() == pytest.approx(1.0, abs=1e-12)
    assert np.all((found > 0.0) & (found < 1.0))
    assert np.all(np.diff([item.probability for item in ranking.causes]) <= 0.0)
    assert all(item.probability <= item.involved + 1e-12 < 1.0 + 1e-9 for item in ranking.causes)
    for explained in ranking.findings:
        for predicted in explained.predicted:
            assert np.isfinite(predicted.support)
            assert 0.0 <= predicted.tail <= 1.0 + 1e-9


@given(several, st.randoms(use_true_random=False))
def test_the_order_of_findings_changes_nothing(findings: list[Finding], random: object) -> None:
    shuffled = list(findings)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert chances(ranked(*shuffled)) == pytest.approx(chances(ranked(*findings)), rel=1e-6, abs=1e-9)


@settings(max_examples=60)
@given(any_finding())
def test_a_doubted_finding_moves_less(finding: Finding) -> None:
    plain = ranked(dataclasses.replace(finding, doubted=False))
    doubted = ranked(dataclasses.replace(finding, doubted=True))
    assume(plain.evidence_bit > 0.05)
    assert doubted.evidence_bit < plain.evidence_bit


def test_without_findings_the_chances_are_nearly_the_prior() -> None:
    ranking = ranked()
    for item in ranking.causes:
        # Pairs of rarer causes are not all tried: a little shifts.
        assert item.probability == pytest.approx(item.prior, rel=0.1)
    assert ranking.evidence_bit < 0.01


@pytest.mark.parametrize(("value", "taken"), [("yes", 0.4), ("no", 0.4)])
def test_a_reading_that_all_causes_share_changes_nothing(value: str, taken: float) -> None:
    causes = [
        cause(name, p, {"alike": taken, "telling": q}) for name, p, q in (("a", 0.6, 0.9), ("b", 0.4, 0.2))
    ]
    signatures, surrogate = worded_set(causes, {"alike": ("yes", "no"), "telling": ("yes", "no")})
    without = rank(signatures, surrogate, [Finding("telling", "yes")])
    with_it = rank(signatures, surrogate, [Finding("telling", "yes"), Finding("alike", value)])
    assert with_it.probability("a") == pytest.approx(without.probability("a"), rel=1e-9)


def test_a_number_that_all_causes_share_changes_little() -> None:
    # The power of the element differs under one cause only; among the others it decides nothing.
    others = [info.id for info in SIGNATURES.causes if info.id != "element-weak"]
    base = [Finding("gauge.brew", 7.0), Finding("look.valve", "wet")]
    before, after = ranked(*base), ranked(*base, Finding("meter.power", 1420.0))
    ratio = [after.probability(name) / before.probability(name) for name in others]
    assert max(ratio) / min(ratio) < 1.35


def test_no_fault_takes_its_share_and_leaves_the_odds_of_the_others() -> None:
    faults = [cause("a", 50, {"drip": 0.9}), cause("b", 30, {"drip": 0.3})]
    sound = cause(NO_FAULT, 40, {"drip": 0.05})
    found = [Finding("drip", "yes")]
    without = rank(*worded_set(faults, {"drip": ("yes", "no")}), found, settings=EXACT)
    with_it = rank(*worded_set([sound, *faults], {"drip": ("yes", "no")}), found, settings=EXACT)
    odds = [ranking.probability("a") / ranking.probability("b") for ranking in (without, with_it)]
    assert odds[1] == pytest.approx(odds[0], rel=1e-9)
    assert with_it.probability(NO_FAULT) == pytest.approx(
        40 * 0.05 / (40 * 0.05 + 50 * 0.9 + 30 * 0.3), rel=1e-9
    )


def test_sound_readings_speak_for_no_fault() -> None:
    sound = {"gauge.idle": 1.1, "gauge.brew": 9.0, "flow.free": 110, "flow.return": 38, "heat.group": 92,
             "heat.steam": 122, "watch.recovery": 26, "meter.power": 1400, "look.valve": "dry"}  # fmt: skip
    ranking = ranked(*(Finding(name, value) for name, value in sound.items()))
    assert ranking.causes[0].cause.id == NO_FAULT
    assert ranking.causes[0].probability > 0.5


def test_a_second_reading_of_one_gauge_adds_less_than_one_of_another() -> None:
    once = ranked(Finding("gauge.idle", 0.8)).evidence_bit
    twice = ranked(Finding("gauge.idle", 0.8), Finding("gauge.idle", 0.8)).evidence_bit
    other = ranked(Finding("gauge.idle", 0.8), Finding("heat.steam", 116.5)).evidence_bit
    assert once < twice < other
    assert twice - once < 0.5 * (other - once)


def test_words_move_the_chances_the_same_way_as_numbers_and_less() -> None:
    low, number = ranked(Finding("gauge.brew", "low")), ranked(Finding("gauge.brew", 5.5))
    before = ranked()
    for name in ("pump-worn", "relief-weak"):
        assert number.probability(name) > low.probability(name) > before.probability(name)


# Priors


def test_history_multiplies_the_odds() -> None:
    causes = [cause("a", 20, history={"descaled": 3.0}), cause("b", 20), cause("c", 60)]
    signatures, surrogate = worded_set(causes, {"look": ("yes", "no")})
    ranking = rank(signatures, surrogate, [], history=["descaled", "never heard of"], settings=EXACT)
    assert ranking.probability("a") / ranking.probability("b") == pytest.approx(3.0)
    assert ranking.probability("c") / ranking.probability("b") == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("what", "factor"), [("parts_replaced", 0.1), ("parts_cleaned", 0.3), ("parts_proven_good", 0.05)]
)
def test_a_part_dealt_with_is_less_likely_to_be_at_fault(what: str, factor: float) -> None:
    causes = [cause("a", 40), cause("b", 60)]
    signatures, surrogate = worded_set(causes, {"look": ("yes", "no")})
    ranking = rank(signatures, surrogate, [], settings=EXACT, **{what: ["part of a"]})  # type: ignore[arg-type]
    assert ranking.probability("a") / ranking.probability("b") == pytest.approx(factor * 40 / 60)


def test_what_was_set_anew_clears_the_settings_of_a_part_and_leaves_its_faults() -> None:
    turned, broken = cause("turned", 40), cause("broken", 60)
    turned = dataclasses.replace(turned, part="pump", repair="set-brew-pressure")
    causes = [turned, dataclasses.replace(broken, part="pump"), cause("b", 60)]
    before = prior_chances(causes, Background())
    after = prior_chances(causes, Background(set_anew=["pump"]))
    assert after[0] / after[2] == pytest.approx(0.1 * before[0] / before[2])
    assert after[1] / after[2] == pytest.approx(before[1] / before[2])


def test_closed_jobs_of_the_shop_move_the_prior_as_counts_do() -> None:
    signatures, surrogate = worded_set([cause("a", 40), cause("b", 60)], {"look": ("yes", "no")})
    ranking = rank(signatures, surrogate, [], closed_jobs={"a": 30, "b": 10}, settings=EXACT)
    # The catalogue counts as a hundred jobs: 40 + 30 against 60 + 10.
    assert ranking.probability("a") == pytest.approx(0.5)


# Pairs


def test_two_faults_show_as_a_pair() -> None:
    random = np.random.default_rng(17)
    hits, cases = 0, 0
    while cases < 60:
        case = draw_case(random, pair_share=1.0, misread_chance=0.0)
        if len(case.truth) == 2 and len(case.findings) == 9:
            cases += 1
            ranking = rank(SIGNATURES, SURROGATE, case.findings, known=case.known)
            truth = {SIGNATURES.causes[c].id for c in case.truth}
            two_likeliest = {
                item.cause.id for item in sorted(ranking.causes, key=lambda item: -item.involved)[:2]
            }
            hits += truth == two_likeliest
    # Of 21 pairs by chance 3 in 60; faint second faults cannot be seen.
    assert hits / cases > 0.5


def test_pairs_and_singles_share_the_chances() -> None:
    ranking = ranked(Finding("gauge.brew", 4.0), Finding("look.valve", "wet"), Finding("flow.free", 60.0))
    together = sum(pair.probability for pair in ranking.pairs)
    assert 0.0 < together < 1.0
    over_one = sum(item.involved for item in ranking.causes) - 1.0
    assert over_one == pytest.approx((1 - 1e-3) * together, rel=1e-6)
    names = {frozenset((pair.first, pair.second)) for pair in ranking.pairs}
    assert len(names) == len(ranking.pairs)
    assert not any(NO_FAULT in pair for pair in names)


def test_no_pairs_are_tried_where_none_are_wanted() -> None:
    ranking = ranked(Finding("gauge.brew", 4.0), settings=RankingSettings(pair_share=0.0))
    assert ranking.pairs == ()
    assert all(item.involved == pytest.approx(item.probability) for item in ranking.causes)


# Explanations


def test_each_leader_says_what_it_predicts_and_what_speaks_for_it() -> None:
    settings = RankingSettings(explained=len(SIGNATURES.causes))
    taken = Finding("gauge.brew", 5.5), Finding("flow.return", 10.0), Finding("look.valve", "dry")
    ranking = ranked(*taken, settings=settings)
    assert ranking.causes[0].cause.id == "pump-worn"
    brew, back, look = ranking.findings
    leader = brew.predicted[0]
    assert leader.low < leader.typical < leader.high
    assert leader.low < 5.5 < leader.high
    assert back.predicted[0].speaks == "for"
    other = next(item for item in back.predicted if item.cause == "relief-weak")
    assert other.speaks == "against"
    assert other.typical > 38.0
    assert sum(look.predicted[0].chances.values()) == pytest.approx(1.0)
    assert look.predicted[0].chances["dry"] > 0.9


def test_ranges_hold_nine_of_ten_readings() -> None:
    random, inside, total = np.random.default_rng(23), 0, 0
    for _ in range(150):
        case = draw_case(random, pair_share=0.0, misread_chance=0.0)
        ranking = rank(SIGNATURES, SURROGATE, case.findings, known=case.known)
        truth = SIGNATURES.causes[case.truth[0]].id
        for explained in ranking.findings:
            for item in explained.predicted:
                if item.cause == truth and item.low is not None:
                    inside += item.low <= explained.finding.value <= item.high
                    total += 1
    # Some 1000 readings in 150 machines. The severity has been fitted to them: somewhat more than 90 in 100.
    assert 0.87 < inside / total < 0.97


def test_a_finding_no_leader_explains_is_named() -> None:
    ranking = ranked(Finding("gauge.brew", 9.0), Finding("flow.free", 110.0), Finding("heat.group", 20.0))
    assert [item.finding.reading for item in ranking.unexplained] == ["heat.group"]
    assert ranked(Finding("gauge.brew", 9.0), Finding("heat.group", 91.0)).unexplained == ()


def test_an_outcome_no_leader_explains_is_named() -> None:
    causes = [cause("a", 50, {"smell": 0.0}), cause("b", 50, {"smell": 0.001})]
    ranking = rank(*worded_set(causes, {"smell": ("yes", "no")}), [Finding("smell", "yes")])
    assert len(ranking.unexplained) == 1


# Readings that do not occur


def test_a_lamp_that_never_goes_out_points_to_the_cause_that_keeps_it_on() -> None:
    machines, random = 48, np.random.default_rng(3)
    number = np.full((2, machines, 1), np.nan)
    number[0, :, 0] = random.normal(600.0, 30.0, machines)
    severity = np.tile(np.linspace(0, 1, machines), (2, 1))
    number[1, :, 0] = np.where(severity[1] < 0.3, 900.0, np.nan)
    signatures = SignatureSet(
        (CauseInfo(NO_FAULT, "m", "", 90, "explain", 5, 0), CauseInfo("weak", "e", "", 10, "new", 40, 60)),
        (ReadingInfo("time.lamp", "time", "", "s", noise_sd=5.0),),
        (), (), severity, np.zeros((machines, 0)), number, np.full(number.shape, -1, dtype=np.int8),
    )  # fmt: skip
    surrogate = fit_surrogate(signatures)
    never = rank(signatures, surrogate, [Finding("time.lamp", None)])
    soon = rank(signatures, surrogate, [Finding("time.lamp", 610.0)])
    assert never.probability("weak") > 0.6
    assert soon.probability("weak") < 0.05
    assert never.findings[0].predicted[0].chances["did not occur"] > 0.8


# Errors


@pytest.mark.parametrize(
    ("finding", "error", "message"),
    [
        (
            Finding("gauge.ilde", 1.0),
            UnknownNameError,
            "unknown reading 'gauge.ilde' -- did you mean 'gauge.idle'",
        ),
        (
            Finding("look.valve", "wett"),
            FindingsFileError,
            "'look.valve' cannot be 'wett' -- did you mean 'wet'",
        ),
        (Finding("look.valve", 3.0), FindingsFileError, "'look.valve' cannot be 3.0"),
        (Finding("gauge.idle", "warm"), FindingsFileError, "'gauge.idle' cannot be 'warm'"),
        (Finding("gauge.idle", float("nan")), FindingsFileError, "given as nan -- a finite number, or none"),
    ],
)
def test_a_finding_that_cannot_be_is_refused(finding: Finding, error: type[Exception], message: str) -> None:
    with pytest.raises(error, match=message):
        ranked(finding)


def test_unknown_machine_values_and_causes_are_refused() -> None:
    with pytest.raises(UnknownNameError, match="unknown machine or site value 'mains'"):
        ranked(known={"mains": 230.0})
    with pytest.raises(UnknownNameError, match="unknown cause 'pump-wornn'"):
        ranked(closed_jobs={"pump-wornn": 1})


# Speed


def large_set() -> SignatureSet:
    random = np.random.default_rng(1)
    causes, machines, readings = 30, 64, 40
    effects = 3.0 * random.standard_normal((causes, readings)) * (random.random((causes, readings)) < 0.3)
    severity = random.random((causes, machines))
    number = effects[:, None, :] * severity[:, :, None] + random.standard_normal((causes, machines, readings))
    infos = tuple(
        ReadingInfo(f"k.{r}", "k", "", instrument=f"i{r % 4}", bias_sd=0.2, noise_sd=0.3)
        for r in range(readings)
    )
    return SignatureSet(
        tuple(CauseInfo(f"c{c}", f"p{c}", "", 10, f"r{c}", 20, 10) for c in range(causes)),
        infos,
        (), tuple(f"v{k}" for k in range(8)), severity, random.standard_normal((machines, 8)), number,
        np.full(number.shape, -1, dtype=np.int8),
    )  # fmt: skip


def test_ranking_thirty_causes_by_fifteen_findings_takes_less_than_sixty_milliseconds() -> None:
    signatures = large_set()
    surrogate = fit_surrogate(signatures)
    findings = [Finding(f"k.{r}", float(signatures.number[4, 3, r])) for r in range(15)]
    times = []
    for _ in range(9):
        start = time.process_time()
        assert len(rank(signatures, surrogate, findings).findings) == 15
        times.append(time.process_time() - start)
    assert min(times) < 0.060
