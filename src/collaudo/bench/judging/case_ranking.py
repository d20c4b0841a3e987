"""The causes of a case, best first."""

from __future__ import annotations

from collaudo.diagnosis.findings_file import Case
from collaudo.diagnosis.ranking import Ranking, rank
from collaudo.diagnosis.signature_set import SignatureSet
from collaudo.diagnosis.surrogate import Surrogate

LEADING = 3
"""Causes whose cautions are read out with an answer."""


def ranking_of(case: Case, signatures: SignatureSet, surrogate: Surrogate) -> Ranking:
    """How likely each cause is with everything the case says."""
    return rank(
        signatures,
        surrogate,
        case.findings,
        known=case.known,
        history=case.history,
        parts_cleaned=case.cleaned,
        parts_replaced=case.replaced,
        parts_proven_good=case.proven_good,
        parts_set_anew=case.set_anew,
    )
