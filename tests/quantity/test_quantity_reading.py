"""What people type, against exact definitions worked out here by fractions, never by the registry itself."""

from fractions import Fraction

import pytest

from wetrun.errors import QuantityRefused
from wetrun.quantity import Kind, read

# Exact definitions: inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s2 (international yard and pound
# agreement 1959, third CGPM 1901), US gallon 231 in3, imperial gallon 4.54609 L, acre 4840 yd2.
INCH = Fraction("0.0254")
FOOT = 12 * INCH
MILE = 5280 * FOOT
ACRE = 4840 * (3 * FOOT) ** 2
GALLON = 231 * INCH**3
POUND = Fraction("0.45359237")
PSI = POUND * Fraction("9.80665") / INCH**2
LITRE = Fraction(1, 1000)
HECTARE = 10_000
MINUTE = 60
HOUR = 3600

READ = [
    ("15 gal/ac", Kind.RATE, 15 * GALLON / ACRE),
    ("15gal/ac", Kind.RATE, 15 * GALLON / ACRE),
    ("15 GPA", Kind.RATE, 15 * GALLON / ACRE),
    ("15 gal per acre", Kind.RATE, 15 * GALLON / ACRE),
    ("15 gallons / acre", Kind.RATE, 15 * GALLON / ACRE),
    ("140 L/ha", Kind.RATE, 140 * LITRE / HECTARE),
    ("140 litres/hectare", Kind.RATE, 140 * LITRE / HECTARE),
    ("12 imp gal/ac", Kind.RATE, 12 * Fraction("4.54609") * LITRE / ACRE),
    ("32 fl oz/ac", Kind.PRODUCT_RATE, 32 * GALLON / 128 / ACRE),
    ("1.5 pt/ac", Kind.PRODUCT_RATE, Fraction("1.5") * GALLON / 8 / ACRE),
    ("2 qt/ac", Kind.PRODUCT_RATE, 2 * GALLON / 4 / ACRE),
    ("750 mL/ha", Kind.PRODUCT_RATE, 750 * LITRE / 1000 / HECTARE),
    ("2 lb/ac", Kind.DRY_RATE, 2 * POUND / ACRE),
    ("3 oz/ac", Kind.DRY_RATE, 3 * POUND / 16 / ACRE),
    ("2,5 kg/ha", Kind.DRY_RATE, Fraction("2.5") / HECTARE),
    ("0.4 gal/min", Kind.TIP_FLOW, Fraction("0.4") * GALLON / MINUTE),
    ("0.4 gpm", Kind.TIP_FLOW, Fraction("0.4") * GALLON / MINUTE),
    ("1,2 L/min", Kind.TIP_FLOW, Fraction("1.2") * LITRE / MINUTE),
    ("51.2 fl oz/min", Kind.TIP_FLOW, Fraction("51.2") * GALLON / 128 / MINUTE),
    ("40 psi", Kind.PRESSURE, 40 * PSI),
    ("3 bar", Kind.PRESSURE, 300_000),
    ("3,5 bar", Kind.PRESSURE, 350_000),
    ("300 kPa", Kind.PRESSURE, 300_000),
    ("20 in", Kind.SPACING, 20 * INCH),
    ('20"', Kind.SPACING, 20 * INCH),
    ("50,8 cm", Kind.SPACING, 20 * INCH),
    ("508 mm", Kind.SPACING, 20 * INCH),
    ("100 ft", Kind.WIDTH, 100 * FOOT),
    ("30 m", Kind.WIDTH, 30),
    ("160 ac", Kind.AREA, 160 * ACRE),
    ("64.75 ha", Kind.AREA, Fraction("64.75") * HECTARE),
    ("12 mph", Kind.SPEED, 12 * MILE / HOUR),
    ("18 km/h", Kind.SPEED, 5),
    ("5 m/s", Kind.SPEED, 5),
    ("88 ft/min", Kind.SPEED, MILE / HOUR),
    ("1200 gal", Kind.VOLUME, 1200 * GALLON),
    ("4500 L", Kind.VOLUME, Fraction("4.5")),
    ("10.67 lb/gal", Kind.DENSITY, Fraction("10.67") * POUND / GALLON),
    ("1.28 kg/L", Kind.DENSITY, 1280),
    ("60 °F", Kind.TEMPERATURE, (60 + Fraction("459.67")) * 5 / 9),
    ("60 F", Kind.TEMPERATURE, (60 + Fraction("459.67")) * 5 / 9),
    ("15 °C", Kind.TEMPERATURE, Fraction("288.15")),
    ("-1 °C", Kind.TEMPERATURE, Fraction("272.15")),
    ("\u22121 °C", Kind.TEMPERATURE, Fraction("272.15")),
    ("20 %", Kind.SHARE, Fraction("0.2")),
    ("20\u00a0%", Kind.SHARE, Fraction("0.2")),
    ("350 µm", Kind.DROP_SIZE, Fraction("0.00035")),
    ("10 Hz", Kind.FREQUENCY, 10),
    ("1.28", Kind.RATIO, Fraction("1.28")),
    ("1e2 psi", Kind.PRESSURE, 100 * PSI),
]


