"""Signatures in memory and on disk."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from collaudo.diagnosis.ranking import rank
from collaudo.diagnosis.signature_set import CauseInfo, SignatureSet
from collaudo.diagnosis.surrogate import fit_surrogate, load_with_surrogate, save_with_surrogate
from collaudo.errors import CatalogueError, UnknownNameError
from tests.unit.invented_signatures import draw_case, invented_set

SIGNATURES = invented_set(24)
SURROGATE = fit_surrogate(SIGNATURES)


def test_a_saved_set_is_read_back_unchanged(tmp_path: Path) -> None:
    SIGNATURES.save(tmp_path / "set.npz")
    again = SignatureSet.load(tmp_path / "set.npz")
    for name in ("causes", "readings", "checks", "known_names"):
        assert getattr(again, name) == getattr(SIGNATURES, name)
    for name in ("severity", "known", "number", "outcome"):
        np.testing.assert_array_equal(getattr(again, name), getattr(SIGNATURES, name))


def test_the_surrogate_lies_in_the_same_file_and_ranks_the_same(tmp_path: Path) -> None:
    save_with_surrogate(tmp_path / "both.npz", SIGNATURES, SURROGATE)
    signatures, surrogate = load_with_surrogate(tmp_path / "both.npz")
    case = draw_case(np.random.default_rng(3))
    fresh = rank(SIGNATURES, SURROGATE, case.findings, known=case.known)
    stored = rank(signatures, surrogate, case.findings, known=case.known)
    assert [(r.cause.id, r.probability) for r in stored.causes] == [
        (r.cause.id, r.probability) for r in fresh.causes
    ]


def test_a_file_without_surrogate_gets_one(tmp_path: Path) -> None:
    SIGNATURES.save(tmp_path / "set.npz")
    _, surrogate = load_with_surrogate(tmp_path / "set.npz")
    np.testing.assert_array_equal(surrogate.mean, SURROGATE.mean)


def test_loading_takes_less_than_a_twentieth_of_a_second(tmp_path: Path) -> None:
    save_with_surrogate(tmp_path / "both.npz", SIGNATURES, SURROGATE)
    times = []
    for _ in range(5):
        start = time.perf_counter()
        load_with_surrogate(tmp_path / "both.npz")
        times.append(time.perf_counter() - start)
    assert min(times) < 0.05


def test_a_file_of_another_format_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collaudo.diagnosis.signature_set.FORMAT", 0)
    SIGNATURES.save(tmp_path / "old.npz")
    monkeypatch.undo()
    with pytest.raises(CatalogueError, match=r"old\.npz: signatures of format 0 -- build them again"):
        SignatureSet.load(tmp_path / "old.npz")


def changed(**changes: Any) -> SignatureSet:
    return dataclasses.replace(SIGNATURES, **changes)


def with_cause(**changes: Any) -> SignatureSet:
    return changed(causes=(dataclasses.replace(SIGNATURES.causes[0], **changes), *SIGNATURES.causes[1:]))


def test_every_problem_of_a_set_is_named_at_once() -> None:
    causes = (
        CauseInfo("no-fault", "", "", -1, "", 5, 0, {"look.valve": {"damp": 2.0}}),
        *SIGNATURES.causes[1:],
    )
    with pytest.raises(CatalogueError) as caught:
        changed(causes=causes, severity=SIGNATURES.severity + 1.0)
    text = str(caught.value)
    assert "severity lies outside 0..1" in text
    assert "explains -1 of 1000 jobs" in text
    assert "no outcome 'damp' -- dry, wet" in text
    assert "are not chances" in text


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"number": SIGNATURES.number[:, 1:]}, "'number' has shape"),
        ({"known": np.full_like(SIGNATURES.known, np.nan)}, "known value is not finite"),
        ({"causes": (SIGNATURES.causes[1], *SIGNATURES.causes[1:])}, "'setting-low' is there twice"),
        (
            {"checks": (dataclasses.replace(SIGNATURES.checks[0], readings=("gone",)),)},
            "unknown reading 'gone'",
        ),
        (
            {
                "readings": (
                    dataclasses.replace(SIGNATURES.readings[0], noise_sd=-1.0),
                    *SIGNATURES.readings[1:],
                )
            },
            "negative uncertainty",
        ),
        (
            {
                "readings": (
                    *SIGNATURES.readings[:-1],
                    dataclasses.replace(SIGNATURES.readings[-1], outcomes=("a",)),
                )
            },
            "has 1 outcomes",
        ),
    ],
)
def test_a_set_that_does_not_fit_together_is_refused(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(CatalogueError, match=message):
        changed(**changes)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"repair_minutes": -1.0}, "negative repair time"),
        ({"history": {"moved": 0.0}}, "history 'moved' has the factor 0"),
        ({"seen": {"gauge.idle": {"wet": 1.0}}}, "not a reading with outcomes"),
    ],
)
def test_a_cause_that_cannot_be_is_refused(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(CatalogueError, match=message):
        with_cause(**changes)


def test_an_unknown_reading_names_its_near_misses() -> None:
    with pytest.raises(
        UnknownNameError, match=r"unknown reading 'gauge\.idel' -- did you mean 'gauge\.idle'"
    ):
        SIGNATURES.find_reading("gauge.idel")


def test_diagnosis_from_stored_signatures_imports_numpy_alone() -> None:
    code = (
        "import sys, numpy; before = set(sys.modules);"
        "import collaudo.diagnosis.next_check, collaudo.diagnosis.scoring;"
        "tops = {name.split('.')[0] for name in set(sys.modules) - before};"
        "print(sorted(top for top in tops - {'collaudo', 'numpy'} if top not in sys.stdlib_module_names))"
    )
    import collaudo.diagnosis

    source = str(Path(collaudo.diagnosis.__file__).parents[2])
    command = [sys.executable, "-c", f"import sys; sys.path.insert(0, {source!r}); {code}"]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip() == "[]"
