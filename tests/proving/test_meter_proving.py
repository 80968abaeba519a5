"""Flow meters proven on water: conventions, scatter, line, range, tag, tank marks, and readings that cannot be."""

from dataclasses import replace

import pytest

from wetrun.errors import NotDefined
from wetrun.proving.meter import Basis, Meter, MeterCatch, MeterTest, MeterTools
from wetrun.proving.meter_result import LOOK_FOR, Withheld, meter_result
from wetrun.proving.monitor import METER_FORMS
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.rule import NextStep
from wetrun.proving.slips import SlipKind
from wetrun.proving.uncertainty import Verdict
from wetrun.proving.weighing import volume_of_weighed_m3
from wetrun.spray.carrier import water
from wetrun.spray.supply import MeterRange

PER_GALLON, PER_LITRE, ML_PER_PULSE = METER_FORMS[0], METER_FORMS[3], METER_FORMS[4]
TOOLS = MeterTools(vessel_m3=2e-4, scale_kg=0.02, measure_frac=0.002)
GALLON = 3.785411784e-3


def number(form, per_gallon):
    """A number worth so many pulses per US gallon."""
    return TypedNumber(f"{form.typed(per_gallon / GALLON):.9f}", form)


def jug(name, level, litres, time, k=642.0):
    return MeterCatch(
        name=name,
        level=level,
        basis=Basis.VESSEL,
        time_s=time,
        pulses=round(k * litres * 1e-3 / GALLON),
        volume_m3=litres * 1e-3,
    )


def meter_test(k=642.0, form=PER_GALLON, **changes):
    catches = (
        jug("1", "low", 60.0, 60.0, k),
        jug("2", "low", 60.5, 60.0, k),
        jug("3", "high", 150.0, 60.0, k),
        jug("4", "high", 149.0, 60.0, k),
    )
    base = MeterTest(meter=Meter(number=number(form, 620.0)), catches=catches, tools=TOOLS, carrier=water(290.0))
    return replace(base, **changes)


def test_the_new_number_follows_the_convention():
    direct, inverse = (meter_result(meter_test(form=form)) for form in (PER_GALLON, ML_PER_PULSE))
    assert direct.new_number == pytest.approx(642.0, rel=2e-4)
    assert inverse.new_number == pytest.approx(1e6 * GALLON / 642.0, rel=2e-4)
    assert direct.error_ratio == pytest.approx(642.0 / 620.0 - 1.0, rel=1e-2)
    assert inverse.error_ratio == pytest.approx(direct.error_ratio)
    # New = old times shown over actual for pulses per volume, and the other way round for its inverse.
    assert inverse.new_number is not None
    assert direct.new_number is not None
    assert inverse.new_number < number(ML_PER_PULSE, 620.0).number
    assert direct.new_number > 620.0


@pytest.mark.parametrize("form", METER_FORMS, ids=lambda form: form.words)
def test_entering_the_new_number_leaves_no_error(form):
    first = meter_result(meter_test(form=form))
    again = meter_result(
        meter_test(form=form, meter=Meter(number=TypedNumber(f"{first.new_number:.12f}", form))),
    )
    assert again.error_ratio == pytest.approx(0.0, abs=1e-9)
    assert (again.next_step, again.new_number) == (NextStep.KEEP, None)


def test_volume_shown_serves_as_pulses():
    counted = meter_test()
    shown = tuple(
        replace(catch, pulses=None, shown_m3=(catch.pulses or 0.0) / (620.0 / GALLON)) for catch in counted.catches
    )
    assert meter_result(replace(counted, catches=shown)).error_ratio == pytest.approx(
        meter_result(counted).error_ratio, rel=1e-6
    )