@pytest.mark.parametrize(("text", "kind", "exact"), READ, ids=[text for text, _, _ in READ])
def test_a_typed_quantity_is_its_exact_definition(text, kind, exact):
    typed = read(text, kind)
    assert typed.si_value == pytest.approx(float(exact), rel=4e-15)
    assert typed.text == text
    assert typed.kind is kind


def test_degrees_are_an_arc():
    assert (
        read("180 °", Kind.ANGLE).si_value == read("180 deg", Kind.ANGLE).si_value == pytest.approx(3.141592653589793)
    )


REFUSED = [
    ("", Kind.RATE, "is empty"),
    ("   ", Kind.RATE, "is empty"),
    ("15", Kind.RATE, "has no unit; write for example 15 gal/ac"),
    ("15 psi", Kind.RATE, "is pressure where a carrier rate (volume per area) belongs"),
    ("15 gal", Kind.RATE, "is volume where"),
    ("15 gal/min", Kind.RATE, "is volume per time where"),
    ("15 in", Kind.RATE, "is length where"),  # rain is a length; a carrier rate is not
    ("2 lb/ac", Kind.RATE, "is mass per area where"),
    ("3 oz/ac", Kind.PRODUCT_RATE, "oz is a weight, write fl oz for a liquid"),
    ("3 oz gal/ac", Kind.PRODUCT_RATE, "oz is a weight and fl oz a volume"),
    ("15 gal/acer", Kind.RATE, "has a unit not known here, “gal/acer”"),
    ("15 gal/", Kind.RATE, "not known"),
    ("15 /ac", Kind.RATE, "not known"),
    ("gal/ac", Kind.RATE, "does not begin with a number"),
    ("fifteen gal/ac", Kind.RATE, "does not begin with a number"),
    ("nan psi", Kind.PRESSURE, "does not begin with a number"),
    ("inf psi", Kind.PRESSURE, "does not begin with a number"),
    ("-inf psi", Kind.PRESSURE, "does not begin with a number"),
    ("1e400 psi", Kind.PRESSURE, "is too large to be a number"),
    ("1e308 mi", Kind.WIDTH, "is too large to be a number"),
    ("15-20 gal/ac", Kind.RATE, "holds more than one number"),
    ("15 – 20 gal/ac", Kind.RATE, "holds more than one number"),
    ("15 to 20 gal/ac", Kind.RATE, "holds more than one number"),
    ("1/2 in", Kind.SPACING, "holds more than one number"),
    ("1 1/2 pt/ac", Kind.PRODUCT_RATE, "holds more than one number"),
    ("1 500 ft", Kind.WIDTH, "holds more than one number"),
    ("1,500 ft", Kind.WIDTH, "could mean 1500 or 1.500"),
    ("1,500,000 ft", Kind.WIDTH, "parts thousands"),
    ("1.500,5 ft", Kind.WIDTH, "parts thousands"),
    ("1.2.3 bar", Kind.PRESSURE, "parts thousands"),
    ("40 psi 3 bar", Kind.PRESSURE, "not known here"),
    ("40 K", Kind.PRESSURE, "is temperature where a pressure"),
    ("1.28 kg/L", Kind.RATIO, "where a plain number belongs"),
    ("20", Kind.SHARE, "has no unit; write for example 20 %"),
    ("٣ bar", Kind.PRESSURE, "does not begin with a number"),
    ("9" * 400 + " psi", Kind.PRESSURE, "does not begin with a number"),
    ("15 gal/ac; import os", Kind.RATE, "not known"),
    ("1 __class__", Kind.RATE, "not known"),
]


@pytest.mark.parametrize(("text", "kind", "reason"), REFUSED, ids=[text[:20] for text, _, _ in REFUSED])
def test_a_wrong_text_is_refused_with_what_is_accepted(text, kind, reason):
    with pytest.raises(QuantityRefused) as refused:
        read(text, kind)
    assert reason in refused.value.reason
    assert refused.value.accepted
    assert len(str(refused.value)) < 400


def test_every_unit_offered_in_a_refusal_is_then_accepted():
    for kind in Kind:
        with pytest.raises(QuantityRefused) as refused:
            read("?", kind)
        offered = [unit for unit in refused.value.accepted if kind is not Kind.RATIO]
        assert all(read(f"2 {unit}", kind).si_value > 0 for unit in offered)
        assert read(kind.value.example, kind).si_value > 0


def test_a_bare_number_takes_only_the_unit_printed_at_its_field():
    assert read("3", Kind.PRESSURE, default_unit="bar").si_value == pytest.approx(3e5)
    assert read("3", Kind.PRESSURE, default_unit="psi").unit_text == "psi"
    assert read("3 bar", Kind.PRESSURE, default_unit="psi").si_value == pytest.approx(3e5)
    with pytest.raises(QuantityRefused):
        read("3", Kind.PRESSURE)


def test_a_zero_point_decimal_comma_is_no_thousand():
    assert read("0,125 gal/min", Kind.TIP_FLOW).si_value == read("0.125 gal/min", Kind.TIP_FLOW).si_value
