"""Quantities: outside values for the units, what is understood, what is refused and how, and the way back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from looping import each

from mixcraft.files import Quantity, QuantityError, convert, format_quantity, load_document, parse_quantity
from mixcraft.files.units import UnitError, decimal_ratio, parse_unit, table

SEVEN_DIGITS = 5e-7  # NIST SP 811 prints inexact factors to seven significant digits

# NIST Special Publication 811 (2008), Appendix B.8 "Factors for units listed alphabetically",
# https://www.nist.gov/pml/special-publication-811. Read in a transcription of that table (R package NISTunits 1.0.1).
NIST_SP_811_B8 = [
    ("1 in", "length", 2.54e-2),
    ("1 ft", "length", 3.048e-1),
    ("1 yd", "length", 9.144e-1),
    ("1 sq in", "area", 6.4516e-4),
    ("1 sq ft", "area", 9.290304e-2),
    ("1 sq yd", "area", 8.361274e-1),
    ("1 ha", "area", 1.0e4),
    ("1 oz", "mass", 2.834952e1),
    ("1 lb", "mass", 4.535924e2),
    ("1 t", "mass", 1.0e6),
    ("1 US gal", "volume", 3.785412),
    ("1 imp gal", "volume", 4.54609),
    ("1 oz/sq yd", "seed_rate", 3.390575e1),
    ("1 oz/sq ft", "seed_rate", 3.051517e2),
    ("1 ft/s", "speed", 3.048e-1),
    ("1 h", "duration", 3.6e3 / 8.64e4),
]
# The factor for the acre in B.8, 4.046 873 E+03, is for the US survey foot, which was given up at the end of
# 2022 (Federal Register 85 FR 62698); the two feet differ by 2 parts in a million.
ACRE_SURVEY_M2, SURVEY_FOOT_CHANGE = 4.046873e3, 4.1e-6


@each(("text", "dimension", "nist"), NIST_SP_811_B8)
def test_units_against_nist(text: str, dimension: str, nist: float) -> None:
    assert parse_quantity(text, dimension) == pytest.approx(nist, rel=SEVEN_DIGITS)


def test_acre_against_nist() -> None:
    assert parse_quantity("1 acre", "area") == pytest.approx(ACRE_SURVEY_M2, rel=SURVEY_FOOT_CHANGE)


def test_yard_and_pound_are_exact() -> None:
    """International yard and pound agreement, Federal Register 24 FR 5348 (1959): 0.9144 m, 0.453 592 37 kg."""
    assert parse_quantity("1 yd", "length") == 0.9144
    assert parse_quantity("1 lb", "mass") == 453.59237
    assert parse_quantity("16 oz", "mass") == 453.59237
    assert parse_quantity("36 in", "length") == parse_quantity("3 ft", "length") == 0.9144


@each(("fahrenheit", "celsius"), [(32, 0.0), (212, 100.0), (-40, -40.0), (68, 20.0), (98.6, 37.0)])
def test_fahrenheit_against_nist(fahrenheit: float, celsius: float) -> None:
    """NIST SP 811 B.8: t/C = (t/F - 32)/1.8; the fixed points of water, and where the scales meet."""
    assert parse_quantity(f"{fahrenheit} F", "temperature") == pytest.approx(celsius, abs=1e-12)
    assert parse_quantity(f"{fahrenheit} F", "temperature_difference") == pytest.approx(fahrenheit / 1.8)


def test_kelvin() -> None:
    """SI Brochure, 9th edition, section 2.3.1: t/C = T/K - 273.15."""
    assert parse_quantity("273.15 K", "temperature") == 0.0


UNDERSTOOD = [
    ("30 cm", "length", 0.3),
    ("1.2m", "length", 1.2),
    ("1.2 metres", "length", 1.2),
    ("12 in", "length", 0.3048),
    ("4 ft 6 in", "length", 1.3716),
    ("4'6\"", "length", 1.3716),
    ("4′ 6″", "length", 1.3716),
    ("1 1/2 in", "length", 0.0381),
    ("1½ in", "length", 0.0381),
    ("1/2 in", "length", 0.0127),
    ("3 CM", "length", 0.03),
    ("1e2 cm", "length", 1.0),
    ("2 sq. ft.", "area", 2 * 0.09290304),
    ("2 m²", "area", 2.0),
    ("4 g/m2", "seed_rate", 4.0),
    ("4 g/m²", "seed_rate", 4.0),
    ("4 g per square metre", "seed_rate", 4.0),
    ("4 g m-2", "seed_rate", 4.0),
    ("1 kg/ha", "seed_rate", 0.1),
    ("9 C", "temperature", 9.0),
    ("9 °C", "temperature", 9.0),
    ("9 degrees C", "temperature", 9.0),
    ("\N{MINUS SIGN}2 C", "temperature", -2.0),
    ("0 C", "temperature", 0.0),
    ("3 weeks", "duration", 21.0),
    ("1 wk", "duration", 7.0),
    ("2 weeks 3 days", "duration", 17.0),
    ("-2 weeks", "duration", -14.0),
    ("-2 weeks 3 days", "duration", -17.0),
    ("12 h", "duration", 0.5),
    ("2 kg", "mass", 2000.0),
    ("1 lb 4 oz", "mass", 566.9904625),
    ("40 plants/m2", "density", 40.0),
    ("25 per m2", "density", 25.0),
    ("25/m2", "density", 25.0),
    ("200 1/m2", "density", 200.0),
    ("900 seeds per m²", "density", 900.0),
    ("35 %", "fraction", 0.35),
    ("35%", "fraction", 0.35),
    ("0.35", "fraction", 0.35),
    (0.35, "fraction", 0.35),
    (12, "count", 12.0),
    ("12 plants", "count", 12.0),
    ("25 mm", "rain", 25.0),
    ("1 in", "rain", 25.4),
    ("5 l/m2", "rain", 5.0),
    ("25 mm per week", "rate_mm_per_week", 25.0),
    ("1 in/week", "rate_mm_per_week", 25.4),
    ("90 deg", "angle", 90.0),
    ("90°", "angle", 90.0),
    ("north-east", "angle", 45.0),
    ("WSW", "angle", 247.5),
    ("South West", "angle", 225.0),
    ("450 C d", "thermal_time", 450.0),
    ("0", "length", 0.0),
    (0, "duration", 0.0),
    ("10 litres", "volume", 10.0),
]


@each(("given_", "dimension", "value"), UNDERSTOOD)
def test_understood(given_: str | float, dimension: str, value: float) -> None:
    assert parse_quantity(given_, dimension) == pytest.approx(value, rel=1e-15)


REFUSED = [
    (3, "length", "has no unit", "did you mean `3 m` or `3 cm`?"),
    ("3", "length", "has no unit", "did you mean `3 m` or `3 cm`?"),
    (30, "length", "has no unit", "did you mean `30 cm`?"),
    (8, "length", "has no unit", "did you mean `8 m` or `8 cm`?"),
    (9, "temperature", "has no unit", "did you mean `9 C`?"),
    (60, "temperature", "has no unit", "did you mean `60 F`?"),
    (0, "temperature", "has no unit", "did you mean `0 C`?"),
    (40, "density", "has no unit", "did you mean `40 plants/m2`?"),
    ("35", "fraction", "more than the whole", "did you mean `35 %`?"),
    ("1,5 m", "length", "a comma", "write `1.5 m` with a point"),
    ("1,000 g", "mass", "a comma", "write `1.000 g` with a point, or `1000 g` if the comma marks thousands"),
    ("20-30 cm", "length", "not a range", "write one value, such as `25 cm`"),
    ("2 to 3 weeks", "duration", "not a range", "write one value, such as `2.5 weeks`"),
    ("3 kg", "length", "`3 kg` is a mass; a length is needed here", "write it like `30 cm`"),
    ("9 C d", "temperature", "is a thermal time", "write it like `9 C`"),
    ("4 g/m3", "seed_rate", "does not fit", "write it like `4 g/m2`"),
    ("3 cn", "length", "is not a unit", "did you mean `3 cm`?"),
    ("3 metrs", "length", "is not a unit", "did you mean `3 metre`?"),
    ("40 plnts/m2", "density", "is not a unit", "did you mean `40 plant/m2`?"),
    ("3 gal", "volume", "not clear enough", "a US gallon and an imperial gallon differ; write `US gal` or `imp gal`"),
    ("2 months", "duration", "not clear enough", "months differ in length; write weeks or days"),
    ("a bit", "length", "does not start with a number", "write a length like `30 cm`"),
    ("", "length", "there is no value", "write a length like `30 cm`"),
    ("-3 cm", "length", "is negative", "write it like `30 cm`"),
    ("-300 C", "temperature", "below absolute zero", "write it like `9 C`"),
    ("6 in 4 ft", "length", "is not one quantity", "write it like `30 cm`"),
    ("9 C 3 C", "temperature", "is not one quantity", "write it like `9 C`"),
    ("30 cm x 40 cm", "length", "is not a unit", "write it like `30 cm`"),
    ("1/0 in", "length", "divides by zero", "write it like `30 cm`"),
    ("1e999 m", "length", "too large", "write it like `30 cm`"),
    ("2 m/", "length", "is not a unit", "did you mean `2 m`?"),
    (True, "length", "is not a length", "write it like `30 cm`"),
    (math.nan, "fraction", "does not start with a number", "write a share like `35 %`"),
    ("9" * 100, "length", "too long", "write it like `30 cm`"),
]


@each(("given_", "dimension", "message", "repair"), REFUSED)
def test_refused_with_a_repair(given_: str | float, dimension: str, message: str, repair: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(given_, dimension)
    assert message in caught.value.message
    assert caught.value.repair == repair
    assert str(caught.value) == caught.value.message


@each("name", list(table().dimensions))
def test_every_dimension_is_whole(name: str) -> None:
    """The example reads; a likely unit has the dimension; what is printed can be read."""
    wanted = table().dimensions[name]
    value = parse_quantity(wanted.example, name)
    for unit, _, _ in wanted.likely:
        assert parse_unit(unit).powers == parse_unit(wanted.unit).powers
    for system in ("metric", "us"):
        assert parse_quantity(format_quantity(value, name, system), name) == pytest.approx(value, rel=1e-9)


sizes = st.floats(0, 1e7, allow_nan=False).filter(lambda x: x == 0 or x > 1e-6)


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("name", [name for name, wanted in table().dimensions.items() if not wanted.scale])
@given(value=sizes)
def test_reading_what_was_written_gives_the_value_back(name: str, system: str, value: float) -> None:
    if name == "fraction":
        value %= 1
    assert parse_quantity(format_quantity(value, name, system), name) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.floats(-273, 100), st.sampled_from(["metric", "us"]))
def test_temperatures_below_zero_come_back(value: float, system: str) -> None:
    assert parse_quantity(format_quantity(value, "temperature", system), "temperature") == pytest.approx(value, abs=1e-7)


@given(st.integers(0, 10**6), st.integers(0, 6))
def test_a_metric_decimal_is_the_nearest_float(number: int, places: int) -> None:
    """``0.07 m`` and ``7 cm`` are both the float 0.07, not 0.07000000000000001."""
    text = f"{number / 10**places:.{places}f}"
    assert parse_quantity(f"{text} m", "length") == float(text)
    assert parse_quantity(f"{number} cm", "length") == float(f"{number}e-2")


@each(
    ("value", "dimension", "system", "text"),
    [
        (0.005, "length", "metric", "5 mm"),
        (0.013, "length", "metric", "1.3 cm"),
        (1.2, "length", "metric", "1.2 m"),
        (0.3048, "length", "us", "12 in"),
        (1.3716, "length", "us", "4 ft 6 in"),
        (1.2192, "length", "us", "4 ft"),
        (9, "temperature", "metric", "9 C"),
        (9, "temperature", "us", "48.2 F"),
        (-1, "temperature", "metric", "-1 C"),
        (1, "duration", "metric", "1 day"),
        (26, "duration", "metric", "26 days"),
        (21, "duration", "metric", "3 weeks"),
        (0.35, "fraction", "metric", "35 %"),
        (1500, "mass", "metric", "1.5 kg"),
        (0, "length", "metric", "0 mm"),
    ],
)
def test_written_as_people_do(value: float, dimension: str, system: str, text: str) -> None:
    assert format_quantity(value, dimension, system) == text


def test_written_for_print() -> None:
    assert format_quantity(4.04, "seed_rate", digits=2, pretty=True) == "4 g/m²"
    assert format_quantity(9.04, "temperature", digits=2, pretty=True) == "9 °C"
    assert format_quantity(1.2191999, "length", "us", digits=2) == "4 ft"
    with pytest.raises(ValueError, match="cannot be written"):
        format_quantity(math.nan, "length")


def test_conversion_of_units_of_the_crop_data() -> None:
    assert convert(1.3, "cm", "m") == pytest.approx(0.013)
    assert convert(20, "m2/kg", "m2/g") == pytest.approx(0.02)
    assert convert(1, "1/(C d)", "1/(F d)") == pytest.approx(5 / 9)
    assert convert(1, "MJ/(m2 min)", "MJ/m2/d") == pytest.approx(1440)
    with pytest.raises(ValueError, match="do not measure the same"):
        convert(1, "cm", "g")
    with pytest.raises(UnitError):
        convert(1, "cm", "furlong")


def test_quantity_keeps_its_text() -> None:
    assert Quantity.read("12 in", "length") == Quantity(0.3048, "length", "12 in")


def test_an_unknown_dimension_is_a_mistake_of_ours() -> None:
    with pytest.raises(KeyError, match="no dimension 'lenght'"):
        parse_quantity("3 m", "lenght")


def test_every_unit_has_a_source_that_is_listed() -> None:
    from mixcraft.files import units

    data = load_document(units.__file__.replace("units.py", "units.yaml")).data
    for symbol, record in data["units"].items():
        assert record["source"] in {*data["sources"], "common practice"}, symbol
        assert record["at"], symbol


@given(st.decimals(-(10**6), 10**6, places=5))
def test_decimal_ratio_is_exact(number: object) -> None:
    from fractions import Fraction

    assert Fraction(*decimal_ratio(str(number))) == Fraction(str(number))
