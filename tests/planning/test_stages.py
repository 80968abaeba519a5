"""Two tip sets at once: windows and switches by hand, and a log walked instant by instant.

Sizes 02 and 04 from 1.5 to 4 bar, 100 L/ha under 0.5 m: size 02 gives 0.8 L/min at 3 bar, so 9.6 km/h; 04 gives 19.2;
both together 28.8. From 1.5 to 4 bar a set spans sqrt(1/2) to sqrt(4/3) of that.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.replay_cases import made_trace
from tests.season_cases import KMH, LITRE_PER_HECTARE, planned, sprayer, tip

from wetrun.errors import NotDefined
from wetrun.machine.sprayer import Control
from wetrun.papers.reader import Reader
from wetrun.papers.stage_words import STAGE_CAUTION, stage_replay_sentences, staged_words
from wetrun.planning.evidence import evidence_of_stated
from wetrun.planning.passes import StatedSpeeds
from wetrun.planning.stage_replay import stage_replay, stages_along
from wetrun.planning.stages import StagedPass, StagePlan, held_frac, joint_law, stage_plan, staged_pass
from wetrun.quantity import System
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import Family, droplet_finding
from wetrun.spray.flow_rows import FlowRows
from wetrun.spray.orifice import law_of_iso_size
from wetrun.spray.supply import Hold

LOW, HIGH = 0.5**0.5, (4 / 3) ** 0.5


def a_tip(size):
    made = tip(size, Family.FLAT_FAN)
    pattern = None if made.pattern is None else replace(made.pattern, low_pa=1.5e5, high_pa=4e5)
    return replace(made, low_pa=1.5e5, high_pa=4e5, pattern=pattern)


def asked(sizes=("02", "04"), *, hysteresis_kmh: float | None = 1.0, **columns):
    tips = tuple(a_tip(size) for size in sizes)
    hysteresis_mps = None if hysteresis_kmh is None else hysteresis_kmh * KMH
    hold = Hold(cab_pressure_pa=1.5e5)
    control = Control(loop=Loop.METER, hold=hold, cab_high_pa=4e5, hysteresis_mps=hysteresis_mps)
    machine = sprayer(control=control, pump=None)
    idents = tuple(one.ident for one in tips)
    return planned("p", rate_m3pm2=100 * LITRE_PER_HECTARE, at_once=idents, **columns), machine, tips


def made(sizes=("02", "04"), **columns) -> StagePlan:
    return stage_plan(*asked(sizes, **columns))


def test_three_stages_with_their_windows_by_hand():
    plan = made()
    windows = [(stage.window.low_mps / KMH, stage.window.high_mps / KMH) for stage in plan.stages]
    for window, middle in zip(windows, (9.6, 19.2, 28.8), strict=True):
        assert window == pytest.approx((middle * LOW, middle * HIGH))
    assert [len(stage.tips) for stage in plan.stages] == [1, 1, 2]


def test_a_switch_lies_in_the_middle_of_the_overlap_with_its_hysteresis_or_in_the_gap():
    """9.6 × 1.155 = 11.09 and 19.2 × 0.707 = 13.58 leave a gap; 22.17 and 28.8 × 0.707 = 20.36 overlap."""
    first, second = made().switches
    assert first.overlap_mps / KMH == pytest.approx(9.6 * HIGH - 19.2 * LOW)
    assert first.overlap_mps < 0.0
    assert not first.wide_enough
    middle = (19.2 * HIGH + 28.8 * LOW) / 2
    assert (second.up_mps / KMH, second.down_mps / KMH) == pytest.approx((middle + 0.5, middle - 0.5))
    assert second.wide_enough
    assert not made(hysteresis_kmh=2.0).switches[1].wide_enough


def test_the_same_tip_twice_has_two_stages_and_the_second_gives_twice_the_flow():
    plan = made(("03", "03"))
    assert [len(stage.tips) for stage in plan.stages] == [1, 2]
    assert plan.stages[1].window.high_mps == pytest.approx(2 * plan.stages[0].window.high_mps)


@given(st.lists(st.floats(1.0, 40.0), min_size=2, max_size=60))
def test_a_log_walks_through_the_stages_as_a_machine_would(speeds_kmh):
    plan = made()
    trace = made_trace(np.array(speeds_kmh) * KMH, np.full(len(speeds_kmh), 0.5))
    stage, walked = 0, []
    for speed in trace.speed_mps.tolist():
        stage = plan.stage_of(speed, stage)
        walked.append(stage)
    assert stages_along(trace, plan).tolist() == walked


def test_areas_of_a_log_by_hand():
    """10 km/h: stage 1 holds. 12.2: in the gap, stage 1 at its greatest, 9 % under. 21: stage 2. 26: both. 6: over."""
    plan = made()
    speeds = np.repeat([10.0, 10.0, 12.2, 21.0, 26.0, 6.0], 10) * KMH
    trace = made_trace(speeds, np.full(speeds.size, 1.0))
    areas = stage_replay(trace, plan, tolerance_frac=0.05)
    per_kmh = areas.total_cm2 / (9 * 10.0 + 10 * (10 + 12.2 + 21 + 26 + 6))  # the first instant has no interval
    assert areas.under_cm2 == pytest.approx(per_kmh * 122, rel=1e-3)
    assert areas.over_cm2 == pytest.approx(per_kmh * 60, rel=1e-3)
    assert areas.held_cm2 == pytest.approx(areas.total_cm2 - areas.under_cm2 - areas.over_cm2, rel=1e-9)
    assert areas.stage_cm2[2] == pytest.approx(per_kmh * 260, rel=1e-3)
    assert sum(areas.stage_cm2) == areas.total_cm2
    assert areas.switches == 3  # up twice, and from both down to the smallest at one blow
    assert "Switched 3 times" in stage_replay_sentences(areas, plan, tolerance_frac=0.05)[1]


def test_the_share_held_counts_only_speeds_held_from_above_and_from_below():
    plan = made()
    evidence = evidence_of_stated(StatedSpeeds(8 * KMH, 9 * KMH, 10.5 * KMH), 36.0)
    assert held_frac(plan, evidence.speed) == pytest.approx(1.0)
    gap = evidence_of_stated(StatedSpeeds(11.5 * KMH, 12 * KMH, 12.5 * KMH), 36.0)
    assert held_frac(plan, gap.speed) == pytest.approx(0.0)


def test_two_at_once_keep_the_droplet_classes_of_both_tips():
    alone = made(("02", "05"))
    letters = alone.stages[0].tips[0].pattern
    assert letters is not None
    finer = droplet_finding(letters, 3e5).finest
    barred = frozenset(one for one in type(finer) if one > finer)
    both = made(("02", "05"), classes=barred)
    widths = [sum(len(stage.tips) == 2 for stage in plan.stages) for plan in (alone, both)]
    narrower = [stage.window.high_mps for stage in both.stages if len(stage.tips) == 2]
    assert widths[0] == 1
    assert not narrower or narrower[0] < next(s.window.high_mps for s in alone.stages if len(s.tips) == 2)


def test_rows_and_square_roots_add_up():
    rows = FlowRows((1e5, 2e5, 4e5), (1e-5, 1.5e-5, 2.2e-5), 998.2, "rows")
    joint = joint_law(rows, law_of_iso_size("03"))
    for pressure_pa in (1e5, 2e5, 4e5):
        expected = rows.flow_m3s(pressure_pa, 998.2) + law_of_iso_size("03").flow_m3s(pressure_pa, 998.2)
        assert joint.flow_m3s(pressure_pa, 998.2) == pytest.approx(expected)
    other = FlowRows((5e5, 6e5), (1e-5, 1.1e-5), 998.2, "rows")
    with pytest.raises(NotDefined, match="share no pressure"):
        joint_law(rows, other)


def test_what_cannot_be_is_told_in_the_plan_and_not_raised():
    one_pass, machine, tips = asked(fit_tips=frozenset({"another"}))
    evidence = evidence_of_stated(StatedSpeeds(8 * KMH, 9 * KMH, 10 * KMH), 36.0)
    staged = staged_pass(one_pass, evidence.speed, machine, tips)
    assert staged is not None
    assert staged.plan is None
    assert "Two sets at once" in staged_words(staged, Reader(System.US))[0]
    assert staged_pass(replace(one_pass, at_once=()), evidence.speed, machine, tips) is None
    with pytest.raises(NotDefined, match="none of them holds any speed"):
        stage_replay(
            made_trace([1.0, 1.0], [1.0, 1.0]),
            StagePlan(stages=(), switches=(), hysteresis_mps=0.1),
            tolerance_frac=0.05,
        )


@pytest.mark.parametrize("system", System)
def test_the_sentences_name_stages_switches_gaps_and_the_caution(system):
    words = staged_words(StagedPass(plan=made(), held_frac=0.93), Reader(system))
    assert words[0].startswith("Stage 1, ")
    assert "is held by neither" in words[3]
    assert "in common" in words[4]
    assert "about 93 % of the area" in words[5]
    assert words[-1] == STAGE_CAUTION
