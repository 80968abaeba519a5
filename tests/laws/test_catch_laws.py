"""Laws of the catch test: what must not change, whatever the boom."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from wetrun.proving.catch_means import CatchMeans
from wetrun.proving.catch_odd import critical_deviates, odd_tips
from wetrun.proving.catch_pattern import BoomShape, boom_pattern
from wetrun.proving.catch_plan import CatchJob, CatchWay, catch_plan
from wetrun.proving.catch_run import CatchInstruments
from wetrun.proving.catch_sizes import sizes_like
from wetrun.proving.catch_ways import catch_ways
from wetrun.proving.swap import SwapDoubt, SwapOutcome, SwapReading, swap_verdict
from wetrun.spray.orifice import ISO_SIZES, law_of_us_size, size_number

SHAPE = BoomShape(np.linspace(-1.0, 1.0, 72), np.repeat(np.arange(6), 12))
seeds = st.integers(0, 10**6)


def boom(seed, scatter=0.012):
    random = np.random.default_rng(seed)
    values = random.normal(0.0, scatter, 72)
    bad = random.choice(72, 3, replace=False)
    values[bad] += random.choice([-1.0, 1.0], 3) * random.uniform(0.05, 0.4, 3)
    return values


@settings(max_examples=40, deadline=None)
@given(seeds, st.floats(-1.0, 1.0), st.floats(0.2, 5.0))
def test_odd_tips_do_not_depend_on_level_or_unit(seed, level, scale):
    values = boom(seed)
    one, other = odd_tips(values[None, :]), odd_tips((level + scale * values)[None, :])
    np.testing.assert_array_equal(one.odd, other.odd)
    np.testing.assert_allclose(other.limit, scale * one.limit, rtol=1e-6)


@settings(max_examples=40, deadline=None)
@given(seeds)
def test_a_boom_read_from_the_other_end_has_the_same_odd_tips(seed):
    values = boom(seed)
    there, back = boom_pattern(values[None, :], SHAPE), boom_pattern(values[None, ::-1], SHAPE)
    np.testing.assert_allclose(back.shape[0, ::-1], there.shape[0], atol=1e-6)
    np.testing.assert_allclose(back.steps[0, ::-1], there.steps[0], atol=1e-6)


@settings(max_examples=40, deadline=None)
@given(seeds, st.floats(0.1, 3.0), st.integers(0, 71))
def test_however_far_one_tip_is_off_the_others_are_judged_alike(seed, off, tip):
    values = np.random.default_rng(seed).normal(0.0, 0.012, 72)
    near, far = values.copy(), values.copy()
    near[tip], far[tip] = 0.12, 0.12 + off
    one, other = (odd_tips(v[None, :] - boom_pattern(v[None, :], SHAPE).shape) for v in (near, far))
    others = np.arange(72) != tip
    np.testing.assert_array_equal(one.odd[0, others], other.odd[0, others])
    assert one.odd[0, tip]
    assert other.odd[0, tip]


@given(st.integers(20, 140))
def test_more_tips_need_more_to_be_odd_and_later_steps_less(tips):
    limits = critical_deviates(tips, 4)
    assert np.all(np.diff(limits) < 0.0)
    assert critical_deviates(tips + 10, 4)[0] > limits[0]


@given(st.sampled_from(sorted(ISO_SIZES)), st.sampled_from(sorted(ISO_SIZES)))
def test_a_tip_of_another_size_reads_like_itself_first(fitted, other):
    ratio = size_number(other) / size_number(fitted)
    found = sizes_like(ratio, 0.01, fitted)
    assert found == () if fitted == other else found[0] == other


@given(st.floats(0.7, 1.4), st.floats(0.97, 1.03))
def test_tips_that_keep_their_flow_when_swapped_are_never_the_body(odd, good):
    assume(odd != good)
    outcome = swap_verdict(SwapReading(odd, good), SwapReading(good, odd), SwapDoubt(0.005, 0.005, spread_frac=0.015))
    assert SwapOutcome.TIP in outcome.possible
    assert outcome.outcome in {SwapOutcome.TIP, SwapOutcome.UNDECIDED}


@given(st.lists(st.integers(1, 20), min_size=1, max_size=12), st.integers(1, 20), st.floats(5.0, 120.0))
def test_more_jugs_never_take_more_water_or_time(sections, jugs, catch_s):
    job = CatchJob(section_tips=tuple(sections), tip_flow_m3s=3e-5, catch_s=catch_s, jugs=jugs)
    more = CatchJob(section_tips=tuple(sections), tip_flow_m3s=3e-5, catch_s=catch_s, jugs=jugs + 1)
    assert catch_plan(more).water_m3 <= catch_plan(job).water_m3
    assert catch_plan(more).time_s <= catch_plan(job).time_s


booms = st.lists(st.integers(1, 20), min_size=1, max_size=12).map(tuple)
tools = st.builds(CatchInstruments, jug_m3=st.floats(1e-6, 1e-4), gauge_pa=st.floats(1e3, 2e4))


@settings(max_examples=40, deadline=None)
@given(booms, st.floats(1e5, 6e5), st.floats(10.0, 120.0), tools)
def test_a_longer_catch_never_takes_less_water_and_is_never_less_sure(sections, pressure_pa, catch_s, instruments):
    law = law_of_us_size("05")
    short, long = (
        catch_ways(
            CatchMeans(section_tips=sections, law=law, pressure_pa=pressure_pa, catch_s=seconds, tools=instruments),
            3600.0,
        ).choices
        for seconds in (catch_s, 1.5 * catch_s)
    )
    for less, more in zip(short, long, strict=True):
        assert more.plan.water_m3 >= less.plan.water_m3 * (1 - 1e-12)
        assert more.plan.time_s >= less.plan.time_s
        assert more.to_boom_frac <= less.to_boom_frac * (1 + 1e-12)
        assert more.to_new_frac <= less.to_new_frac * (1 + 1e-12)
        assert set(less.boom_limits_frac) <= set(more.boom_limits_frac)


@settings(max_examples=40, deadline=None)
@given(booms, st.integers(1, 30), st.floats(600.0, 9000.0), st.floats(0.5, 10.0))
def test_what_fits_still_fits_with_more_time_more_jugs_or_a_larger_tank(sections, jugs, available_s, tank_m3):
    def fitting(most_jugs, time_s, tank):
        means = CatchMeans(
            section_tips=sections, law=law_of_us_size("05"), pressure_pa=3e5, most_jugs=most_jugs, tank_m3=tank
        )
        return {(c.plan.way, c.plan.jugs) for c in catch_ways(means, time_s).choices if c.fits}

    less = fitting(jugs, available_s, tank_m3)
    assert less <= fitting(jugs, 1.5 * available_s, tank_m3)
    assert less <= fitting(jugs, available_s, 1.5 * tank_m3)
    assert less <= fitting(jugs, available_s, None)
    every = {way for way, _ in less if way is not CatchWay.REFERENCE}
    assert every <= {way for way, _ in fitting(jugs + 1, available_s, tank_m3)}


@settings(max_examples=40, deadline=None)
@given(booms, st.integers(1, 30), st.floats(0.0, 60.0))
def test_a_section_at_a_time_never_takes_more_water_but_for_setting_its_pressure(sections, jugs, reread_s):
    job = CatchJob(section_tips=sections, tip_flow_m3s=3e-5, jugs=jugs, reread_s=reread_s)
    boom, section = (
        catch_plan(CatchJob(section_tips=sections, tip_flow_m3s=3e-5, jugs=jugs, reread_s=reread_s, way=way))
        for way in (CatchWay.WHOLE_BOOM, CatchWay.BY_SECTION)
    )
    setting_m3 = sum(sections) * reread_s * job.tip_flow_m3s
    assert section.time_s >= boom.time_s
    # Each section may end on a round that is not full: never more than one round of it beyond its share.
    part_m3 = sum(n * n for n in sections) / jugs * job.catch_s * job.tip_flow_m3s
    assert section.water_m3 <= part_m3 + sum(sections) * job.catch_s * job.tip_flow_m3s + setting_m3 + 1e-12
