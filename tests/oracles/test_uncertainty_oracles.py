"""Propagation against the `uncertainties` package, Student's t against scipy.stats, lines against scipy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat
from uncertainties.umath import sqrt as usqrt

from wetrun.proving.catch_flow import caught_tips, shared_doubt
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.proving.course import Course, Direction, Run, SourceKind, SourceReading, SpeedSource, expected_budget
from wetrun.proving.course_result import course_result
from wetrun.proving.meter_flows import Flows, ProvenCatch, slope
from wetrun.proving.number_form import TypedNumber, pulses_per
from wetrun.proving.uncertainty import Budget, Component, rectangular, repeated
from wetrun.proving.weighing import volume_of_weighed_m3
from wetrun.spray.orifice import law_of_us_size
from wetrun.spray.water import water_density_kgpm3


@given(st.floats(1.0, 200.0), st.floats(0.5, 0.999))
def test_coverage_factor_is_the_t_of_scipy(freedom, coverage):
    ours = Budget((Component("repeats", 1.0, "A", freedom),)).coverage_factor(coverage)
    assert ours == pytest.approx(stats.t.ppf(0.5 + coverage / 2, freedom), rel=1e-9)


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=12))
def test_repeated_readings_have_the_standard_error_of_scipy(values):
    found = repeated(values)
    assert found.standard == pytest.approx(stats.sem(values), rel=1e-9, abs=1e-12)


@given(st.floats(20, 500), st.floats(0.01, 1.0), st.floats(1.0, 9.0), st.floats(0.01, 0.3))
def test_the_doubt_of_a_timed_speed_is_what_propagation_says(length, half, speed, reaction):
    course = Course(length_m=length, length_half_width_m=half, reaction_s=reaction, watch_step_s=0.0)
    time = length / speed
    tape, start, stop = ufloat(length, half / 3**0.5), ufloat(0.0, reaction), ufloat(time, reaction)
    propagated = tape / (stop - start)
    assert expected_budget(course, speed, runs=1).combined == pytest.approx(propagated.s / propagated.n, rel=1e-9)


@given(st.floats(0.5, 3.0), st.floats(0.01, 0.5), st.floats(-2.0, 2.0))
def test_shared_causes_propagate_as_one_variable(a, b, c):
    scale = ufloat(0.0, 1.0)
    watch = ufloat(0.0, 2.0)
    result = a * scale + b * watch + c * scale
    budget = Budget(
        (Component("x", a, cause="scale"), Component("y", 2.0 * b), Component("z", c, cause="scale")),
    )
    assert budget.combined == pytest.approx(result.s, rel=1e-9)


def test_an_error_of_a_source_by_pulses_is_what_propagation_says():
    course = Course(length_m=200.0, length_half_width_m=0.4, reaction_s=0.1, watch_step_s=0.0)
    wheel = SpeedSource(name="wheel", kind=SourceKind.WHEEL, number=TypedNumber("10", pulses_per("per m", 1.0)))
    runs = [
        Run(str(n), way, 40.0, (SourceReading("wheel", 2060.0),))
        for n, way in enumerate([Direction.OUT, Direction.BACK, Direction.OUT, Direction.BACK])
    ]
    budget = course_result(course, runs, [wheel]).sources[0].budget
    # Four runs that agree exactly: what is stated for one press of the watch, at 8 of 11 degrees of freedom.
    gate = [ufloat(0.0, 5.0 * 0.1 * 2**0.5 * (8 / 11) ** 0.5) for _ in range(4)]
    pulse, tape = ufloat(0.0, 1 / 3**0.5), ufloat(200.0, 0.4 / 3**0.5)
    ratio = (2060.0 + pulse) * (1.0 + sum(g / 200.0 for g in gate) / 4.0) / (10.0 * tape)
    assert budget.combined == pytest.approx(ratio.s, rel=1e-6)


@given(st.lists(st.tuples(st.floats(1.0, 4.0), st.floats(-0.05, 0.05)), min_size=3, max_size=12))
def test_the_slope_over_the_flows_is_the_line_of_scipy(points):
    flows = np.array([1.0, 4.0, *[flow for flow, _ in points]])
    errors = np.array([0.0, 0.01, *[error for _, error in points]])
    catches = [ProvenCatch(str(n), str(q), q, 1.0, e, 0.0) for n, (q, e) in enumerate(zip(flows, errors, strict=True))]
    found = slope(Flows(tuple(catches)))
    line = stats.linregress(flows, errors)
    assert found is not None
    assert found.span_ratio == pytest.approx(3.0 * line.slope, abs=1e-12)
    # For points on a line scipy is left with the rounding of 1 - r2: its error is then 1e-10 where ours is nothing.
    assert found.budget.combined == pytest.approx(3.0 * line.stderr, rel=1e-6, abs=1e-9)
    assert found.budget.freedom == pytest.approx(len(flows) - 2)


def test_water_weighed_in_air_is_as_the_glassware_tables_have_it():
    # From memory: 1.0029 mL for each gram at 20 °C (1.0028 to 1.0029 over usual air pressures).
    assert volume_of_weighed_m3(1e-3, 998.2071) * 1e6 == pytest.approx(1.0029, abs=0.00006)


def test_rectangular_is_the_standard_deviation_of_scipys_uniform():
    assert rectangular(0.7) == pytest.approx(stats.uniform(-0.7, 1.4).std(), rel=1e-12)


@given(st.floats(0.1, 3.0), st.floats(10.0, 120.0), st.floats(1e5, 5e5), st.floats(0.001, 0.1))
def test_the_doubt_of_a_weighed_catch_against_new_is_what_propagation_says(mass, time, pressure, off):
    third = 3.0**-0.5
    law, tools = (
        law_of_us_size("05"),
        CatchInstruments(
            scale_kg=0.001, watch_s=0.2, measure_frac=0.005, gauge_pa=off * pressure, wander_pa=0.02 * pressure
        ),
    )
    run = CatchRun(
        readings=(TipReading(tip=1, mass_kg=mass),),
        section_tips=(1,),
        law=law,
        pressure_pa=pressure,
        time_s=time,
        instruments=tools,
    )
    (caught,) = caught_tips(run)
    start, stop = ufloat(0.0, 0.2), ufloat(time, 0.2)
    weight = ufloat(mass, 0.001 * third) * (1.0 + ufloat(0.0, 0.005 * third))
    density = ufloat(water_density_kgpm3(293.15), 0.5 * third)
    true_pressure = pressure + ufloat(0.0, off * pressure * third) + ufloat(0.0, 0.02 * pressure * third)
    wear = weight / density / (stop - start) / usqrt(true_pressure)  # over new at that pressure, but for a constant
    found = caught.own.joined(shared_doubt(run))
    assert found.combined == pytest.approx(wear.s / wear.n, rel=1e-6)
