"""Sections on dry ground, their edges at speed, and the gates before water flows."""

import math
from itertools import combinations

import pytest

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.confirmation import Confirmed
from wetrun.proving.gates import CAUTIONS, STATEMENT, Answer, Gate, GateAnswer, start_of_run
from wetrun.proving.section_timing import Antenna, Delay, edge_at
from wetrun.proving.sections import Opened, SectionSeen, rate_ratio, section_results
from wetrun.proving.uncertainty import Verdict


def section(*opened, tips=6, typed_tips=6, width_m=3.0, typed_width_m=3.0, drips_until_s=None):
    return SectionSeen(
        opened=opened,
        tips=tips,
        typed_tips=typed_tips,
        width_m=width_m,
        typed_width_m=typed_width_m,
        drips_until_s=drips_until_s,
    )


def test_each_switch_is_called_by_what_it_opened():
    found = section_results(
        [section(1), section(3), section(2), section(), section(5, 6), section(1), section(8), section(7)]
    )
    assert [one.opened for one in found] == [
        Opened.OWN,
        Opened.CROSSED,
        Opened.CROSSED,
        Opened.NONE,
        Opened.MORE,
        Opened.WRONG,
        Opened.CROSSED,
        Opened.CROSSED,
    ]
    assert found[4].others == (6,)
    assert found[5].others == (1,)


def test_three_switches_in_a_ring_are_wrong_and_not_a_crossed_pair():
    assert {one.opened for one in section_results([section(2), section(3), section(1)])} == {Opened.WRONG}


@pytest.mark.parametrize(
    ("until_s", "verdict"), [(2.0, Verdict.PASS), (5.2, Verdict.UNDECIDED), (9.0, Verdict.FAIL), (None, None)]
)
def test_a_drip_is_judged_against_five_seconds(until_s, verdict):
    (found,) = section_results([section(1, drips_until_s=until_s)])
    assert (found.drip and found.drip.verdict) == verdict


def test_typed_tips_and_widths_are_held_against_counted_and_taped():
    """20 in for 50 cm: the wrong spacing in the monitor puts on 1.6 % too much (0.508 / 0.5, exact)."""
    one, two = section_results([section(1, typed_width_m=6 * 0.508), section(2, typed_tips=7)])
    assert one.width_ratio == pytest.approx(1.016)
    assert one.width_standard_ratio == pytest.approx(0.005 / math.sqrt(3.0) * 1.016 / 3.0)
    assert (one.tips_differ, two.tips_differ) == (False, True)


def test_the_boom_is_off_by_its_widths_weighed_by_their_size():
    seen = [section(1, typed_width_m=3.3), section(2, width_m=6.0, typed_width_m=6.0)]
    assert rate_ratio(section_results(seen), seen) == pytest.approx((3.3 + 6.0) / 9.0)


def test_bad_section_entries_are_refused_in_a_sentence():
    with pytest.raises(NotDefined, match="switch 1: it is said to open section 9, and the boom has 1"):
        section_results([section(9)])
    with pytest.raises(OutOfRange, match=r"width of a section is 0\.0 m"):
        section(1, width_m=0.0)
    with pytest.raises(OutOfRange, match="last drip"):
        section(1, drips_until_s=-1.0)
    with pytest.raises(NotDefined, match="no tip was counted"):
        section(1, tips=0)


def verdict_of(edge):
    assert edge.judged is not None
    return edge.judged.verdict


def test_an_edge_is_speed_times_what_the_look_ahead_misses_plus_the_antenna():
    """By hand: 5 m/s, tries of 1.0 and 1.2 s against 0.8 s ahead, tips typed 2.0 m behind and taped 2.5 m."""
    found = edge_at(5.0, Delay(timed_s=(1.0, 1.2), ahead_s=0.8), Antenna(2.5, 2.0), allowed_m=1.0)
    assert found.late_m == pytest.approx(5.0 * 0.3 - 0.5)
    scatter, hand, place = 5.0 * 0.1, 5.0 * 0.2 / math.sqrt(3.0), 0.05
    assert found.budget.combined == pytest.approx(math.sqrt(scatter**2 + hand**2 + place**2))
    assert verdict_of(found) is Verdict.UNDECIDED


def test_an_edge_is_judged_only_against_a_length_that_was_given():
    late = Delay(timed_s=(2.0,), ahead_s=0.0)
    assert edge_at(5.0, late, Antenna(2.0, 2.0)).judged is None
    assert verdict_of(edge_at(5.0, late, Antenna(2.0, 2.0), allowed_m=2.0)) is Verdict.FAIL
    right = Delay(timed_s=(0.5,), ahead_s=0.5)
    assert verdict_of(edge_at(5.0, right, Antenna(2.0, 2.0), allowed_m=3.0)) is Verdict.PASS


LOOKED = Confirmed("A. Name", remark="herbicide of last week, rinsed three times; water lands on grass")


def answers(*gates):
    return [GateAnswer(gate, Answer.SAFE, LOOKED) for gate in gates]


def test_a_run_starts_only_when_every_gate_is_confirmed():
    assert start_of_run(answers(*Gate)).started
    for size in range(len(Gate)):
        for some in combinations(Gate, size):
            found = start_of_run(answers(*some))
            assert not found.started
            assert {shut.gate for shut in found.shut} == set(Gate) - set(some)


def test_a_run_not_started_is_an_answer_with_its_reasons():
    wrong = GateAnswer(Gate.OVERHEAD_LINES, Answer.NOT_SAFE, Confirmed("A. Name", remark="line over the wash pad"))
    rest = answers(*(gate for gate in Gate if gate not in {Gate.OVERHEAD_LINES, Gate.BACKFLOW}))
    found = start_of_run([*rest, wrong])
    assert [shut.gate for shut in found.shut] == [Gate.BACKFLOW, Gate.OVERHEAD_LINES]
    assert found.words.startswith("Not started: backflow protection")
    assert "line over the wash pad" in found.words


def test_only_some_gates_may_not_apply_and_never_without_a_reason():
    reason = Confirmed("A. Name", remark="tank stands full since yesterday")
    no_fill = GateAnswer(Gate.BACKFLOW, Answer.NOT_APPLICABLE, reason)
    rest = answers(*(gate for gate in Gate if gate is not Gate.BACKFLOW))
    assert start_of_run([no_fill, *rest]).started
    with pytest.raises(NotDefined, match="applies to every water run"):
        GateAnswer(Gate.NOBODY_UNDER_BOOM, Answer.NOT_APPLICABLE, reason)
    with pytest.raises(NotDefined, match="nothing is written"):
        GateAnswer(Gate.BACKFLOW, Answer.NOT_APPLICABLE, Confirmed("A. Name"))
    with pytest.raises(NotDefined, match="nothing is written"):
        GateAnswer(Gate.LAST_PRODUCT, Answer.SAFE, Confirmed("A. Name"))
    with pytest.raises(NotDefined, match="answered twice"):
        start_of_run([no_fill, no_fill])


def test_the_sheet_says_what_it_is_not_and_the_cautions_what_not_to_do():
    assert "not a statutory inspection" in STATEMENT
    assert any("mouth" in caution and "wire" in caution for caution in CAUTIONS)
    assert any(caution.startswith("Water only") for caution in CAUTIONS)
