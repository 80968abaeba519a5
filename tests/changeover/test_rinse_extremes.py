"""Rinses at the ends of what can be typed: hardly any water, nearly all dead volume, one section, too small a tank."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from wetrun.changeover.dilution import dilution
from wetrun.changeover.network import network_of
from wetrun.changeover.next_crop import usual_next_load
from wetrun.changeover.rinse import Rinse, Way, rinse_setup
from wetrun.changeover.rinse_task import RinseTask, WaterSupply, acres_after, plan_steps, prepared_task
from wetrun.changeover.skipping import skip_outcomes
from wetrun.changeover.tolerated import Basis, user_level
from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.machine.circuits import CircuitKind, Layout
from wetrun.machine.typical_plumbing import typical_layout
from wetrun.machine.typical_volumes import MachineClass

RATE_M3PM2, OUT_M3S, LOAD_M3 = 1.4e-5, 0.002, 2.25
WATERS_M3 = (0.1, 0.15, 0.2, 0.3, 0.5, 1.0, 2.0, 4.0)


def machine(sections: tuple[int, ...] = (24, 24, 24), *, tank_m3: float = 4.5, recirculating: bool = False) -> Layout:
    boom = Boom(spacing_m=0.508, section_tips=sections)
    return typical_layout(MachineClass.SELF_PROPELLED, boom, tank_m3=tank_m3, recirculating=recirculating)


def task_of(layout: Layout, *, load_m3: float = LOAD_M3, drains: bool = True) -> RinseTask:
    network = network_of(layout)
    return RinseTask(
        setup=rinse_setup(network, OUT_M3S, drains=drains),
        load=usual_next_load(network, load_m3, rate_m3pm2=RATE_M3PM2, out_m3s=OUT_M3S, old_rate_m3pm2=RATE_M3PM2),
        tolerated=user_level(1e-3, basis=Basis.MIX),
        supply=WaterSupply(rinse_tank_m3=0.45, step_m3=0.45),
    )


def with_dead(layout: Layout, dead_frac: float) -> Layout:
    """Strainers and valves of which flow sweeps all but this share."""
    kinds = {CircuitKind.STRAINER, CircuitKind.VALVE}
    return replace(
        layout,
        circuits=tuple(
            replace(c, dead_frac=dead_frac, residue_m3=max(c.residue_m3, dead_frac * c.volume_m3))
            if c.kind in kinds
            else c
            for c in layout.circuits
        ),
    )


@pytest.mark.parametrize("way", Way)
@pytest.mark.parametrize("drains", [True, False])
@pytest.mark.parametrize("recirculating", [True, False])
def test_more_water_never_leaves_more_whichever_way_it_is_used(way, drains, recirculating):
    prepared = prepared_task(task_of(machine(recirculating=recirculating), drains=drains))
    left = [acres_after(prepared, [Rinse(way, water_m3)]).peak_frac for water_m3 in WATERS_M3]
    assert all(more <= less * (1.0 + 1e-9) for less, more in pairwise(left))
    assert left[0] < 1.0
    assert left[-1] > 0.0, "ideal mixing never reaches nothing"


@pytest.mark.parametrize("sections", [(72,), (4,) * 18, (1, 71)])
@pytest.mark.parametrize("way", Way)
def test_nothing_is_lost_with_one_section_or_many(sections, way):
    task = task_of(machine(sections))
    done = dilution(task.setup.network, task.before, plan_steps(task, [Rinse(way, 0.45)] * 2))
    assert done.balance_ratio == pytest.approx(1.0, rel=1e-9)
    assert done.end.old_m3.min() >= 0.0


def test_dead_share_up_to_nearly_all_of_a_strainer_keeps_the_balance_and_never_helps():
    rinses, left = [Rinse(Way.BATCH, 0.45)] * 4, []
    for dead_frac in (0.0, 0.5, 0.9, 0.999999):
        task = task_of(with_dead(machine(), dead_frac))
        done = dilution(task.setup.network, task.before, plan_steps(task, rinses))
        assert done.balance_ratio == pytest.approx(1.0, rel=1e-9)
        left.append(acres_after(prepared_task(task), rinses).end_frac)
    assert left == sorted(left)


def test_a_boom_rinsed_straight_from_the_rinse_tank_leaves_what_stands_before_the_pump():
    # By hand: with water without end boom, feed and pump are clean; what drained tank, sump, returns, eductor and load
    # line hold is spread over the load and the water that stands in pump and feed.
    task = task_of(machine())
    acres = acres_after(prepared_task(task), [Rinse(Way.BOOM, 4.0)])
    layout = task.setup.network.layout
    swept = {name for line in layout.lines if line.name.startswith("clean spray") for name in line.through}
    ends = {c.name for c in layout.circuits if c.kind in {CircuitKind.BOOM_END, CircuitKind.WASH_DOWN}}
    old_m3 = sum(c.residue_m3 for c in layout.circuits if c.name not in swept | ends)
    by_hand = old_m3 / (LOAD_M3 + old_m3 + layout.circuit("pump").residue_m3)
    assert acres.end_frac == pytest.approx(by_hand, rel=0.02)


def test_a_circuit_skipped_keeps_its_drained_residue_and_gives_it_to_the_load():
    # By hand: each of three hoses on loops of its own is drained, left shut, and spread over the first load.
    task = task_of(machine())
    prepared, rinses = prepared_task(task), [Rinse(Way.BATCH, 0.45)] * 4
    full = acres_after(prepared, rinses).end_frac
    outcomes = {skip.circuit: skip for skip in skip_outcomes(prepared, rinses)}
    layout = task.setup.network.layout
    for name, circuits in (("load line", ("load line",)), ("eductor", ("eductor line", "eductor"))):
        kept_m3 = sum(layout.circuit(each).residue_m3 for each in circuits)
        more = (outcomes[name].load_frac or 0.0) - full
        assert more == pytest.approx(kept_m3 / LOAD_M3, rel=0.05), name
    assert {name for name, skip in outcomes.items() if not skip.possible} == {"sump", "suction strainer", "pump"}
    assert outcomes["section 2"].worst_section == "section 2"
    assert outcomes["section 2"].left_frac == pytest.approx(1.0, abs=0.01)


def test_a_section_skipped_is_flushed_by_the_next_load_and_then_only_its_end_gives_off_more():
    sealed = machine()
    circuits = tuple(replace(c, exchange_s=1e9) if c.kind is CircuitKind.BOOM_END else c for c in sealed.circuits)
    last = []
    for layout in (replace(sealed, circuits=circuits), machine()):
        acres = acres_after(prepared_task(task_of(layout)), [Rinse(Way.BATCH, 0.45)] * 4, without=("section 2",))
        assert acres.old_frac[0, 1] > 0.99
        last.append(acres.old_frac[-1])
    assert last[0][1] == pytest.approx(last[0][0], rel=0.01), "with a sealed end nothing is left of it"
    # By hand: an end of 0.3 L gives off 0.3 L in 300 s into 0.667 L/s, and has fallen for 1075 s, twice late by the
    # 66 s a section of 44 L takes: 0.0015 exp(-1075 / 300) exp(66 / 300) / (1 - 66 / 300).
    by_hand = 0.0015 * np.exp(-1075.0 / 300.0) * np.exp(66.0 / 300.0) / (1.0 - 66.0 / 300.0)
    assert last[1][1] - last[1][0] == pytest.approx(by_hand, rel=0.15)


@pytest.mark.parametrize("tank_m3", [0.02, 0.05])
def test_a_tank_smaller_than_what_stays_behind_is_refused_in_words(tank_m3):
    with pytest.raises((OutOfRange, NotDefined), match="It would run over"):
        prepared_task(task_of(machine(tank_m3=tank_m3), load_m3=0.5 * tank_m3))
