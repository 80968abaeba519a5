"""Monitors: numbers as typed, what can be entered, differences with their effect, and the density put back."""

from math import sqrt

import pytest

from wetrun.errors import NotDefined
from wetrun.proving.monitor import (
    DENSITY_FORMS,
    METER_FORMS,
    SIZE_FORMS,
    SPEED_FORMS,
    Entry,
    Moment,
    Profile,
    Setting,
    SettingForm,
    Snapshot,
    changes,
)
from wetrun.proving.number_form import TypedNumber, plain
from wetrun.proving.rate_effect import Acts, Steering, rate_effect, steering_of
from wetrun.proving.settings import Agreement, DensityRecord, DensityStep, Wanted, compared, density_steps_missing
from wetrun.proving.uncertainty import Budget, Component
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.orifice import law_of_iso_size

PER_GALLON, PER_TEN, PER_IMPERIAL, PER_LITRE, ML = METER_FORMS
METRES = plain("m", 1.0)
METERED, BY_PRESSURE = Steering(metered=True), Steering(metered=False)
PROFILE = Profile(
    "plain monitor",
    (
        SettingForm(setting=Setting.METER_NUMBER, form=PER_GALLON, step="1", low=1, high=9999),
        SettingForm(setting=Setting.SPEED_NUMBER, form=SPEED_FORMS[0], step="0.1"),
        SettingForm(setting=Setting.SECTION_WIDTH, form=METRES, step="0.01"),
        SettingForm(setting=Setting.DENSITY, form=DENSITY_FORMS[2], step="0.01"),
    ),
)


def found_in_monitor(*entries):
    return Snapshot(Moment.AS_FOUND, entries)


def test_conventions_of_one_meter_mean_the_same():
    truth = PER_GALLON.quantity(642.0)
    assert PER_TEN.typed(truth) == pytest.approx(6420.0)
    assert PER_LITRE.typed(truth) == pytest.approx(642.0 / 3.785411784)
    assert PER_IMPERIAL.typed(truth) == pytest.approx(642.0 * 4.54609 / 3.785411784)
    assert ML.typed(truth) == pytest.approx(3785.411784 / 642.0)


def test_a_typed_number_keeps_its_text_and_reads_a_comma():
    assert TypedNumber("64,20", PER_GALLON).number == 64.2
    assert TypedNumber("64,20", PER_GALLON).text == "64,20"
    assert TypedNumber("642", PER_GALLON).half_digit_ratio == pytest.approx(0.5 / 642)
    assert TypedNumber("1.13", DENSITY_FORMS[4]).half_digit_ratio == pytest.approx(2 * 0.005 / 1.13, rel=0.01)


@pytest.mark.parametrize("text", ["", "abc", "0", "-3", "nan", "inf"])
def test_what_is_no_number_is_refused(text):
    with pytest.raises(NotDefined):
        _ = TypedNumber(text, PER_GALLON).quantity


def test_a_tip_size_is_read_as_it_is_stamped():
    for text in ("04", "015"):
        assert TypedNumber(text, SIZE_FORMS[0]).quantity == pytest.approx(law_of_iso_size(text).coef_m3spa05)
    assert TypedNumber("04", SIZE_FORMS[0]).half_digit_ratio == 0.0


def test_density_conventions_agree_with_one_another():
    uan = 1278.0
    pounds, kilograms, gravity, gravity_834, factor = (form.typed(uan) for form in DENSITY_FORMS)
    assert pounds == pytest.approx(10.665, abs=0.001)
    assert kilograms == pytest.approx(1.278)
    assert factor == pytest.approx(sqrt(gravity))
    assert gravity / gravity_834 == pytest.approx(8.34 / 8.3304, rel=1e-3)


def test_a_range_and_a_step_too_coarse_are_told():
    kept = SettingForm(setting=Setting.METER_NUMBER, form=PER_GALLON, step="1", low=10, high=500)
    assert not kept.rounded(PER_GALLON.quantity(642.0)).in_range
    assert not kept.rounded(PER_GALLON.quantity(3.0)).in_range
    assert kept.rounded(PER_GALLON.quantity(321.4)).in_range
    with pytest.raises(NotDefined, match="too coarse"):
        kept.rounded(PER_GALLON.quantity(0.2))


