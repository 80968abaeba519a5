"""The sentence a reader gets: thing, value, limit, unit and remedy, in the reader's own units."""

import os
import subprocess
import sys

import pytest

from wetrun import units
from wetrun.errors import CannotWrite, InputProblems, NotDefined, OutOfRange, Problem, QuantityRefused
from wetrun.quantity import Kind, System, kind_of_unit, sentence, show, to_display_array, unit_text

TOO_HIGH = OutOfRange(
    "pressure at the tip", 620_528.2, units.PASCAL, low=103_421.4, high=413_685.4, remedy="Take a larger tip."
)


def test_the_sentence_is_in_the_readers_units():
    assert sentence(TOO_HIGH, System.US) == (
        "Pressure at the tip is 90.0 psi: it must be from 15.0 psi to 60.0 psi. Take a larger tip."
    )
    assert sentence(TOO_HIGH, System.SI) == (
        "Pressure at the tip is 6.21 bar: it must be from 1.03 bar to 4.14 bar. Take a larger tip."
    )


@pytest.mark.parametrize(
    ("low", "high", "said"), [(1.0, None, "at least 2.24 mph"), (None, 1.0, "at most 2.24 mph"), (None, None, "finite")]
)
def test_one_sided_limits_are_said_as_such(low, high, said):
    error = OutOfRange("speed", 9.0, units.METRE_PER_SECOND, low=low, high=high, remedy="Drive otherwise.")
    assert said in sentence(error, System.US)
    assert sentence(error, System.US).endswith("Drive otherwise.")


def test_a_unit_nobody_reads_is_shown_as_it_is():
    error = OutOfRange("orifice coefficient", -1.0, units.FLOW_COEFFICIENT, low=0.0, remedy="Enter a tip with a flow.")
    assert "-1 m3/s/Pa^0.5" in sentence(error, System.US)


@pytest.mark.parametrize(
    "error",
    [
        NotDefined("droplet class", reason="a streamer has none", remedy="Ask for a fan."),
        CannotWrite("out.pdf", reason="the disk is full", remedy="Make room."),
        QuantityRefused("15", reason="has no unit", accepted=["gal/ac"]),
        InputProblems([Problem("a.toml", "pass[1].rate", "15", "must have a unit", "Write 15 gal/ac.")]),
    ],
)
def test_errors_without_numbers_keep_their_own_sentence(error):
    assert sentence(error, System.US) == str(error)


def test_every_unit_inside_is_shown_as_a_kind_of_that_very_unit():
    shown = {unit: kind_of_unit(unit) for unit in units.ALL_UNITS}
    assert all(kind.unit is unit for unit, kind in shown.items() if kind is not None)
    assert {kind.unit for kind in Kind} == {unit for unit, kind in shown.items() if kind is not None}


@pytest.mark.parametrize(
    ("si_value", "kind", "us", "si"),
    [
        (1.4030935e-6 * 10, Kind.RATE, "15.0 gal/ac", "140 L/ha"),
        (0.508, Kind.SPACING, "20.0 in", "50.8 cm"),
        (30.48, Kind.WIDTH, "100 ft", "30.5 m"),
        (2.5236e-5, Kind.TIP_FLOW, "0.400 gal/min", "1.51 L/min"),
        (1278.55, Kind.DENSITY, "10.67 lb/gal", "1.279 kg/L"),
        (288.15, Kind.TEMPERATURE, "59.0 °F", "15.0 °C"),
        (0.05, Kind.SHARE, "5.00 %", "5.00 %"),
        (0.0, Kind.PRESSURE, "0 psi", "0 bar"),
        (float("inf"), Kind.PRESSURE, "no upper limit", "no upper limit"),
        (float("-inf"), Kind.PRESSURE, "no lower limit", "no lower limit"),
        (float("nan"), Kind.PRESSURE, "not a number", "not a number"),
    ],
)
def test_values_are_shown_with_the_digits_the_trade_reads(si_value, kind, us, si):
    assert (show(si_value, kind, System.US), show(si_value, kind, System.SI)) == (us, si)


def test_arrays_are_shown_like_their_elements():
    import numpy as np

    shown = to_display_array(np.array([[1e5, 2e5]]), Kind.PRESSURE, System.SI)
    assert shown.tolist() == [[1.0, 2.0]]
    assert unit_text(Kind.PRESSURE, System.SI) == "bar"


def test_the_door_opens_without_pint():
    code = "import sys, wetrun.quantity; sys.exit('pint' in sys.modules or 'numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], check=False, env={"PYTHONPATH": os.pathsep.join(sys.path)})
    assert done.returncode == 0
