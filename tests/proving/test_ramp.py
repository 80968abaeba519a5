"""A ramp on an invented machine: what is predicted passes, and each fault is seen where it is."""

from dataclasses import replace

import numpy as np
import pytest

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.confirmation import AsLeft, Confirmed
from wetrun.proving.ramp import ramp_result
from wetrun.proving.ramp_check import Aspect
from wetrun.proving.ramp_findings import Seen
from wetrun.proving.ramp_reading import Instrument, RampRules, Reading, Shown
from wetrun.proving.ramp_record import ExpectedStep, Ramp, RampStep
from wetrun.proving.response import Response
from wetrun.proving.uncertainty import Verdict
from wetrun.spray.limits import Limit
from wetrun.spray.orifice import law_of_iso_size

LAW = law_of_iso_size("03")
RATE_M3PM2, SPACING_M, TIPS = 1e-5, 0.5, 48
BOOM_LOSS = 2e10
SIGNED = Confirmed("A. Name", at="2026-03-02")
INSTRUMENTS = (
    Instrument(what=Shown.METER, relative_frac=0.005, display_step=1e-6),
    Instrument(what=Shown.CAB, relative_frac=0.01, display_step=1e3),
    Instrument(what=Shown.TIP, relative_frac=0.01, display_step=1e3),
    Instrument(what=Shown.RATE, display_step=1e-8),
)


def truth(speed_mps, tips_on=TIPS, floor_m3s=0.0, ceiling_m3s=1.0):
    """Settled readings of the invented machine; ends as flow of one tip."""
    tip_m3s = min(max(RATE_M3PM2 * speed_mps * SPACING_M, floor_m3s), ceiling_m3s)
    boom_m3s, tip_pa = tip_m3s * tips_on, LAW.pressure_pa(tip_m3s)
    return {
        Shown.RATE: tip_m3s / (speed_mps * SPACING_M),
        Shown.METER: boom_m3s,
        Shown.CAB: tip_pa + BOOM_LOSS * boom_m3s**2,
        Shown.TIP: tip_pa,
    }


def step(name, speed_mps, tips_on=TIPS, *, limit=None, seen=None, predicted=None, **ends):
    predicted = predicted or truth(speed_mps, tips_on, **ends)
    seen = seen or truth(speed_mps, tips_on, **ends)
    expected = ExpectedStep(
        rate_m3pm2=predicted[Shown.RATE],
        boom_flow_m3s=predicted[Shown.METER],
        cab_pa=predicted[Shown.CAB],
        tip_pa=predicted[Shown.TIP],
        flow_standard_frac=0.002,
        pressure_standard_frac=0.01,
        limit=limit,
    )
    readings = tuple(Reading(what, (value,)) for what, value in seen.items())
    sections = tips_on // 6
    return RampStep(
        name=name, speed_mps=speed_mps, sections_on=sections, tips_on=tips_on, readings=readings, expected=expected
    )


def ramp(*steps, **changes):
    usual = {
        "rate_m3pm2": RATE_M3PM2,
        "spacing_m": SPACING_M,
        "simulated_speed_off": True,
        "instruments": INSTRUMENTS,
        "water_density_set": SIGNED,
        "density_restored": AsLeft("density", "10.65 lb/gal", SIGNED),
    }
    return Ramp(steps=steps, **{**usual, **changes})


GOOD = (
    step("slow", 3.0),
    step("usual", 5.0),
    step("fast", 7.0),
    step("usual, half off", 5.0, 24),
    step("usual, one on", 5.0, 6),
    step("slow again", 3.0),
)


def aspects(result, aspect):
    return [check for check in result.checks if check.aspect is aspect]


def seen(result):
    return [finding.seen for finding in result.findings]


def there(found):
    assert found is not None
    return found


def test_a_machine_as_predicted_passes_and_says_what_stays_unproven():
    result = ramp_result(ramp(*GOOD))
    assert result.verdict is Verdict.PASS
    assert all(one.verdict is Verdict.PASS for one in result.steps)
    assert seen(result) == [Seen.FLOOR_NOT_REACHED, Seen.CEILING_NOT_REACHED]
    assert {check.aspect for check in result.checks} == {
        Aspect.PREDICTION,
        Aspect.DEMAND,
        Aspect.IDENTITY,
        Aspect.CLOSING,
        Aspect.WAY_BACK,
    }


