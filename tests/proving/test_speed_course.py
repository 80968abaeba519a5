"""Speed courses as a technician writes them down: numbers found, verdicts, advice, and readings that cannot be."""

import pytest

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.course import Course, Direction, Run, SourceKind, SourceReading, SpeedSource, Surface
from wetrun.proving.course_advice import CourseFlaw
from wetrun.proving.course_result import course_result
from wetrun.proving.monitor import SPEED_FORMS
from wetrun.proving.number_form import TypedNumber, amount_per_pulse, pulses_per
from wetrun.proving.rule import NextStep
from wetrun.proving.slips import SlipKind
from wetrun.proving.uncertainty import Verdict

GROUND = Course(length_m=150.0, length_half_width_m=0.1, surface=Surface.FIELD, tank_frac=0.5)
WAYS = (Direction.OUT, Direction.BACK)
TIMES = (30.04, 29.91, 30.12, 29.96)
MPH = 0.44704


def wheel(text="100", form=None):
    return SpeedSource(
        name="wheel", kind=SourceKind.WHEEL, number=TypedNumber(text, form or pulses_per("pulses per m", 1.0))
    )


GPS = SpeedSource(name="GPS", kind=SourceKind.GPS, shown_step_mps=0.1 * MPH)


def runs(times=TIMES, pulses=None, shown=None):
    return [
        Run(
            f"run {n + 1}",
            WAYS[n % 2],
            time,
            (
                *((SourceReading("wheel", pulses=pulses[n]),) if pulses else ()),
                *((SourceReading("GPS", shown_mps=shown[n]),) if shown else ()),
            ),
        )
        for n, time in enumerate(times)
    ]


def test_a_wheel_four_per_cent_fast_gets_its_number_in_either_convention():
    pulses = (15600, 15612, 15590, 15598)
    per_metre = course_result(GROUND, runs(pulses=pulses), [wheel("100")]).sources[0]
    inverse = amount_per_pulse("cm per pulse", 0.01)
    per_pulse = course_result(GROUND, runs(pulses=pulses), [wheel("1.00", inverse)]).sources[0]
    assert per_metre.error_ratio == pytest.approx(0.04, abs=1e-3)
    assert per_metre.new_number == pytest.approx(104.0, abs=0.1)
    assert per_pulse.error_ratio == pytest.approx(per_metre.error_ratio)
    assert per_pulse.new_number == pytest.approx(1.0 / 1.04, abs=1e-3)
    assert per_pulse.new_number is not None
    assert inverse.quantity(per_pulse.new_number) == pytest.approx(per_metre.new_number)
    assert per_metre.next_step is NextStep.ENTER_NEW
    assert per_metre.judged.verdict is Verdict.PASS


def test_entering_the_new_number_leaves_no_error():
    pulses = (15600, 15612, 15590, 15598)
    first = course_result(GROUND, runs(pulses=pulses), [wheel("100")]).sources[0]
    again = course_result(GROUND, runs(pulses=pulses), [wheel(f"{first.new_number:.9f}")]).sources[0]
    assert again.error_ratio == pytest.approx(0.0, abs=1e-9)
    assert again.next_step is NextStep.KEEP
    assert again.new_number is None


def test_both_ways_count_alike_however_often_each_was_driven():
    downhill = [15900, 15000, 15900, 15900]
    ways = [Direction.OUT, Direction.BACK, Direction.OUT, Direction.OUT]
    driven = [
        Run(str(n), way, 30.0, (SourceReading("wheel", p),))
        for n, (way, p) in enumerate(zip(ways, downhill, strict=True))
    ]
    assert course_result(GROUND, driven, [wheel()]).sources[0].error_ratio == pytest.approx(0.03)


def test_a_source_far_off_is_looked_into_and_a_fast_gps_cannot_be_set():
    far = course_result(GROUND, runs(pulses=(19500,) * 4), [wheel()]).sources[0]
    assert (far.next_step, far.new_number) == (NextStep.LOOK_FIRST, None)
    fast = course_result(GROUND, runs(shown=[150.0 / t * 1.09 for t in TIMES]), [GPS]).sources[0]
    assert (fast.judged.verdict, fast.next_step, fast.new_number) == (Verdict.FAIL, NextStep.CHECK_SOURCE, None)


def test_a_short_course_by_hand_leaves_a_source_near_the_limit_undecided():
    short = Course(length_m=30.48, surface=Surface.FIELD, tank_frac=0.5)
    times = (6.8, 6.9)
    found = course_result(short, runs(times, shown=[30.48 / t * 1.045 for t in times]), [GPS]).sources[0]
    assert found.judged.verdict is Verdict.UNDECIDED
    assert found.next_step is NextStep.REPEAT
    assert found.judged.repeats_needed is None or found.judged.repeats_needed > 0


def test_scatter_beyond_hand_and_watch_is_said():
    slipping = course_result(GROUND, runs(pulses=(15000, 15900, 15000, 15900)), [wheel()]).sources[0]
    steady = course_result(GROUND, runs(pulses=(15000, 15010, 15000, 15010)), [wheel()]).sources[0]
    assert slipping.scatter_beyond_watch
    assert not steady.scatter_beyond_watch
    assert slipping.budget.combined > 5.0 * steady.budget.combined


def test_the_tape_is_shared_by_every_source_against_the_true_speed():
    result = course_result(GROUND, runs(pulses=(15000,) * 4, shown=[5.0] * 4), [wheel(), GPS])
    tape = 0.1 / 3**0.5 / 150.0
    first, second = (source.budget for source in result.sources)
    assert first.covariance(second) == pytest.approx(tape**2, rel=2e-2)
    assert first.covariance(result.budget) == pytest.approx(-(tape**2), rel=2e-2)