@pytest.mark.parametrize(
    ("setting", "ratio", "metered", "by_pressure"),
    [
        (Setting.TARGET_RATE, 1.1, 1.1, 1.1),
        (Setting.SECTION_WIDTH, 1.1, 1.1, 1.1),
        (Setting.METER_NUMBER, 1.1, 1.1, 1.0),
        (Setting.SPEED_NUMBER, 1.1, 1 / 1.1, 1 / 1.1),
        (Setting.TIP_SIZE, 1.1, 1.0, 1 / 1.1),
        (Setting.HOLD_PRESSURE, 1.21, 1.1, 1.1),
        (Setting.HOLD_PRESSURE, 0.81, 1.0, 1.0),
        (Setting.HOLD_FLOW, 1.1, 1.1, 1.1),
        (Setting.HOLD_FLOW, 0.9, 1.0, 1.0),
        (Setting.PRESSURE_HIGH, 0.81, 0.9, 0.9),
        (Setting.PRESSURE_HIGH, 1.21, 1.0, 1.0),
        (Setting.PRESSURE_LOW, 1.21, 1.0, 1.0),
        (Setting.DENSITY, 1.21, None, 1.1),
    ],
)
def test_a_wrong_setting_does_what_the_loop_makes_of_it(setting, ratio, metered, by_pressure):
    for steering, expected in ((METERED, metered), (BY_PRESSURE, by_pressure)):
        effect = rate_effect(setting, ratio, steering)
        assert effect.rate_ratio == (None if expected is None else pytest.approx(expected))
        assert (effect.acts in {Acts.NOT_ON_RATE, Acts.NOT_KNOWN}) == (expected in {1.0, None})


@pytest.mark.parametrize(("scales", "expected"), [(True, 1 / 1.28), (False, 1.0), (None, None)])
def test_density_under_a_meter_depends_on_the_monitor(scales, expected):
    steering = Steering(metered=True, scales_meter_by_density=scales)
    effect = rate_effect(Setting.DENSITY, 1.28, steering)
    assert effect.rate_ratio == (None if expected is None else pytest.approx(expected))


@pytest.mark.parametrize(
    ("loop", "metered", "feedback"),
    [(Loop.METER, True, True), (Loop.PRESSURE, False, True), (Loop.FIXED, False, False)],
)
def test_steering_follows_the_loop(loop, metered, feedback):
    setup = Hydraulics(loop=loop, law=law_of_iso_size("04"), low_pa=1e5, high_pa=4e5, tips=72)
    steering = steering_of(setup)
    assert (steering.metered, steering.feedback) == (metered, feedback)


def test_every_difference_is_listed_with_its_effect_and_what_to_enter():
    wanted = [
        Wanted(setting=Setting.METER_NUMBER, quantity=PER_GALLON.quantity(642.0), why="wet run"),
        Wanted(setting=Setting.SPEED_NUMBER, quantity=104.0, why="wet run"),
        Wanted(setting=Setting.SECTION_WIDTH, quantity=12.192, why="tape", section=1),
        Wanted(setting=Setting.SECTION_WIDTH, quantity=12.192, why="tape", section=2),
        Wanted(setting=Setting.TARGET_RATE, quantity=1.4e-5, why="plan"),
    ]
    snapshot = found_in_monitor(
        Entry(Setting.METER_NUMBER, TypedNumber("620", PER_GALLON)),
        Entry(Setting.SPEED_NUMBER, TypedNumber("104.0", SPEED_FORMS[0])),
        Entry(Setting.SECTION_WIDTH, TypedNumber("12.00", METRES), 1),
        Entry(Setting.SECTION_WIDTH, TypedNumber("12.19", METRES), 2),
    )
    meter, speed, first, second, rate = compared(snapshot, wanted, PROFILE, METERED)
    assert meter.enter
    assert meter.shown
    assert meter.effect
    assert (meter.agreement, meter.enter.text, meter.shown.text) == (Agreement.DIFFERS, "642", "620")
    assert meter.effect.rate_ratio == pytest.approx(620 / 642)
    assert (speed.agreement, speed.effect) == (Agreement.AGREES, None)
    assert first.agreement is Agreement.DIFFERS
    assert first.effect
    assert first.effect.rate_ratio == pytest.approx(12.0 / 12.192)
    assert first.whole_boom_ratio == pytest.approx(24.192 / 24.384)
    assert second.agreement is Agreement.AGREES
    assert second.enter
    assert second.enter.off_ratio == pytest.approx(12.19 / 12.192 - 1)
    assert (rate.agreement, rate.shown, rate.enter) == (Agreement.NOT_SHOWN, None, None)


