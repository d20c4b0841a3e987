"""How many digits of a reading are worth writing down."""

from __future__ import annotations

_TENTHS_ALWAYS = ("degC", "K", "ohm", "degF_difference")


def digits_of(value: float, unit: str) -> int:
    """Digits behind the point that an instrument of the bench shows for ``value`` in ``unit``."""
    size = abs(value)
    if unit == "bar":
        return 2 if size < 2.0 else 1
    return 0 if size >= 20.0 and unit not in _TENTHS_ALWAYS else 1
