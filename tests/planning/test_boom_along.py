"""A plan on a plumbed boom: its pressures are those of the solved boom, and what the plumbing makes uneven is said."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetrun.machine.boom import Boom
from wetrun.machine.boom_pipes import BoomPipes, SectionPipes, plumbed_boom
from wetrun.planning.tip_loss import liquid_in_line, pulsed_fit, tips_fit
from wetrun.spray.boom_flow import boom_flow
from wetrun.spray.carrier import fertiliser, water
from wetrun.spray.controller import Hydraulics, Loop, bounds, tip_pressure_pa
from wetrun.spray.flow_law import worn
from wetrun.spray.friction import Pipe
from wetrun.spray.limits import Limit
from wetrun.spray.orifice import law_of_iso_size
from wetrun.spray.plumbing import Feed, Hose

BAR = 1e5
BOOM = Boom(spacing_m=0.5, section_tips=(9,) * 6)
SIZES = st.sampled_from(["015", "02", "03", "04", "05", "06", "08", "10"])


def pipes_of(line_m=0.022, hose_m=0.019, lengths_m=(8.0, 5.0, 2.0, 2.0, 5.0, 8.0), **more):
    sections = tuple(
        SectionPipes(line=Pipe(line_m), hose=Hose(Pipe(hose_m), length), inlet_paps2m6=more.get("inlet", 2e10))
        for length in lengths_m
    )
    return BoomPipes(sections=sections, main_paps2m6=more.get("main", 1e9), body_paps2m6=more.get("body", 1e12))


@given(SIZES, st.floats(0.016, 0.032), st.floats(0.016, 0.025), st.floats(1.0, 5.0), st.booleans())
@settings(deadline=None, max_examples=60)
def test_two_coefficients_give_the_solved_booms_mean_and_its_ends_within_one_and_a_half_per_cent(
    size, line_m, hose_m, tip_bar, on_uan
):
    """The misfit a plan lives with, over sizes, bores, liquids and pressures up to a third of the pressure lost."""
    pipes, law = pipes_of(line_m, hose_m), law_of_iso_size(size)
    carrier = fertiliser("UAN 28", 288.15) if on_uan else water()
    fit = tips_fit(pipes, BOOM, law, carrier)
    solved = boom_flow(plumbed_boom(pipes, BOOM, law, {}), tip_bar * 1.1e5, liquid_in_line(carrier))
    mean_pa = float(np.mean(solved.pressures_pa))
    drop = fit.loss.drop_pa(
        boom_flow_m3s=solved.boom_flow_m3s,
        tip_flow_m3s=solved.boom_flow_m3s / 54,
        density_kgpm3=carrier.density_kgpm3,
    )
    assert solved.sensor_pa - drop == pytest.approx(mean_pa, rel=0.015)
    assert fit.least_ratio * mean_pa == pytest.approx(np.min(solved.pressures_pa), rel=0.015)
    assert fit.most_ratio * mean_pa == pytest.approx(np.max(solved.pressures_pa), rel=0.015)


@given(SIZES, st.floats(1.0, 3.0))
@settings(deadline=None, max_examples=25)
def test_more_loss_leaves_the_worst_tip_less(size, more):
    law = law_of_iso_size(size)
    one = tips_fit(pipes_of(), BOOM, law, water())
    longer = tips_fit(pipes_of(lengths_m=[more * m for m in (8.0, 5.0, 2.0, 2.0, 5.0, 8.0)]), BOOM, law, water())
    assert longer.least_ratio <= one.least_ratio * (1.0 + 1e-9)
    assert one.least_ratio <= 1.0 <= one.most_ratio


@given(SIZES)
@settings(deadline=None, max_examples=8)
def test_a_symmetric_boom_is_symmetric(size):
    solved = boom_flow(plumbed_boom(pipes_of(), BOOM, law_of_iso_size(size), {}), 3e5)
    assert solved.pressures_pa == pytest.approx(solved.pressures_pa[::-1], rel=1e-9)


def test_the_range_is_held_at_the_tip_that_gets_least_and_at_the_one_that_gets_most():
    law = law_of_iso_size("04")
    even = Hydraulics(loop=Loop.METER, law=law, low_pa=1e5, high_pa=4e5, tips=54.0)
    uneven = replace(even, least_ratio=0.8, most_ratio=1.25)
    found = {bound.limit: bound.flow_m3s for bound in bounds(uneven)}
    assert tip_pressure_pa(uneven, found[Limit.TIP_LOW]) == pytest.approx(1e5 / 0.8)
    assert tip_pressure_pa(uneven, found[Limit.TIP_HIGH]) == pytest.approx(4e5 / 1.25)
    for bound in bounds(even):
        assert bound.limit in found


@given(SIZES, st.floats(0.25, 1.0), st.floats(1.5, 4.0))
@settings(deadline=None, max_examples=25)
def test_a_pulsing_boom_loses_by_its_mean_flow_in_hoses_and_by_its_open_flow_in_bodies(size, duty, bar):
    pipes, law = pipes_of(body=2e13), law_of_iso_size(size)
    loss = pulsed_fit(tips_fit(pipes, BOOM, law, water()), pipes, BOOM).loss
    # Mean flow through the lines, open flow through the bodies: a tip of less flow behind a body that costs more.
    mean = plumbed_boom(replace(pipes, body_paps2m6=pipes.body_paps2m6 / duty**2), BOOM, worn(law, duty), {})
    solved = boom_flow(mean, bar * BAR)
    tip = solved.boom_flow_m3s / 54
    drop = loss.drop_pa(boom_flow_m3s=solved.boom_flow_m3s, tip_flow_m3s=tip / duty)
    assert solved.sensor_pa - drop == pytest.approx(float(np.mean(solved.pressures_pa)), rel=0.015)


def test_a_feed_at_the_end_is_less_even_than_one_in_the_middle():
    law = law_of_iso_size("06")
    middle = pipes_of(line_m=0.019)
    end = replace(middle, sections=tuple(replace(section, feed=Feed.LEFT) for section in middle.sections))
    one, two = (tips_fit(pipes, BOOM, law, water()) for pipes in (middle, end))
    assert two.least_ratio < one.least_ratio
