"""A sheet is the fold of its entries: the same whenever it is folded, whatever was taken back between."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from collaudo.bench.findings.machine_words import MachineWords, words_for
from collaudo.bench.findings.sheet import Sheet, fold, kept_entries
from collaudo.bench.machines.shelf import Shelf

BEGIN = {"entry": "begin-00", "at": "2026-11-25T08:00:00+00:00", "kind": "begin", "machine": "hx-vibration"}
KINDS: list[dict[str, Any]] = [
    {"kind": "complaint", "words": ["slow"]},
    {"kind": "complaint", "words": []},
    {"kind": "stop", "word": "wet"},
    {"kind": "condition", "heat": "hot"},
    {"kind": "site", "values": {"mains_V": 228.0}},
    {"kind": "site", "values": {"mains_V": None}},
    {"kind": "reading", "check": "free-flow", "reading": "water", "value": 45.0, "unit": "g"},
    {"kind": "reading", "check": "warm-up", "reading": "fills", "value": "several"},
    {"kind": "not_measured", "check": "free-flow", "reading": "water"},
    {"kind": "part", "part": "pump", "done": "replaced"},
    {"kind": "part", "part": "pump", "done": ""},
    {"kind": "note", "text": "x"},
    {"kind": "label", "text": "y"},
    {"kind": "undo"},
]


def words() -> MachineWords:
    return words_for(Shelf(Path("nowhere")), "hx-vibration")


@st.composite
def entries(draw: st.DrawFn) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = [BEGIN]
    for number in range(draw(st.integers(0, 12))):
        names = [one["entry"] for one in found if one["kind"] in ("reading", "not_measured")]
        choices = KINDS + [{"kind": kind, "of": of} for of in names for kind in ("strike", "undo")]
        choices += [{"kind": "doubt", "of": of, "doubted": True} for of in names]
        about = {"entry": f"entry-{number:02d}", "at": f"2026-11-25T08:{number:02d}:00+00:00"}
        found.append(about | draw(st.sampled_from(choices)))
    return found


def content(sheet: Sheet) -> dict[str, Any]:
    """All of a sheet but what counts its entries."""
    return {key: value for key, value in vars(sheet).items() if key not in ("count", "changed")}


@settings(max_examples=150)
@given(every=entries())
def test_folding_is_the_same_every_time_and_changes_no_entry(every: list[dict[str, Any]]) -> None:
    before = [dict(one) for one in every]
    assert fold("a", every, words()) == fold("a", every, words())
    assert every == before


@settings(max_examples=150)
@given(every=entries(), more=st.sampled_from(KINDS[:-1]))
def test_undo_makes_as_if_the_last_entry_had_never_been(
    every: list[dict[str, Any]], more: dict[str, Any]
) -> None:
    at = {"at": "2026-11-25T09:00:00+00:00"}
    there = fold("a", every, words())
    done = [*every, {"entry": "entry-98", **at, **more}]
    back = fold("a", [*done, {"entry": "entry-99", **at, "kind": "undo"}], words())
    assert content(back) == content(there)


@settings(max_examples=150)
@given(every=entries())
def test_what_stands_folds_to_the_same_sheet(every: list[dict[str, Any]]) -> None:
    standing = [BEGIN, *kept_entries(every)]
    assert content(fold("a", standing, words())) == content(fold("a", every, words()))


@settings(max_examples=50)
@given(every=entries())
def test_undoing_everything_leaves_an_empty_sheet(every: list[dict[str, Any]]) -> None:
    at = {"at": "2026-11-25T09:00:00+00:00", "kind": "undo"}
    undone = [*every, *({"entry": f"undo-{n:04d}", **at} for n in range(len(every)))]
    assert content(fold("a", undone, words())) == content(fold("a", [BEGIN], words()))
    assert fold("a", undone, words()).undo == ""


@settings(max_examples=50)
@given(every=entries())
def test_a_machine_that_is_gone_costs_titles_and_nothing_else(every: list[dict[str, Any]]) -> None:
    with_words, without = fold("a", every, words()), fold("a", every, None)
    assert [(one.entry, one.doubted, one.measured) for one in without.findings] == [
        (one.entry, one.doubted, one.measured) for one in with_words.findings
    ]
    assert (without.complaints, without.stop, without.site) == (
        with_words.complaints,
        with_words.stop,
        with_words.site,
    )


def test_a_line_that_lacks_something_costs_that_line_alone() -> None:
    broken = {"entry": "entry-01", "at": "2026-11-25T08:01:00+00:00", "kind": "complaint"}
    right = {"entry": "entry-02", "at": "2026-11-25T08:02:00+00:00", "kind": "note", "text": "kept"}
    assert fold("a", [BEGIN, broken, right], words()).note == "kept"