def test_weighed_catches_take_density_and_air_into_account():
    test = meter_test()
    weighed = tuple(
        replace(c, basis=Basis.SCALE, volume_m3=None, gross_kg=40.0 + mass, tare_kg=40.0)
        for c in test.catches
        for mass in [(c.volume_m3 or 0.0) * test.carrier.density_kgpm3 / 1.00105]
    )
    by_weight = meter_result(replace(test, catches=weighed))
    assert by_weight.error_ratio == pytest.approx(meter_result(test).error_ratio, abs=2e-5)
    assert volume_of_weighed_m3(1.0, 998.9) * 998.9 == pytest.approx(1.00105, abs=1e-5)
    assert {"water density", TOOLS.measure_cause} <= {c.cause for c in by_weight.budget.components}


def test_a_measure_that_reads_high_makes_the_number_too_small():
    first = meter_result(meter_test())
    catches = tuple(replace(c, volume_m3=(c.volume_m3 or 0.0) * 1.002) for c in meter_test().catches)
    assert meter_result(meter_test(catches=catches)).error_ratio < first.error_ratio
    share = next(c for c in first.budget.components if c.cause == TOOLS.measure_cause)
    assert share.standard < 0.0


@pytest.mark.parametrize("levels", [("low", "low", "low", "low"), ("low", "low", "same", "same")])
def test_one_flow_is_not_enough(levels):
    catches = tuple(jug(str(n), level, 60.0, 60.0) for n, level in enumerate(levels))
    found = meter_result(meter_test(catches=catches))
    assert Withheld.TOO_FEW in found.withheld
    assert (found.new_number, found.next_step, found.span) == (None, NextStep.REPEAT, None)
    assert found.more_catches


def found_with(*numbers):
    """Two catches at each of two flows, each of its own number."""
    rows = [("low", 60.0), ("low", 60.0), ("high", 150.0), ("high", 150.0)]
    catches = tuple(jug(str(n), *row, 60.0, k) for n, (row, k) in enumerate(zip(rows, numbers, strict=True)))
    return meter_result(meter_test(catches=catches))


def test_scatter_over_a_per_cent_asks_for_five_catches():
    found = found_with(642.0, 660.0, 655.0, 638.0)
    assert found.repeat_cv_ratio is not None
    assert found.repeat_cv_ratio > 0.01
    assert Withheld.SCATTERED in found.withheld
    assert found.new_number is None
    assert found.more_catches is not None
    assert found.more_catches >= 1
    assert found.scatter_beyond_tools


def test_an_error_that_changes_with_flow_is_not_put_right_by_one_number():
    found = found_with(600.0, 600.0, 650.0, 650.0)
    assert found.span is not None
    assert found.span.value == pytest.approx(50.0 / 620.0, rel=1e-2)
    assert found.span.verdict is Verdict.FAIL
    assert Withheld.BENDS in found.withheld
    assert (found.new_number, found.next_step) == (None, NextStep.LOOK_FIRST)
    assert "change over the flows" in found.budget.shares


def test_flows_outside_the_meters_range_are_flagged_and_do_not_count():
    extra = jug("trickle", "trickle", 6.0, 60.0, 400.0)
    limits = MeterRange(least_m3s=5e-4, greatest_m3s=5e-3)
    test = meter_test()
    test = replace(test, meter=replace(test.meter, limits=limits), catches=(*test.catches, extra))
    asked = meter_result(test)
    assert [q.row for q in asked.questions] == ["trickle"]
    mild = jug("trickle", "trickle", 6.0, 60.0, 610.0)
    found = meter_result(replace(test, catches=(*meter_test().catches, mild)))
    assert [c.name for c in found.outside_range] == ["trickle"]
    assert found.error_ratio == pytest.approx(meter_result(meter_test()).error_ratio)