def test_a_difference_below_the_doubt_is_said_to_be_so():
    doubt = Budget((Component("catches", 0.01),))
    wanted = [Wanted(setting=Setting.METER_NUMBER, quantity=PER_GALLON.quantity(642.0), why="wet run", budget=doubt)]
    for text, agreement in (("633", Agreement.WITHIN_DOUBT), ("620", Agreement.DIFFERS)):
        snapshot = found_in_monitor(Entry(Setting.METER_NUMBER, TypedNumber(text, PER_GALLON)))
        assert compared(snapshot, wanted, PROFILE, METERED)[0].agreement is agreement


@pytest.mark.parametrize(
    ("text", "slip"), [("6420", "point off"), ("170", "litres"), ("771", "imperial gallons"), ("700", None)]
)
def test_a_known_slip_of_the_meter_number_is_named(text, slip):
    wanted = [Wanted(setting=Setting.METER_NUMBER, quantity=PER_GALLON.quantity(642.0), why="wet run")]
    snapshot = found_in_monitor(Entry(Setting.METER_NUMBER, TypedNumber(text, PER_GALLON)))
    found = compared(snapshot, wanted, PROFILE, METERED)[0].slips
    assert found == () if slip is None else any(slip in words for words in found)


def test_changes_list_what_was_retyped_added_or_lost():
    before = found_in_monitor(
        Entry(Setting.METER_NUMBER, TypedNumber("64.0", PER_GALLON)),
        Entry(Setting.DENSITY, TypedNumber("1.28", DENSITY_FORMS[2])),
        Entry(Setting.SECTION_WIDTH, TypedNumber("12", METRES), 1),
    )
    after = Snapshot(
        Moment.AS_LEFT,
        (
            Entry(Setting.METER_NUMBER, TypedNumber("64", PER_GALLON)),
            Entry(Setting.SECTION_WIDTH, TypedNumber("12", METRES), 1),
            Entry(Setting.SECTION_WIDTH, TypedNumber("12", METRES), 2),
        ),
    )
    listed = [(c.setting, c.section, c.found and c.found.text, c.left and c.left.text) for c in changes(before, after)]
    assert listed == [
        (Setting.METER_NUMBER, None, "64.0", "64"),
        (Setting.DENSITY, None, "1.28", None),
        (Setting.SECTION_WIDTH, 2, None, "12"),
    ]


GRAVITY = DENSITY_FORMS[2]


@pytest.mark.parametrize(
    ("during", "left", "signed", "steps"),
    [
        ("1.00", "1.28", "technician 4", []),
        ("1.00", "1.00", "technician 4", [DensityStep.NOT_RESTORED]),
        ("1.00", None, "technician 4", [DensityStep.NOT_RESTORED]),
        ("1.28", "1.28", "technician 4", [DensityStep.NOT_WATER]),
        ("1.00", "1.28", " ", [DensityStep.NOT_SIGNED]),
        ("1.00", "1.00", "", [DensityStep.NOT_RESTORED, DensityStep.NOT_SIGNED]),
    ],
)
def test_a_density_not_put_back_or_not_signed_is_a_finding(during, left, signed, steps):
    record = DensityRecord(
        during=TypedNumber(during, GRAVITY),
        left=None if left is None else TypedNumber(left, GRAVITY),
        signed_by=signed,
        product_kgpm3=1280.0,
    )
    found = density_steps_missing(record, BY_PRESSURE)
    assert [finding.step for finding in found] == steps
    restored = [f.effect for f in found if f.step is DensityStep.NOT_RESTORED and f.effect]
    assert all(effect.rate_ratio == pytest.approx(sqrt(998.2 / 1280.0), rel=1e-3) for effect in restored)
