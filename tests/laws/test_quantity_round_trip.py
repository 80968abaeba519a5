"""Laws of the door: what is shown can be read back; showing is exact both ways; a comma is a point."""

import math

from hypothesis import given
from hypothesis import strategies as st

from wetrun.quantity import Kind, System, from_display, read, show, to_display
from wetrun.quantity.showing import decimals_to_show

KINDS = st.sampled_from(Kind)
SYSTEMS = st.sampled_from(System)
SHOWN = st.floats(1e-6, 1e6)


@given(KINDS, SYSTEMS, SHOWN)
def test_what_is_shown_is_read_back_within_its_last_digit(kind, system, shown_value):
    si_value = from_display(shown_value, kind, system)
    back = to_display(read(show(si_value, kind, system), kind).si_value, kind, system)
    half_a_digit = 0.5 * 10.0 ** -decimals_to_show(shown_value, kind.value.digits)
    assert math.isclose(back, shown_value, rel_tol=1e-9, abs_tol=half_a_digit * (1 + 1e-6))


@given(KINDS, SYSTEMS, SHOWN)
def test_showing_and_reading_are_inverse(kind, system, shown_value):
    back = to_display(from_display(shown_value, kind, system), kind, system)
    assert math.isclose(back, shown_value, rel_tol=1e-12, abs_tol=1e-10)


@given(KINDS, st.integers(0, 99), st.integers(0, 99))
def test_a_decimal_comma_is_a_decimal_point(kind, whole, hundredths):
    unit = kind.value.us
    comma = read(f"{whole},{hundredths:02d} {unit}", kind)
    assert comma.si_value == read(f"{whole}.{hundredths:02d} {unit}", kind).si_value


@given(KINDS, SHOWN, SHOWN)
def test_reading_keeps_order(kind, one, other):
    unit = kind.value.si
    low, high = sorted((one, other))
    assert read(f"{low!r} {unit}", kind).si_value <= read(f"{high!r} {unit}", kind).si_value


@given(KINDS, SYSTEMS, SHOWN)
def test_the_unit_taken_by_a_bare_number_is_the_printed_one(kind, system, shown_value):
    printed = kind.shown_in(system)
    assert (
        read(f"{shown_value!r}", kind, default_unit=printed).si_value
        == read(f"{shown_value!r} {printed}", kind).si_value
    )