@pytest.mark.parametrize(
    ("tag", "step", "reason"),
    [
        (640.0, NextStep.ENTER_NEW, None),
        (560.0, NextStep.LOOK_FIRST, Withheld.FAR_FROM_TAG),
        (611.5, NextStep.REPEAT, Withheld.NEAR_TAG_LIMIT),
    ],
)
def test_a_number_far_from_the_tag_is_not_offered(tag, step, reason):
    test = meter_test()
    found = meter_result(replace(test, meter=replace(test.meter, tag=number(PER_LITRE, tag))))
    assert found.next_step is step
    assert found.withheld == (() if reason is None else (reason,))
    assert (found.new_number is None) == (reason is not None)
    assert found.look_for == (LOOK_FOR if step is NextStep.LOOK_FIRST else ())


def test_tank_marks_stand_beside_and_move_nothing():
    marks = MeterCatch(
        name="sight gauge", level="tank", basis=Basis.TANK_MARK, time_s=None, pulses=642.0 * 100, volume_m3=110 * GALLON
    )
    plain = meter_result(meter_test())
    found = meter_result(meter_test(catches=(*meter_test().catches, marks)))
    assert (found.new_number, found.budget) == (plain.new_number, plain.budget)
    assert found.beside[0].marks_off_ratio == pytest.approx(0.1, abs=1e-3)
    with pytest.raises(NotDefined, match="no catch may count"):
        meter_result(meter_test(catches=(marks, marks, marks)))


@pytest.mark.parametrize(
    ("change", "kind", "column", "offered"),
    [
        ({"volume_m3": None}, SlipKind.BLANK, "volume", None),
        ({"volume_m3": 0.0}, SlipKind.NOT_POSITIVE, "volume", None),
        ({"time_s": 0.0}, SlipKind.NOT_POSITIVE, "time", None),
        ({"time_s": None}, SlipKind.BLANK, "time", None),
        ({"volume_m3": 1.5}, SlipKind.DECIMAL, "volume", 0.15),
        ({"volume_m3": 0.15 / 3.785411784}, SlipKind.UNIT, "volume", 0.15),
        ({"pulses": None}, SlipKind.BLANK, "pulses", None),
        ({"time_s": 1.0}, SlipKind.UNIT, "time", 60.0),
    ],
)
def test_a_bad_reading_names_its_catch_and_is_left_out(change, kind, column, offered):
    test = meter_test()
    bad = replace(test.catches[2], **change)
    extra = jug("5", "high", 151.0, 60.0)
    found = meter_result(replace(test, catches=(*test.catches[:2], bad, test.catches[3], extra)))
    assert {q.row for q in found.questions} == {"3"}
    matching = [q for q in found.questions if q.kind is kind]
    assert matching
    if offered is None:
        assert matching[0].column == column
    else:
        offers = [o for q in matching for o in q.offers if o.column == column and o.kind is kind]
        assert offers[0].value == pytest.approx(offered, rel=1e-6)
    assert "3" not in {c.name for c in found.catches}
    assert (found.next_step, found.new_number) == (NextStep.ANSWER_FIRST, None)


def test_two_swapped_volumes_are_recognised():
    test = meter_test()
    one, three = test.catches[0], test.catches[2]
    swapped = (replace(one, volume_m3=three.volume_m3), test.catches[1], replace(three, volume_m3=one.volume_m3))
    found = meter_result(replace(test, catches=(*swapped, test.catches[3])))
    assert {(q.row, q.kind) for q in found.questions} == {("1", SlipKind.SWAPPED), ("3", SlipKind.SWAPPED)}


def test_tare_above_gross_is_asked_about():
    test = meter_test()
    weighed = tuple(
        replace(c, basis=Basis.SCALE, volume_m3=None, gross_kg=40.0 + 1e3 * (c.volume_m3 or 0), tare_kg=40.0)
        for c in test.catches
    )
    turned = replace(weighed[0], gross_kg=weighed[0].tare_kg, tare_kg=weighed[0].gross_kg)
    found = meter_result(replace(test, catches=(turned, *weighed[1:])))
    assert [(q.row, q.column, q.kind) for q in found.questions] == [("1", "weight", SlipKind.NOT_POSITIVE)]
