"""Laws of dilution on random machines: nothing lost, nothing below zero, nothing past a closed valve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.changeover_cases import FLOW_M3S, next_load, one_volume_layout, random_layout, random_network

from wetrun.changeover.dilution import dilution
from wetrun.changeover.network import loaded_state, network_of
from wetrun.changeover.rinse import Rinse, Way, rinse_effect, rinse_setup
from wetrun.changeover.rinse_plan import planned
from wetrun.changeover.rinse_task import RinseTask, WaterSupply, acres_after, prepared_task
from wetrun.changeover.steps import AddWater, Circulate, Drain, FlushClean, RinseOn, SprayOut, Stand, Step
from wetrun.changeover.tolerated import Basis, user_level
from wetrun.errors import NotDefined, OutOfRange

seeds = st.integers(min_value=0, max_value=10_000)


@st.composite
def clean_outs(draw):
    """A machine and a list of steps on it; some steps may turn out impossible."""
    network = random_network(draw(seeds))
    layout = network.layout
    setting = st.sampled_from(
        [
            layout.setting({"eductor valve": eductor, "boom valve": boom})
            for eductor in ("shut", "open")
            for boom in ("off", "spraying", "ends")
        ]
    )
    clean = layout.setting({"boom valve": "clean"})
    water = st.floats(min_value=0.01, max_value=0.3)
    step = st.one_of(
        st.builds(Drain),
        st.builds(AddWater, water),
        st.builds(Circulate, setting, st.one_of(st.none(), st.floats(min_value=0.1, max_value=300.0))),
        st.builds(SprayOut, setting, st.floats(min_value=2e-4, max_value=0.005)),
        st.builds(RinseOn, setting, st.just(FLOW_M3S), water),
        st.builds(FlushClean, st.just(clean), st.just(FLOW_M3S), water),
        st.builds(Stand, st.just(600.0)),
    )
    return network, draw(st.lists(step, min_size=1, max_size=6))


@settings(max_examples=60)
@given(clean_outs())
def test_old_mix_and_liquid_are_conserved_and_nothing_is_below_zero(case):
    network, steps = case
    start = loaded_state(network, tank_m3=0.1)
    try:
        done = dilution(network, start, steps)
    except (OutOfRange, NotDefined):
        assume(False)
        raise
    assert done.balance_ratio == pytest.approx(1.0, rel=1e-9)
    assert done.end.old_m3.min() >= 0.0
    before, added = start.volumes_m3.sum(), done.water_m3
    assert done.end.volumes_m3.sum() == pytest.approx(before + added, rel=1e-9)
    for after in done.steps:
        shares = list(after.concentrations_frac.values())
        assert min(shares) >= 0.0
        assert max(shares) <= 1.0 + 1e-6
        assert sum(after.old_m3.values()) == pytest.approx(start.old_m3.sum(), rel=1e-9)


@settings(max_examples=30)
@given(seeds, st.floats(min_value=1.0, max_value=300.0))
def test_what_no_open_line_passes_keeps_what_it_holds(seed, seconds):
    network = random_network(seed)
    start = loaded_state(network, tank_m3=0.2)
    shut = network.layout.setting({"eductor valve": "shut"})
    diluted = dilution(network, start, [AddWater(0.2), Circulate(shut, seconds)])
    for name in ("eductor", "boom feed", "section 1", "end 1"):
        assert diluted.steps[-1].concentrations_frac[name] == 1.0


@settings(max_examples=30)
@given(seeds, st.floats(min_value=0.06, max_value=0.3), st.floats(min_value=0.005, max_value=0.1))
def test_more_water_in_a_batch_never_leaves_more(seed, water_m3, more_m3):
    network = random_network(seed)
    setup = rinse_setup(network, FLOW_M3S)
    task = RinseTask(
        setup=setup,
        load=next_load(network),
        tolerated=user_level(0.01, basis=Basis.MIX),
        supply=WaterSupply(rinse_tank_m3=0.05, step_m3=0.05),
    )
    prepared = prepared_task(task)
    less = acres_after(prepared, [Rinse(Way.BATCH, water_m3)]).peak_frac
    assert acres_after(prepared, [Rinse(Way.BATCH, water_m3 + more_m3)]).peak_frac <= less * (1.0 + 1e-6)


@settings(max_examples=25)
@given(seeds, st.integers(min_value=2, max_value=12))
def test_a_section_gives_off_the_same_in_all_however_many_cells_it_is_cut_into(seed, cells):
    layout = random_layout(seed)
    whole = tuple(
        replace(c, cells=1, dead_frac=0.0, residue_m3=c.volume_m3) if c.name.startswith("section") else c
        for c in layout.circuits
        if not c.name.startswith("end ")
    )
    lines = tuple(line for line in layout.lines if not line.name.startswith("end "))
    cut = tuple(replace(c, cells=cells) if c.name.startswith("section") else c for c in whole)
    outs = []
    for circuits in (whole, cut):
        network = network_of(replace(layout, circuits=circuits, lines=lines))
        spray = network.layout.setting({"boom valve": "spraying"})
        steps: list[Step] = [AddWater(0.2), SprayOut(spray, FLOW_M3S, 0.15)]
        outs.append(dilution(network, loaded_state(network), steps).steps[-1].old_m3)
    for name in outs[0]:
        assert outs[0][name] == pytest.approx(outs[1][name], rel=1e-6, abs=1e-12)


@settings(max_examples=25)
@given(seeds, st.floats(min_value=0.08, max_value=0.3))
def test_a_rinse_is_linear_and_keeps_shares(seed, water_m3):
    network = random_network(seed)
    effect = rinse_effect(rinse_setup(network, FLOW_M3S), Rinse(Way.BATCH, water_m3))
    assert effect.shares.min() >= 0.0
    np.testing.assert_allclose(effect.shares.sum(axis=0), 1.0, rtol=1e-12)


@pytest.mark.parametrize("level", [0.3, 0.1, 0.03, 0.0123, 0.0123 * 0.99])
def test_equal_batches_come_out_by_themselves_in_one_mixed_volume(level):
    network = network_of(one_volume_layout(residue_m3=0.02))
    task = RinseTask(
        setup=rinse_setup(network, FLOW_M3S),
        load=next_load(network, 0.2),
        tolerated=user_level(level * 0.02 / 0.22, basis=Basis.MIX),
        supply=WaterSupply(rinse_tank_m3=0.24, refills=1, step_m3=0.01),
        most_rinses=4,
    )
    plan = planned(task)
    sizes = [round(rinse.water_m3 / 0.01) for rinse in plan.rinses]
    assert plan.reached
    assert max(sizes) - min(sizes) <= 1
