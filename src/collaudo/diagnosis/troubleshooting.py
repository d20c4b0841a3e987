"""The cost of trying repairs one after another until the machine is repaired.

With one fault, independent repairs that cure it when they are the right one, and a look after each,
the expected cost is least when repairs are tried in order of chance over cost (Kadane & Simon, Annals
of Statistics 5 (1977) 237; Heckerman, Breese & Rommelse, CACM 38 (1995) 49).

A repair may also cost something extra when it was the wrong one: a machine explained to its owner
comes back. Exchanging two neighbours shows that the order then goes by chance over cost plus extra.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collaudo.diagnosis.signature_set import Floats


def repair_order(chance: ArrayLike, cost: ArrayLike, cost_if_wrong: ArrayLike = 0.0) -> NDArray[np.intp]:
    """Positions of the repairs (last axis) in the order that costs least."""
    ratio = np.asarray(chance, dtype=np.float64) / np.maximum(
        np.asarray(cost) + np.asarray(cost_if_wrong), 1e-12
    )
    return np.argsort(-ratio, axis=-1, kind="stable")


def cost_in_order(
    order: NDArray[np.intp], chance: Floats, cost: Floats, cost_if_wrong: ArrayLike = 0.0
) -> Floats:
    """Expected cost of trying repairs in ``order`` (last axis), for ``chance[..., k]`` summing to 1."""
    p = np.take_along_axis(chance, np.broadcast_to(order, chance.shape), axis=-1)
    c = np.broadcast_to(cost, chance.shape)
    c = np.take_along_axis(c, np.broadcast_to(order, chance.shape), axis=-1)
    extra = np.broadcast_to(np.asarray(cost_if_wrong, dtype=np.float64), chance.shape)
    extra = np.take_along_axis(extra, np.broadcast_to(order, chance.shape), axis=-1)
    done = np.cumsum(p, axis=-1)
    return np.asarray((c * (1.0 - done + p) + extra * np.maximum(1.0 - done, 0.0)).sum(axis=-1))


def expected_repair_cost(chance: ArrayLike, cost: ArrayLike, cost_if_wrong: ArrayLike = 0.0) -> Floats:
    """Least expected cost of a repaired machine by trying repairs alone."""
    p = np.asarray(chance, dtype=np.float64)
    return cost_in_order(
        repair_order(p, cost, cost_if_wrong), p, np.asarray(cost, dtype=np.float64), cost_if_wrong
    )