def test_without_simulated_speed_confirmed_off_it_never_passes_and_says_so_first():
    result = ramp_result(ramp(*GOOD, simulated_speed_off=False, water_density_set=None))
    assert result.verdict is Verdict.UNDECIDED
    assert result.findings[0].seen is Seen.STILL_SIMULATED
    wrong = replace(GOOD[0], readings=(Reading(Shown.METER, (1.2 * truth(3.0)[Shown.METER],)),))
    result = ramp_result(ramp(wrong, *GOOD[1:], simulated_speed_off=False))
    assert result.verdict is Verdict.FAIL
    assert result.findings[0].seen is Seen.STILL_SIMULATED


def test_density_not_restored_and_agitation_off_are_findings_not_failures():
    quiet = tuple(replace(one, agitation_on=False) for one in GOOD)
    result = ramp_result(ramp(*quiet, density_restored=None, water_density_set=None))
    assert seen(result)[:3] == [Seen.NOT_ON_WATER, Seen.DENSITY_NOT_RESTORED, Seen.NO_AGITATION]
    assert result.verdict is Verdict.PASS


def test_the_real_hold_and_ceiling_are_found_as_flow_speed_and_cab_pressure():
    ends = {"floor_m3s": 1.0e-5, "ceiling_m3s": 4.0e-5}
    speeds = (1.0, 1.5, 3.0, 5.0, 7.0, 9.0, 10.0)
    acts = {1.0: Limit.HOLD, 1.5: Limit.HOLD, 9.0: Limit.PUMP, 10.0: Limit.PUMP}
    steps = [step(f"{v} m/s", v, limit=acts.get(v), **ends) for v in speeds]
    result = ramp_result(ramp(*steps))
    (found,) = result.ends
    assert (there(found.ends.floor).steps, there(found.ends.ceiling).steps) == (2, 2)
    assert there(found.ends.floor).flow_m3s == pytest.approx(48 * 1.0e-5)
    assert found.floor_mps == pytest.approx(2.0, rel=1e-3)
    assert found.ceiling_mps == pytest.approx(8.0, rel=1e-3)
    assert found.floor_pa == pytest.approx(truth(1.0, **ends)[Shown.CAB])
    assert found.ceiling_pa == pytest.approx(truth(10.0, **ends)[Shown.CAB])
    assert result.verdict is Verdict.PASS
    shown = [check for check in aspects(result, Aspect.DEMAND) if not check.counts]
    assert len(shown) == 4
    assert all(check.judged.verdict is Verdict.FAIL for check in shown)


def test_a_hold_nobody_predicted_fails_against_demand_and_prediction():
    held = step("slow", 1.0, seen=truth(1.0, floor_m3s=1.0e-5), predicted=truth(1.0))
    result = ramp_result(ramp(held, *GOOD[1:]))
    assert result.steps[0].verdict is Verdict.FAIL
    assert result.steps[1].verdict is Verdict.PASS
    assert result.verdict is Verdict.FAIL


def test_worn_tips_under_a_meter_pass_by_flow_and_fail_by_pressure():
    worn = {**truth(5.0), Shown.CAB: truth(5.0)[Shown.CAB] * 0.7, Shown.TIP: truth(5.0)[Shown.TIP] * 0.7}
    result = ramp_result(ramp(step("usual", 5.0, seen=worn)))
    verdicts = {check.what: check.judged.verdict for check in aspects(result, Aspect.PREDICTION)}
    assert verdicts[Shown.METER] is verdicts[Shown.RATE] is Verdict.PASS
    assert verdicts[Shown.CAB] is verdicts[Shown.TIP] is Verdict.FAIL


def test_a_reading_on_the_edge_is_undecided():
    edge = {**truth(5.0), Shown.METER: truth(5.0)[Shown.METER] * 1.048}
    result = ramp_result(ramp(step("usual", 5.0, seen=edge)))
    (check,) = [c for c in aspects(result, Aspect.PREDICTION) if c.what is Shown.METER]
    assert check.judged.verdict is Verdict.UNDECIDED
    assert check.judged.value == pytest.approx(0.048)


def test_a_pressure_may_move_by_what_five_per_cent_of_flow_takes():
    for ratio, verdict in ((1.075, Verdict.PASS), (0.93, Verdict.PASS), (1.14, Verdict.FAIL), (0.86, Verdict.FAIL)):
        moved = {**truth(5.0), Shown.TIP: truth(5.0)[Shown.TIP] * ratio}
        sharp = {"pressure_standard_frac": 0.0}
        one = step("usual", 5.0, seen=moved)
        one = replace(one, expected=replace(one.expected, **sharp))
        result = ramp_result(ramp(one))
        (check,) = [c for c in aspects(result, Aspect.PREDICTION) if c.what is Shown.TIP]
        assert check.judged.verdict is verdict


