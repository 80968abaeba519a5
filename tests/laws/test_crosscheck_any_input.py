"""Whatever is read, the cross-check ends in an answer with finite numbers or in one sentence."""

import warnings
from math import exp, isfinite

import pytest
from hypothesis import event, example, given, settings
from hypothesis import strategies as st
from proof import crosscheck_cases as cases

from wetrun.errors import NotDefined
from wetrun.machine.boom import Boom
from wetrun.proving.budget import Budget, Component
from wetrun.proving.crosscheck import crosschecked
from wetrun.proving.readings_evidence import balances_evidence, readings_evidence
from wetrun.proving.redundant import Kind, Reading, Rig
from wetrun.proving.sentence import answer

SECTIONS = (12, 10, 12)
RIG = Rig(boom=Boom(spacing_m=0.508, section_tips=SECTIONS), law=cases.LAW, loss=cases.RIG.loss)
USUAL = {Kind.COURSE: 4.4, Kind.SPEED: 4.4, Kind.METER: 1e-3, Kind.TANK: 1e-3, Kind.CATCH: 3e-4}
PLACES = [(Kind.COURSE, 0, 0), (Kind.SPEED, 0, 0), (Kind.HOSE, 0, 0)]
PLACES += [(kind, point, 0) for kind in (Kind.METER, Kind.CAB, Kind.GAUGE, Kind.TANK) for point in (1, 2)]
PLACES += [(kind, point, n) for kind, point in ((Kind.CATCH, 1), (Kind.CHART, 0)) for n in (1, 2, 3)]


def reading_at(place):
    kind, point, section = place
    usual = {Kind.CAB: 3e5, Kind.GAUGE: 3e5}.get(kind, USUAL.get(kind, 1.0))

    def made(drawn):
        off, own, common = drawn
        value = usual * exp(off)
        parts = (Component("own", own * value), Component("all", common * value, freedom=5.0, cause="all"))
        return Reading(kind, value, Budget(parts), point, section)

    doubts = st.floats(-12.0, 2.0).map(lambda power: 10.0**power)
    return st.tuples(st.floats(-5.0, 5.0) | st.floats(-60.0, 60.0), doubts, doubts | st.just(0.0)).map(made)


runs = st.lists(st.sampled_from(PLACES), min_size=1, max_size=len(PLACES), unique=True).flatmap(
    lambda places: st.tuples(*(reading_at(place) for place in places))
)


def numbers(check):
    yield from (check.statistic, check.limit, check.chance_frac, check.left_frac)
    for explanation in (*check.named, *check.alternatives):
        yield from (explanation.gain, explanation.chance_frac, explanation.left_frac)
        for sized in explanation.faults:
            yield from (sized.size, sized.expanded)
    yield from (number for each in readings_evidence(check.scene) for number in (each.off_ratio, each.deviate))
    yield from (number for each in balances_evidence(check.scene) for number in (each.off_ratio, each.deviate))


def read(kind, value, point=0, share=0.01):
    return Reading(kind, value, Budget((Component("own", share * value),)), point)


@settings(max_examples=150, deadline=None)
@given(runs)
# A pressure so low that the step for a slope once went below nothing.
@example((read(Kind.CAB, 5.0, 1), read(Kind.METER, 1e-3, 1), read(Kind.GAUGE, 4.0, 1)))
# A meter that shows a fifth of the flow: along its tangent it would read less than nothing.
@example((read(Kind.METER, 2e-4, 1), read(Kind.TANK, 1e-3, 1), read(Kind.COURSE, 4.4), read(Kind.SPEED, 0.9)))
# One reading sure to the last digit beside one that is known to a tenth.
@example((read(Kind.COURSE, 4.4, share=1e-12), read(Kind.SPEED, 4.3), read(Kind.METER, 1e-3, 1, share=1e-12)))
def test_any_finite_reading_ends_in_finite_numbers_or_one_sentence(readings):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            check = crosschecked(RIG, readings)
        except NotDefined as error:
            event(error.reason)
            return
        said = answer(check)
        assert all(isfinite(number) for number in numbers(check))
    assert "nan" not in said.sentence
    assert sum(len(each.faults) for each in said.hidden) == len(check.unseen)


def test_a_reading_a_million_times_off_is_a_sentence_that_names_it():
    far = (read(Kind.CAB, 3.0, 1), read(Kind.GAUGE, 3e12, 1), read(Kind.HOSE, 1.0), read(Kind.METER, 1e-3, 1))
    with pytest.raises(NotDefined, match=r"more than a million times off.*Look at the units"):
        crosschecked(RIG, far)
