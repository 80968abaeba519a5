"""Plumbing layouts: what valves reach, the fewest settings, measured volumes, and what is refused."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from tests.changeover_cases import one_volume_layout, random_layout

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.machine.circuit_checks import check_layout
from wetrun.machine.circuits import CircuitKind, Exit, Line, Setting, Start, open_lines
from wetrun.machine.flushing import Unflushed, flush_settings, never_rinsed
from wetrun.machine.typical_plumbing import Measured, layout_with_extra, layout_with_measured, typical_layout
from wetrun.machine.typical_volumes import MachineClass
from wetrun.sources import SOURCES

BOOM = Boom(spacing_m=0.508, section_tips=(10, 16, 20, 16, 10))


def typical(machine_class=MachineClass.SELF_PROPELLED, **more):
    return typical_layout(machine_class, BOOM, tank_m3=3.8, **more)


@pytest.mark.parametrize("machine_class", MachineClass)
@pytest.mark.parametrize("more", [{}, {"ends_open": False}, {"recirculating": True}])
def test_built_in_layouts_are_whole_and_every_volume_has_a_source(machine_class, more):
    layout = typical(machine_class, **more)
    check_layout(layout)
    assert all({c.volume_source, c.residue_source} <= set(SOURCES) for c in layout.circuits)
    assert [c.name for c in layout.sections] == [f"section {n}" for n in range(1, 6)]
    held = sum(c.volume_m3 for c in layout.sections)
    assert layout.sections[2].volume_m3 / held == pytest.approx(20 / 72)
    left = {entry.circuit for entry in never_rinsed(layout)}
    ends = {c.name for c in layout.circuits if c.kind is CircuitKind.BOOM_END}
    assert left == (ends if more == {"ends_open": False} else set())


def swept(layout, setting):
    lines = [line for line in open_lines(layout, setting) if line.start is Start.TANK]
    tips = {f"tips of {line.through[-1]}" for line in lines if line.exit is Exit.TIPS}
    return {name for line in lines for name in line.through} | tips


@pytest.mark.parametrize("layout", [typical(), typical(recirculating=True), *map(random_layout, range(10))])
def test_the_settings_of_a_full_rinse_are_the_fewest(layout):
    cover = flush_settings(layout)
    places = [[(valve.name, place) for place in valve.positions] for valve in layout.valves]
    every = [swept(layout, Setting(tuple(setting))) for setting in itertools.product(*places)]
    wanted = set().union(*every)
    assert set().union(*(swept(layout, entry.setting) for entry in cover)) == wanted
    fewer = itertools.combinations(every, len(cover) - 1)
    assert not any(set().union(*some) == wanted for some in fewer)


def test_a_full_rinse_circulates_first_and_opens_the_ends_last():
    names = [dict(entry.setting.positions) for entry in flush_settings(typical())]
    assert [n["pressure valve"] for n in names[:2]] == ["eductor", "load line"]
    assert [n["boom valve"] for n in names[2:]] == ["spraying", "ends open"]


def test_a_line_no_valve_reaches_is_said_so_with_what_to_do():
    layout = typical()
    cut = replace(layout, lines=tuple(line for line in layout.lines if line.name != "load line"))
    (finding,) = never_rinsed(cut)
    assert finding.why is Unflushed.NO_LINE
    assert str(finding) == (
        "load line is never rinsed: no valve position reaches it. "
        "Drain and flush it by hand, or enter the valve that opens it."
    )


def test_foam_marker_and_winter_fluid_belong_to_the_graph_and_ask_for_their_own_steps():
    layout = layout_with_extra(typical(), CircuitKind.WINTER_FLUID)
    layout = layout_with_extra(layout, CircuitKind.FOAM_MARKER)
    assert [entry.why for entry in never_rinsed(layout)] == [Unflushed.OTHER_LIQUID] * 2
    hose = Line(name="hose", through=("pump", "chemical hose"), needs=(("pressure valve", "eductor"),))
    assert not never_rinsed(layout_with_extra(typical(), CircuitKind.CHEMICAL_HOSE, hose))
    assert never_rinsed(layout_with_extra(typical(), CircuitKind.INJECTION))[0].why is Unflushed.NO_LINE


def test_a_measured_volume_alone_keeps_a_typical_residue_that_it_can_hold_back():
    layout = typical_layout(MachineClass.TRAILED, BOOM, tank_m3=2.0)
    strainer, section, pump = (layout.circuit(name) for name in ("suction strainer", "section 1", "pump"))
    measured = layout_with_measured(
        layout,
        {
            strainer.name: Measured(volume_m3=2.0 * strainer.volume_m3),
            section.name: Measured(volume_m3=1.5 * section.volume_m3),
            pump.name: Measured(volume_m3=1.5 * pump.volume_m3),
        },
    )
    bowl = measured.circuit("suction strainer")
    assert bowl.residue_m3 == bowl.dead_m3 > strainer.residue_m3, "its dead share does not drain"
    assert measured.circuit("section 1").residue_m3 == 1.5 * section.volume_m3, "this boom does not drain"
    assert measured.circuit("pump").residue_m3 == pump.residue_m3
    assert not any(measured.circuit(name).measured for name in ("suction strainer", "section 1", "pump"))


def test_measured_volumes_win_and_are_remembered():
    layout = typical()
    measured = layout_with_measured(
        layout, {"sump": Measured(volume_m3=0.012), "pump": Measured(volume_m3=0.01, residue_m3=0.002)}
    )
    assert measured.circuit("sump").volume_m3 == measured.circuit("sump").residue_m3 == 0.012
    assert not measured.circuit("sump").measured
    assert measured.circuit("pump").measured
    assert measured.circuit("boom feed") == layout.circuit("boom feed")
    with pytest.raises(NotDefined, match="eductr"):
        layout_with_measured(layout, {"eductr": Measured(volume_m3=0.01)})


def test_a_circuit_every_line_passes_cannot_be_skipped():
    with pytest.raises(NotDefined, match="cannot be skipped"):
        flush_settings(typical(), without=("pump",))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"volume_m3": 0.0, "residue_m3": 0.0}, "volume of pump is 0.0 m3.*Measure what it holds"),
        ({"volume_m3": -1.0}, "volume of pump is -1.0 m3"),
        ({"volume_m3": float("nan")}, "volume of pump"),
        ({"residue_m3": 1.0}, "residue of pump is 1.0 m3: it must be from 0.0 to"),
        ({"dead_frac": 1.0}, "dead share of pump"),
        ({"dead_frac": 0.9, "residue_m3": 0.0}, "at least its dead share"),
        ({"exchange_s": 0.0}, "exchange time of pump"),
        ({"cells": 0}, "cells of pump"),
    ],
)
def test_a_circuit_that_cannot_be_is_refused_with_the_remedy(change, words):
    layout = typical()
    circuits = tuple(replace(c, **change) if c.name == "pump" else c for c in layout.circuits)
    with pytest.raises(OutOfRange, match=words):
        check_layout(replace(layout, circuits=circuits))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (Line(name="x", through=("nowhere",), needs=()), "nowhere"),
        (Line(name="x", through=(), needs=()), "passes no circuit"),
        (Line(name="x", through=("pump", "pump"), needs=()), "twice"),
        (Line(name="x", through=("tank",), needs=()), "names the tank"),
        (Line(name="x", through=("pump",), needs=(), exit=Exit.TIPS), "no boom section"),
        (Line(name="x", through=("pump",), needs=(("boom valve", "half"),)), "half"),
        (Line(name="agitation", through=("pump",), needs=()), "two of them"),
    ],
)
def test_a_line_that_cannot_be_is_refused(line, words):
    layout = typical()
    with pytest.raises(NotDefined, match=words):
        check_layout(replace(layout, lines=(*layout.lines, line)))


def test_a_machine_without_or_with_two_tanks_is_refused():
    layout = one_volume_layout()
    second = replace(layout.tank, name="second tank")
    for circuits in (layout.circuits[1:], (*layout.circuits, second)):
        with pytest.raises(NotDefined, match="circuits are of kind tank"):
            check_layout(replace(layout, circuits=circuits))


def test_a_boom_without_width_is_refused():
    with pytest.raises(OutOfRange, match="boom width"):
        typical_layout(MachineClass.TRAILED, Boom(spacing_m=0.0, section_tips=(4,)), tank_m3=1.0)