def test_flow_that_passes_the_meter_to_the_tank_is_no_error_of_the_boom():
    def passing(one):
        meter = {reading.what: reading for reading in one.readings}[Shown.METER]
        more = replace(meter, values=(meter.values[0] + 3e-4,))
        rest = tuple(reading for reading in one.readings if reading.what is not Shown.METER)
        expected = replace(one.expected, boom_flow_m3s=more.values[0])
        return replace(one, readings=(*rest, more), expected=expected)

    result = ramp_result(ramp(*(passing(one) for one in GOOD), passing_m3s=3e-4))
    assert result.verdict is Verdict.PASS
    whole = result.ends[0].ends
    assert whole.greatest_m3s == pytest.approx(truth(7.0)[Shown.METER])


def test_ends_are_looked_for_also_where_only_the_meters_own_error_is_known():
    bare = (Instrument(what=Shown.METER, relative_frac=0.01), *INSTRUMENTS[1:])
    result = ramp_result(ramp(*GOOD, instruments=bare))
    assert [found.tips_on for found in result.ends] == [TIPS]


def test_a_wrong_width_shows_as_a_rate_that_does_not_follow_from_the_meters_flow():
    odd = {**truth(5.0), Shown.RATE: truth(5.0)[Shown.RATE] * 1.1}
    result = ramp_result(ramp(step("usual", 5.0, seen=odd, predicted=odd)))
    (check,) = aspects(result, Aspect.IDENTITY)
    assert check.judged.verdict is Verdict.FAIL
    # A meter that is wrong moves both alike, and is no cause for it.
    both = {**truth(5.0), Shown.RATE: 1.2 * truth(5.0)[Shown.RATE], Shown.METER: 1.2 * truth(5.0)[Shown.METER]}
    result = ramp_result(ramp(step("usual", 5.0, seen=both, predicted=both)))
    (check,) = aspects(result, Aspect.IDENTITY)
    assert check.judged.verdict is Verdict.PASS


def test_pressure_that_jumps_when_sections_close_fails_by_a_rule_from_memory():
    jump = {what: value * (1.25 if what is Shown.TIP else 1.0) for what, value in truth(5.0, 24).items()}
    result = ramp_result(ramp(GOOD[1], step("usual, half off", 5.0, 24, seen=jump, predicted=jump)))
    (check,) = aspects(result, Aspect.CLOSING)
    assert check.what is Shown.TIP
    assert check.judged.value == pytest.approx(0.25)
    assert check.caution == "the limit is from memory"
    assert (Seen.CLOSING, ("usual, half off",)) in [(f.seen, f.steps) for f in result.findings]


def test_what_one_gauge_does_to_both_readings_cancels_in_their_ratio():
    rough = tuple(replace(one, relative_frac=0.2) if one.what is Shown.TIP else one for one in INSTRUMENTS)
    pair = (GOOD[1], GOOD[3])
    sure, unsure = (
        aspects(ramp_result(ramp(*pair, instruments=by)), Aspect.CLOSING)[0].judged for by in (INSTRUMENTS, rough)
    )
    assert unsure.verdict is sure.verdict is Verdict.PASS
    assert unsure.expanded == pytest.approx(sure.expanded, rel=1e-6)


def test_the_way_back_that_reads_otherwise_is_seen():
    stuck = {**truth(3.0), Shown.METER: truth(3.0)[Shown.METER] * 1.2}
    result = ramp_result(ramp(GOOD[0], GOOD[1], step("slow again", 3.0, seen=stuck, predicted=stuck)))
    assert (Seen.NOT_BACK, ("slow again",)) in [(f.seen, f.steps) for f in result.findings]


TIMES = tuple(float(t) for t in np.arange(0.5, 40.0, 0.5))


def logged(lag_s, swing=0.0, seed=1):
    """Two steps, the second logged from half a second after the change."""
    chance = np.random.default_rng(seed)
    before, after = truth(3.0)[Shown.METER], truth(5.0)[Shown.METER]
    path = Response(before=before, after=after, delay_s=0.5, lag_s=lag_s)
    values = tuple(
        path.at(t) + after * (swing * np.sin(2.0 * np.pi * t / 6.0) + 0.002 * chance.standard_normal()) for t in TIMES
    )
    second = replace(GOOD[1], readings=(Reading(Shown.METER, values, TIMES),))
    return (GOOD[0], second)


