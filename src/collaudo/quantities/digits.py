"""How many digits of a reading are worth writing down."""

from __future__ import annotations

_TENTHS_ALWAYS = ("degC", "K", "degF_difference")


def digits_of(value: float, unit: str) -> int:
    """Digits behind the point that an instrument of the bench shows for ``value`` in ``unit``; below nought
    for what it rounds before the point."""
    size = abs(value)
    if unit == "bar":
        return 2 if size < 2.0 else 1
    if unit == "ohm":
        return 1 if size < 200.0 else 0 if size < 10_000.0 else -2
    return 0 if size >= 20.0 and unit not in _TENTHS_ALWAYS else 1


def with_digits(value: float, digits: int) -> str:
    """``value`` rounded to ``digits`` behind the point (below nought: before it), no minus before nought."""
    return f"{round(value, digits):z.{max(digits, 0)}f}"
