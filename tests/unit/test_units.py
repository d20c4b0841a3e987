"""Units and names: factors against published values, and what people may type."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
import scipy.constants as sc  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st

from collaudo.errors import QuantityError, UnknownNameError
from collaudo.quantities.names import GLOSSARY, describe, quantity_of
from collaudo.quantities.units import (
    DIMENSIONS,
    UNITS,
    Choice,
    fits,
    format_quantity,
    from_si,
    parse_quantity,
    split_suffix,
    to_si,
    units_for,
)

# NIST SP 811 (2008), appendix B.8, typed from memory as printed: seven digits or exact. Tolerance: half
# a unit of the seventh digit, 5e-7 relative at worst (leading digit 1).
NIST_SP_811 = {
    "psi": 6.894757e3,
    "bar": 1e5,
    "mbar": 1e2,
    "inch": 2.54e-2,
    "fl_oz": 2.957353e-5,
    "oz": 2.834952e-2,
    "lb": 4.535924e-1,
    "kWh": 3.6e6,
    "l_per_min": 1.666667e-5,
    "min": 60.0,
    "h": 3600.0,
}


@pytest.mark.parametrize(("unit", "printed"), NIST_SP_811.items())
def test_factor_agrees_with_the_national_table(unit: str, printed: float) -> None:
    assert to_si(1.0, unit) == pytest.approx(printed, rel=5e-7)


# SciPy's constants are kept by others, from the same definitions: agreement to rounding.
SCIPY = {
    "psi": sc.psi,
    "bar": sc.bar,
    "inch": sc.inch,
    "fl_oz": sc.fluid_ounce_US,
    "oz": sc.oz,
    "lb": sc.pound,
    "l": sc.liter,
    "days": sc.day,
    "years": sc.Julian_year,
    "degF_difference": sc.degree_Fahrenheit,
    "kWh": sc.kilo * sc.hour,
}


@pytest.mark.parametrize(("unit", "value"), SCIPY.items())
def test_factor_agrees_with_an_independent_library(unit: str, value: float) -> None:
    assert to_si(1.0, unit) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(("unit", "scale"), [("degC", "Celsius"), ("degF", "Fahrenheit")])
@pytest.mark.parametrize("value", [-40.0, 0.0, 93.0, 200.0])
def test_temperature_scale_agrees_with_an_independent_library(unit: str, scale: str, value: float) -> None:
    assert to_si(value, unit) == pytest.approx(sc.convert_temperature(value, scale, "Kelvin"), rel=1e-15)


# Definitions: 1 degdH = 10 mg/l CaO, 1 degfH = 10 mg/l CaCO3, 1 gpg = 1 grain per US gallon as CaCO3;
# values worked out with IUPAC atomic masses to six digits, half a unit of the sixth digit.
@pytest.mark.parametrize(
    ("unit", "mmol_per_l"),
    [("degdH", 0.178326), ("degfH", 0.0999141), ("gpg", 0.171034), ("mg_per_l_CaCO3", 1 / 100.086)],
)
def test_hardness_agrees_with_its_definition(unit: str, mmol_per_l: float) -> None:
    assert to_si(1.0, unit) == pytest.approx(mmol_per_l, rel=5e-6)


def test_one_german_degree_is_17_848_mg_of_lime_per_litre() -> None:
    # Published equivalence 17.848 mg/l CaCO3 (five digits).
    assert from_si(to_si(1.0, "degdH"), "mg_per_l_CaCO3") == pytest.approx(17.848, abs=5e-4)


def test_boiling_point_at_one_atmosphere_reads_212_in_fahrenheit() -> None:
    # The Fahrenheit scale's own fixed points: ice 32, steam 212.
    assert from_si(373.15, "degF") == pytest.approx(212.0, abs=1e-10)
    assert from_si(273.15, "degF") == pytest.approx(32.0, abs=1e-10)


WORDS = {"mol": Fraction(1), "mmol": Fraction(1, 1000), "pulses": Fraction(1), "S": Fraction(1)}
WORDS |= {"uS": Fraction(1, 10**6), "s2": Fraction(1), "K4": Fraction(1), "mPa": Fraction(1, 1000)}
COMPOUND = [suffix for suffix in UNITS if "_per_" in f"_{suffix}" or suffix in ("Pa_s", "mPa_s")]


@pytest.mark.parametrize("suffix", [suffix for suffix in COMPOUND if suffix != "mg_per_l_CaCO3"])
def test_compound_unit_is_the_quotient_of_its_words(suffix: str) -> None:
    value, below = Fraction(1), False
    for word in suffix.split("_"):
        if word == "per":
            below = True
            continue
        factor = WORDS.get(word) or UNITS[word].factor
        value = value / factor if below else value * factor
    assert UNITS[suffix].factor == value


def test_gauge_pressure_adds_no_atmosphere() -> None:
    assert [to_si(0.0, unit) for unit in units_for("pressure")] == [0.0] * len(units_for("pressure"))


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_dimension_has_an_si_unit_of_factor_one(dimension: str) -> None:
    unit = UNITS[DIMENSIONS[dimension]]
    assert fits(unit.suffix, dimension)
    assert unit.factor == Fraction(1)
    assert unit.offset == Fraction(0)


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_printed_units_of_one_dimension_differ(dimension: str) -> None:
    texts = [UNITS[suffix].text for suffix in units_for(dimension)]
    assert len(set(texts)) == len(texts)


@pytest.mark.parametrize("suffix", UNITS)
def test_every_unit_is_found_behind_a_name(suffix: str) -> None:
    assert split_suffix(f"some_thing_{suffix}") == ("some_thing", suffix)


@pytest.mark.parametrize("suffix", UNITS)
@settings(max_examples=30)
@given(value=st.floats(1e-6, 1e9))
def test_conversion_and_back_gives_the_same_number(suffix: str, value: float) -> None:
    # Three roundings of the number, and one of the number with its offset.
    room = 4 * math.ulp(1.0) * (value + float(UNITS[suffix].offset))
    assert from_si(to_si(value, suffix), suffix) == pytest.approx(value, rel=0, abs=room)


def test_series_of_numbers_converts_as_its_members_do() -> None:
    series = np.array([0.0, 1.1e5, math.nan])
    assert from_si(series, "bar") == pytest.approx([0.0, 1.1, math.nan], nan_ok=True, rel=1e-15)


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("bore_mm", ("bore", "mm")),
        ("flow_ml_per_s", ("flow", "ml_per_s")),
        ("leak_g_per_s_per_bar", ("leak", "g_per_s_per_bar")),
        ("group_loss_W_per_m2_K", ("group_loss", "W_per_m2_K")),
        ("water_Pa_s", ("water", "Pa_s")),
    ],
)
def test_longest_ending_is_the_unit(name: str, parts: tuple[str, str]) -> None:
    assert split_suffix(name) == parts


@pytest.mark.parametrize("name", ["bore", "mm", "_mm", "", "bore_MM", "bore_"])
def test_name_without_unit_is_refused(name: str) -> None:
    with pytest.raises(QuantityError, match="does not end in a unit -- put the unit behind the name"):
        split_suffix(name)


@pytest.mark.parametrize(
    ("text", "dimension", "value_si"),
    [
        ("1.1 bar", "pressure", 1.1e5),
        ("1.1bar", "pressure", 1.1e5),
        ("  -0.1  bar ", "pressure", -1e4),
        ("93 °C", "temperature", 366.15),
        ("93 degC", "temperature", 366.15),
        ("200 °F", "temperature", 659.67 / 1.8),
        ("9 °F", "temperature_difference", 5.0),
        ("8 K", "temperature_difference", 8.0),
        ("1.5e3 ml/min", "volume_flow", 2.5e-5),
        ("300 uS/cm", "conductivity", 0.03),
        ("300 µS/cm", "conductivity", 0.03),
        ("300 \u03bcS/cm", "conductivity", 0.03),
        ("1.5 MΩ", "resistance", 1.5e6),
        ("3 1/s", "frequency", 3.0),
        ("40 %", "share", 0.4),
        (".5 mm", "length", 5e-4),
    ],
)
def test_quantity_with_unit_is_read(text: str, dimension: str, value_si: float) -> None:
    assert parse_quantity(text, dimension) == pytest.approx(value_si, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("1,1 bar", "pressure", "write a point for the decimal comma"),
        ("1.1 bat", "pressure", r"unknown unit 'bat' -- a pressure is written .* Pa, bar, kPa"),
        ("1.1 Bar", "pressure", "unknown unit 'Bar'"),
        ("1.1", "pressure", "has no unit"),
        ("5 mm", "pressure", "is a length -- a pressure is written"),
        (
            "8 degC",
            "temperature_difference",
            "is a temperature -- a temperature difference .* K, degF_difference",
        ),
        ("9 °F", "pressure", "is a temperature"),
        ("-300 degC", "temperature", "below absolute zero"),
        ("nan bar", "pressure", "not a number with a unit"),
        ("inf bar", "pressure", "not a number with a unit"),
        ("1e400 bar", "pressure", "too large"),
        ("bar", "pressure", "not a number with a unit"),
        ("", "pressure", "not a number with a unit"),
        ("1.1 bar bar", "pressure", "unknown unit 'bar bar'"),
        ("1.1 bar", "presure", "unknown dimension 'presure' -- did you mean 'pressure'"),
        ("9" * 500 + " bar", "pressure", "too large"),
    ],
)
def test_quantity_that_does_not_fit_is_refused_with_what_would(
    text: str, dimension: str, message: str
) -> None:
    with pytest.raises(QuantityError, match=message) as caught:
        parse_quantity(text, dimension)
    assert len(str(caught.value)) < 300


@settings(max_examples=2000)
@given(text=st.text(max_size=30) | st.from_regex(r"[-+0-9.e]{1,8} ?(bar|mm|°C|K|%)", fullmatch=True))
def test_any_text_gives_a_finite_number_or_a_quantity_error(text: str) -> None:
    try:
        value = parse_quantity(text, "pressure")
    except QuantityError:
        return
    assert math.isfinite(value)


@pytest.mark.parametrize(
    ("value", "message"),
    [(math.nan, "nan"), (math.inf, "inf"), (10**400, "inf"), (True, "True"), ("5", "'5'"), (1e305, "inf")],
)
def test_conversion_refuses_what_is_no_finite_number(value: float, message: str) -> None:
    with pytest.raises(QuantityError, match=f"{message}.* is not a (finite )?number -- give a number in bar"):
        to_si(value, "bar")


def test_unknown_unit_names_a_near_one() -> None:
    with pytest.raises(QuantityError, match=r"unknown unit 'barr' -- did you mean 'bar'"):
        to_si(1.0, "barr")
    with pytest.raises(QuantityError, match=r"unknown unit 'barr' -- did you mean 'bar'"):
        from_si(1.0, "barr")


@pytest.mark.parametrize(
    ("value_si", "unit", "digits", "text"),
    [
        (1.1e5, "bar", 2, "1.10 bar"),
        (1.1e5, "bar", None, "1.10 bar"),
        (366.15, "degC", 1, "93.0 °C"),
        (366.15, "degC", None, "93.0 °C"),
        (2.5e-5, "ml_per_min", 0, "1500 ml/min"),
        (0.4, "percent", 0, "40 %"),
        (0.62, "share", 2, "0.62"),
        (3.0, "count", 0, "3"),
        (-1.0, "bar", 1, "0.0 bar"),
        (0.0, "bar", None, "0 bar"),
        (1e-12, "m2", None, "1.00e-12 m²"),
        (math.nan, "bar", 1, "– bar"),
        (math.inf, "share", 1, "–"),
    ],
)
def test_quantity_prints_with_its_unit(value_si: float, unit: str, digits: int | None, text: str) -> None:
    assert format_quantity(value_si, unit, digits) == text


def test_choice_of_units_prints_to_about_the_same_resolution() -> None:
    chosen = Choice(pressure="psi", temperature="degF", volume="fl_oz")
    assert chosen.format(1.1e5, "bar", 2) == "16.0 psi"  # 1.1 x 14.5038
    assert chosen.format(366.15, "degC", 1) == "199.4 °F"  # 93 x 1.8 + 32
    assert chosen.format(5.0, "K", 1) == "9.0 °F"  # a difference: no 32 added
    assert chosen.format(6e-5, "ml", 0) == "2.0 fl oz"  # 60 / 29.57
    assert chosen.format(120.0, "Pa", 0) == "120 Pa"
    assert chosen.format(1.5e-3, "g_per_s", 1) == "1.5 g/s"


def test_default_choice_turns_foreign_units_into_metric_ones() -> None:
    assert Choice().format(to_si(16.0, "psi"), "psi", 0) == "1.1 bar"
    assert Choice().unit_for("degF_difference") == "K"
    assert Choice().unit_for("degF") == "degC"


def test_choice_refuses_other_units() -> None:
    with pytest.raises(QuantityError, match="'torr' is no choice for pressure -- choose bar or psi"):
        Choice(pressure="torr")  # type: ignore[arg-type]


@pytest.mark.parametrize("name", GLOSSARY)
def test_glossary_speaks_of_known_dimensions(name: str) -> None:
    quantity = GLOSSARY[name]
    assert quantity.meaning
    assert set(quantity.dimensions) <= set(DIMENSIONS)
    assert len(quantity.si_units) == len(quantity.dimensions)


def test_every_dimension_is_explained_in_the_glossary() -> None:
    explained = {dimension for quantity in GLOSSARY.values() for dimension in quantity.dimensions}
    assert explained == set(DIMENSIONS)


def test_name_is_explained_by_its_longest_known_ending() -> None:
    assert quantity_of("boiler_heat_capacity").name == "heat_capacity"
    assert quantity_of("steam_pressure").name == "pressure"
    assert describe("jet_bore_mm") == "jet bore: inner diameter of a pipe, jet or seat, in mm"
    assert describe("fill_share") == "fill: share of a vessel filled with water"
    assert describe("wetted_share") == "wetted: part of a whole, 0 to 1"


def test_name_that_no_one_knows_is_refused_with_near_ones() -> None:
    with pytest.raises(UnknownNameError, match="unknown quantity 'presure' -- did you mean 'pressure'"):
        describe("presure_bar")


def test_unit_that_does_not_fit_the_name_is_refused() -> None:
    with pytest.raises(QuantityError, match="bar does not fit bore -- use m"):
        describe("bore_bar")
