"""From readings to the space in which they are added, averaged and compared.

Pressures and temperatures add as they are (``identity``); flows and times multiply (``log``);
shares between 0 and 1 are stretched at both ends (``logit``). Noise given in the unit of the reading
is carried over by the slope of the transform at the reading.

A flow of zero has no logarithm: values below ``floor`` count as ``floor``, which is what the
instrument cannot tell from zero.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from collaudo.diagnosis.signature_set import Floats, ReadingInfo

_SMALL_SHARE = 1e-3
"""Floor of a reading without absolute noise, as a share of its median."""
_SMALLEST_FRACTION = 5e-3
"""Fractions nearer than this to 0 or 1 are not told apart from 0 or 1."""


def floor_of(reading: ReadingInfo, raw: Floats) -> float:
    """Smallest value (unit of the reading) told apart from zero, from its noise and the values it takes."""
    absolute_noise = 0.0 if reading.relative else reading.noise_sd
    if reading.scale == "logit":
        return float(min(max(absolute_noise, _SMALLEST_FRACTION), 0.25))
    if reading.scale == "log":
        positive = raw[np.isfinite(raw) & (raw > 0)]
        typical = float(np.median(positive)) if positive.size else 1.0
        return max(absolute_noise, _SMALL_SHARE * typical)
    return 0.0


def forward(raw: ArrayLike, reading: ReadingInfo, floor: float) -> Floats:
    """Transformed value of a raw reading; ``NaN`` stays ``NaN``."""
    value = np.asarray(raw, dtype=np.float64)
    if reading.scale == "log":
        return np.asarray(np.log(np.maximum(value, floor)))
    if reading.scale == "logit":
        inside = np.clip(value, floor, 1.0 - floor)
        return np.asarray(np.log(inside / (1.0 - inside)))
    return value


def backward(transformed: ArrayLike, reading: ReadingInfo) -> Floats:
    """Raw value, in the unit of the reading, of a transformed one."""
    value = np.asarray(transformed, dtype=np.float64)
    if reading.scale == "log":
        return np.asarray(np.exp(value))
    if reading.scale == "logit":
        return np.asarray(1.0 / (1.0 + np.exp(-value)))
    return value


def slope(raw: ArrayLike, reading: ReadingInfo, floor: float) -> Floats:
    """Derivative of the transformed by the raw value, at the raw value (at ``floor`` below it)."""
    value = np.asarray(raw, dtype=np.float64)
    if reading.scale == "log":
        return np.asarray(1.0 / np.maximum(value, floor))
    if reading.scale == "logit":
        inside = np.clip(value, floor, 1.0 - floor)
        return np.asarray(1.0 / (inside * (1.0 - inside)))
    return np.ones_like(value)


def transformed_sd(sd: float, raw: ArrayLike, reading: ReadingInfo, floor: float) -> Floats:
    """Standard deviation in transformed space of ``sd`` (unit of the reading, or a share if relative)."""
    value = np.asarray(raw, dtype=np.float64)
    absolute = sd * np.abs(value) if reading.relative else np.full_like(value, sd)
    return np.asarray(absolute * slope(value, reading, floor))