def test_a_course_by_the_book_gets_no_advice():
    assert course_result(GROUND, runs(), []).advice == ()


@pytest.mark.parametrize(
    ("course", "times", "flaw"),
    [
        (Course(length_m=25.0, surface=Surface.FIELD, tank_frac=0.5), TIMES, CourseFlaw.SHORT),
        (Course(length_m=150.0, surface=Surface.FIELD, tank_frac=0.5, paced=True), TIMES, CourseFlaw.PACED),
        (Course(length_m=150.0, surface=Surface.FIELD, tank_frac=0.9), TIMES, CourseFlaw.TANK),
        (Course(length_m=150.0, surface=Surface.FIELD), TIMES, CourseFlaw.TANK),
        (Course(length_m=150.0, surface=Surface.ROAD, tank_frac=0.5), TIMES, CourseFlaw.SURFACE),
        (
            Course(length_m=150.0, surface=Surface.FIELD, tank_frac=0.5, rolling_start=False),
            TIMES,
            CourseFlaw.STANDING,
        ),
        (GROUND, TIMES[:1], CourseFlaw.ONE_WAY),
        (GROUND, TIMES[:3], CourseFlaw.FEW_RUNS),
        (GROUND, (30.0, 31.0, 30.0, 29.0), CourseFlaw.WHOLE_SECONDS),
    ],
)
def test_each_shortcoming_is_named_alone(course, times, flaw):
    assert [advice.flaw for advice in course_result(course, runs(times), []).advice] == [flaw]


def test_whole_seconds_over_200_ft_at_10_mph_cost_three_point_seven_per_cent():
    course = Course(length_m=60.96, watch_step_s=1.0, surface=Surface.FIELD, tank_frac=0.5)
    # 13.6 s as it would be written with tenths; the rules this is checked against are worked for that time.
    advice = course_result(course, runs((13.636,) * 4), []).advice
    assert [a.flaw for a in advice] == [CourseFlaw.WHOLE_SECONDS]
    assert advice[0].speed_ratio == pytest.approx(0.037, abs=0.0005)


@pytest.mark.parametrize(
    ("times", "kind", "entered"),
    [((30.04, None, 30.12, 29.96), SlipKind.BLANK, None), ((30.04, 0.0, 30.12, 29.96), SlipKind.NOT_POSITIVE, 0.0)],
)
def test_a_run_without_a_time_is_asked_about_and_left_out(times, kind, entered):
    result = course_result(GROUND, runs(times), [])
    assert [(q.row, q.column, q.kind, q.entered) for q in result.questions] == [("run 2", "time", kind, entered)]
    assert [run.name for run in result.runs] == ["run 1", "run 3", "run 4"]
    assert "run 2, time" in result.questions[0].words


@pytest.mark.parametrize(
    ("factor", "kind"), [(10.0, SlipKind.DECIMAL), (0.1, SlipKind.DECIMAL), (1.609344, SlipKind.UNIT)]
)
def test_a_slipped_speed_is_recognised_offered_and_not_applied(factor, kind):
    shown = [150.0 / t for t in TIMES]
    shown[2] *= factor
    result = course_result(GROUND, runs(shown=shown), [GPS])
    (asked,) = result.questions
    assert (asked.row, asked.kind, asked.entered) == ("run 3", kind, shown[2])
    assert asked.offers[0].value == pytest.approx(150.0 / TIMES[2])
    assert result.sources[0].runs == ("run 1", "run 2", "run 4")


def test_two_swapped_times_are_recognised():
    times = [40.0, 20.0, 30.0, 25.0]
    shown = [150.0 / t for t in times]
    times[0], times[1] = times[1], times[0]
    result = course_result(GROUND, runs(times, shown=shown), [GPS])
    assert [(q.row, q.kind, q.offers[0].other_row) for q in result.questions] == [
        ("run 1", SlipKind.SWAPPED, "run 2"),
        ("run 2", SlipKind.SWAPPED, "run 1"),
    ]


def test_a_unit_that_every_run_shares_is_asked_about_once():
    result = course_result(GROUND, runs(shown=[150.0 / t * 1.609344 for t in TIMES]), [GPS])
    (asked,) = result.questions
    assert (asked.row, asked.kind) == ("every row", SlipKind.UNIT)
    assert result.sources[0].next_step is NextStep.LOOK_FIRST


def test_a_wrong_number_with_two_runs_is_a_finding_not_a_question():
    result = course_result(GROUND, runs(TIMES[:2], pulses=(16800, 16810)), [wheel()])
    assert result.questions == ()
    assert result.sources[0].new_number == pytest.approx(112.0, abs=0.1)


def test_nothing_to_go_by_is_refused_with_the_run_named():
    with pytest.raises(NotDefined, match="run 1, time"):
        course_result(GROUND, runs((0.0,)), [])
    with pytest.raises(NotDefined, match="no run was entered"):
        course_result(GROUND, [], [])
    with pytest.raises(NotDefined, match="“GPS” is no speed source"):
        course_result(GROUND, runs(shown=[5.0] * 4), [wheel()])
    with pytest.raises(OutOfRange, match="length of the course"):
        Course(length_m=0.0)


@pytest.mark.parametrize("form", SPEED_FORMS, ids=lambda form: form.words)
def test_every_speed_form_says_the_same_number_in_its_own_way(form):
    old = wheel(f"{form.typed(100.0):.12f}", form)
    new = course_result(GROUND, runs(pulses=(15600, 15612, 15590, 15598)), [old]).sources[0].new_number
    assert new is not None
    assert form.quantity(new) == pytest.approx(104.0, rel=1e-6)