def test_a_log_takes_its_start_from_the_step_before_and_gives_settled_flow_and_settling_time():
    result = ramp_result(ramp(*logged(1.2)))
    meter = there(result.steps[1].of(Shown.METER))
    path = Response(before=truth(3.0)[Shown.METER], after=truth(5.0)[Shown.METER], delay_s=0.5, lag_s=1.2)
    assert meter.settled.value == pytest.approx(truth(5.0)[Shown.METER], rel=0.002)
    assert meter.movement.settling_s == pytest.approx(path.settling_s(), abs=0.5)
    assert meter.movement.response.lag_s == pytest.approx(1.2, abs=0.1)
    assert meter.movement.hunting is None
    (check,) = aspects(result, Aspect.SETTLING)
    assert check.judged.verdict is Verdict.PASS
    assert not check.counts
    assert check.caution == "the limit is common practice, no source"


def test_slow_control_is_shown_by_our_own_limit_and_fails_only_by_the_users():
    shown = ramp_result(ramp(*logged(6.0)))
    assert Seen.SLOW in seen(shown)
    assert shown.verdict is Verdict.PASS
    assert ramp_result(ramp(*logged(6.0), rules=RampRules(settle_s=4.0, settle_source="user"))).verdict is Verdict.FAIL


def test_hunting_fails_with_its_period_and_never_settles():
    result = ramp_result(ramp(*logged(1.2, swing=0.08)))
    assert Seen.HUNTING in seen(result)
    assert result.verdict is Verdict.FAIL
    moved = there(result.steps[1].of(Shown.METER)).movement
    assert moved.hunting.period_s == pytest.approx(6.0, rel=0.02)
    assert moved.hunting.amplitude / moved.hunting.level == pytest.approx(0.08, rel=0.05)
    assert moved.settling_s is None


def test_a_log_too_short_to_settle_is_extrapolated_and_says_so():
    steps = logged(12.0)
    cut = tuple(t for t in TIMES if t <= 20.0)
    reading = Reading(Shown.METER, steps[1].readings[0].values[: len(cut)], cut)
    result = ramp_result(ramp(steps[0], replace(steps[1], readings=(reading,))))
    assert Seen.NOT_SETTLED in seen(result)
    assert there(result.steps[1].of(Shown.METER)).settled.value == pytest.approx(truth(5.0)[Shown.METER], rel=0.05)


def test_steps_without_a_prediction_or_a_meter_are_undecided():
    bare = replace(GOOD[1], expected=None, readings=(Reading(Shown.CAB, (2e5,)),))
    result = ramp_result(ramp(bare))
    assert result.verdict is Verdict.UNDECIDED
    assert seen(result) == [
        Seen.SPEEDS_MISSING,
        Seen.SECTIONS_MISSING,
        Seen.WAY_BACK_MISSING,
        Seen.NO_FLOW_READ,
    ]


def test_nothing_passes_on_a_reading_taken_as_exact():
    for blank in ((), (Instrument(what=Shown.METER), *INSTRUMENTS[1:])):
        result = ramp_result(ramp(*GOOD, instruments=blank))
        assert result.verdict is Verdict.UNDECIDED
        (finding,) = [found for found in result.findings if found.seen is Seen.TAKEN_AS_EXACT]
        assert "meter flow" in finding.steps


def test_bad_entries_are_refused_in_a_sentence():
    with pytest.raises(OutOfRange, match=r"simulated speed is 0\.0 m/s"):
        step("still", 0.0, seen=truth(1.0), predicted=truth(1.0))
    with pytest.raises(NotDefined, match="entered twice"):
        replace(GOOD[0], readings=(Reading(Shown.CAB, (2e5,)), Reading(Shown.CAB, (2e5,))))
    with pytest.raises(NotDefined, match="no reading was entered"):
        Reading(Shown.CAB, ())
    with pytest.raises(NotDefined, match="no step was entered"):
        ramp()
    with pytest.raises(NotDefined, match="no name stands beside it"):
        Confirmed(" ")
    swapped = Reading(Shown.METER, (1.0,) * 6, (0.0, 1.0, 3.0, 2.0, 4.0, 5.0))
    with pytest.raises(NotDefined, match="times do not rise"):
        ramp_result(ramp(replace(GOOD[0], readings=(swapped,))))
