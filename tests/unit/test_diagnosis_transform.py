"""Readings carried into the space where they add, and back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaudo.diagnosis.signature_set import ReadingInfo, Scale
from collaudo.diagnosis.transform import backward, floor_of, forward, slope, transformed_sd

SCALES: tuple[Scale, ...] = ("identity", "log", "logit")


def reading(scale: Scale, noise_sd: float = 0.01, *, relative: bool = False) -> ReadingInfo:
    return ReadingInfo("check.one", "check", "one", scale=scale, noise_sd=noise_sd, relative=relative)


@given(st.sampled_from(SCALES), st.floats(0.02, 0.98))
def test_back_and_forth_returns_the_value(scale: Scale, value: float) -> None:
    info = reading(scale)
    assert backward(forward(value, info, 0.01), info) == pytest.approx(value, rel=1e-12)


@given(st.sampled_from(SCALES), st.floats(0.02, 0.98))
def test_slope_is_the_derivative(scale: Scale, value: float) -> None:
    info, step = reading(scale), 1e-6
    rise = forward(value + step, info, 0.01) - forward(value - step, info, 0.01)
    assert slope(value, info, 0.01) == pytest.approx(rise / (2 * step), rel=1e-5)


@pytest.mark.parametrize("scale", SCALES)
def test_a_reading_that_did_not_occur_stays_so(scale: Scale) -> None:
    assert np.isnan(forward(np.nan, reading(scale), 0.01))


def test_zero_flow_counts_as_what_the_scale_cannot_tell_from_zero() -> None:
    info = reading("log", noise_sd=0.5)
    floor = floor_of(info, np.array([0.0, 30.0, 40.0, np.nan]))
    assert floor == 0.5
    assert forward([0.0, 0.5, 30.0], info, floor) == pytest.approx(np.log([0.5, 0.5, 30.0]))


def test_floor_without_absolute_noise_is_a_small_share_of_the_median() -> None:
    assert floor_of(reading("log", 0.05, relative=True), np.array([0.0, 20.0, 40.0])) == pytest.approx(0.03)


def test_a_full_share_is_as_far_as_the_floor_from_one() -> None:
    info = reading("logit", noise_sd=0.02)
    assert forward(1.0, info, floor_of(info, np.array([0.5]))) == pytest.approx(np.log(0.98 / 0.02))


def test_relative_noise_of_a_logarithm_is_the_same_everywhere() -> None:
    info = reading("log", 0.05, relative=True)
    assert transformed_sd(0.05, [2.0, 20.0, 200.0], info, 0.1) == pytest.approx(0.05)


def test_absolute_noise_of_a_logarithm_grows_towards_zero() -> None:
    assert transformed_sd(1.0, [5.0, 50.0], reading("log", 1.0), 1.0) == pytest.approx([0.2, 0.02])
