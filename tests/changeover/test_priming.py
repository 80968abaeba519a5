"""Priming of dead-end and circulating booms."""

from __future__ import annotations

import pytest

from wetrun.changeover.priming import harmonic, priming
from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.machine.typical_plumbing import typical_layout
from wetrun.machine.typical_volumes import MachineClass

BOOM = Boom(spacing_m=0.508, section_tips=(24, 24, 24))
OUT_M3S, SPEED_MPS = 0.003, 5.0


def layout(**more):
    return typical_layout(MachineClass.SELF_PROPELLED, BOOM, tank_m3=3.8, **more)


def test_the_last_tip_of_a_dead_end_section_waits_for_several_times_what_the_pipe_holds():
    found = priming(layout(), BOOM.section_tips, out_m3s=OUT_M3S, speed_mps=SPEED_MPS)
    machine = layout()
    before_m3 = sum(machine.circuit(name).volume_m3 for name in ("pressure strainer", "boom valve body", "boom feed"))
    boom_m3 = sum(section.volume_m3 for section in machine.sections)
    assert found.last.volume_m3 == pytest.approx(before_m3 + boom_m3 * harmonic(24), rel=1e-9)
    assert found.last.distance_m == pytest.approx(found.last.seconds_s * SPEED_MPS)
    assert not found.circulates


def test_a_section_cut_into_as_many_cells_as_tips_has_the_front_at_its_last_tip_by_then():
    # The slow way: liquid moved tip by tip as a sharp front.
    volume_m3, tips, flow_m3s = 0.03, 8, 0.001
    reached_s = sum((volume_m3 / tips) / (flow_m3s * (tips - k) / tips) for k in range(tips))
    assert reached_s == pytest.approx(volume_m3 / flow_m3s * harmonic(tips))


def test_feeding_in_the_middle_is_sooner_and_circulating_sprays_nothing():
    end = priming(layout(), BOOM.section_tips, out_m3s=OUT_M3S, speed_mps=SPEED_MPS)
    middle = priming(layout(), BOOM.section_tips, out_m3s=OUT_M3S, speed_mps=SPEED_MPS, fed_in_middle=True)
    round_ = priming(layout(recirculating=True), BOOM.section_tips, out_m3s=OUT_M3S, speed_mps=SPEED_MPS)
    assert middle.last.seconds_s < end.last.seconds_s
    assert round_.circulates
    assert round_.last.volume_m3 == round_.last.distance_m == 0.0
    assert round_.circulated_m3 > sum(section.volume_m3 for section in layout().sections)


def test_numbers_that_cannot_be_are_refused():
    with pytest.raises(NotDefined, match="sections spray"):
        priming(layout(), (24, 24), out_m3s=OUT_M3S, speed_mps=SPEED_MPS)
    with pytest.raises(OutOfRange, match="ground speed"):
        priming(layout(), BOOM.section_tips, out_m3s=OUT_M3S, speed_mps=0.0)
    with pytest.raises(NotDefined, match="nothing flows out"):
        priming(layout(), BOOM.section_tips, out_m3s=0.0, speed_mps=SPEED_MPS)
    with pytest.raises(OutOfRange, match="tips of a section"):
        priming(layout(), (24, 0, 24), out_m3s=OUT_M3S, speed_mps=SPEED_MPS)
