"""A small seeded part of the simulation of `proof.crosscheck_power`, and the expected power on its own."""

import re
from dataclasses import replace
from functools import partial
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from proof import crosscheck_cases as cases
from proof.crosscheck_power import OUTCOMES, simulated
from scipy.stats import ncx2

from wetrun.proving.budget import Budget, Component
from wetrun.proving.gross_error import global_limit
from wetrun.proving.identify import scene_of
from wetrun.proving.power import Plan, readings_shown
from wetrun.proving.power import expected_power as expected_by_many_points
from wetrun.proving.redundant import Kind

NOISE_PAGE = Path(__file__).parents[2] / "docs" / "proof" / "crosscheck-noise.md"
NOTHING = cases.Case("nothing wrong")

# A quarter of the points that the page takes: half a point coarser, and quick.
expected_power = partial(expected_by_many_points, points_log2=12)


def test_the_page_and_the_simulation_have_the_same_noise():
    rows = re.findall(
        r"^\| ([a-z ]+) \| [^|]+ \| ([\d.]+) \| ([\d.]+) \| (\d) \| (\d) \| (yes|no|per source) \|",
        NOISE_PAGE.read_text(encoding="utf-8"),
        re.MULTILINE,
    )
    told = {
        name: cases.Noise((float(low), float(high)), (int(few), int(fewer)), shared == "yes")
        for name, low, high, few, fewer, shared in rows
    }
    assert told == cases.NOISE


@pytest.mark.parametrize(
    ("reading_set", "level", "case", "runs"),
    [
        ("usual", "careful", cases.SINGLES[0], 250),
        ("full", "typical", cases.SINGLES[2], 250),
        ("full", "careful", cases.SINGLES[4], 250),
        ("usual", "typical", cases.SINGLES[5], 250),
        ("minimal", "careful", cases.SINGLES[1], 250),
        ("full", "careful", cases.PAIRS[3], 250),
        ("usual", "careful", cases.PAIRS[1], 150),
        ("usual", "typical", NOTHING, 600),
        ("full", "careful", NOTHING, 400),
    ],
    ids=lambda value: getattr(value, "words", str(value)),
)
def test_the_simulation_agrees_with_the_power_the_program_expects(reading_set, level, case, runs):
    expected = expected_power(cases.plan_of(reading_set, level), case.faults, width_off=case.width_off)
    seen = simulated(reading_set, level, case, runs)
    for name in OUTCOMES:
        share = getattr(expected, f"{name}_frac")
        # Two points are owed; what so few runs scatter comes on top.
        room = 0.02 + 3.0 * sqrt(max(share * (1.0 - share), 0.0) / runs)
        assert abs(seen[name] / runs - share) <= room, f"{name}: {seen[name] / runs:.3f}, expected {share:.3f}"


def test_what_can_be_named_is_named():
    power = expected_power(cases.plan_of("full", "careful"), cases.SINGLES[0].faults)
    assert power.first_frac > 0.99
    assert simulated("full", "careful", cases.SINGLES[0], 200)["first"] >= 190
    assert power.tied_with == ()


def test_the_expected_power_is_the_same_each_time():
    plan = cases.plan_of("usual", "typical")
    assert expected_power(plan, (cases.METER,)) == expected_power(plan, (cases.METER,))


def certain(plan):
    """The same readings with every uncertainty known, and the hoses' loss so well that nothing bends."""
    known = []
    for reading in plan.readings:
        share = 1e-3 if reading.kind is Kind.HOSE else 1.0
        parts = (Component(p.name, share * p.standard, cause=p.cause) for p in reading.budget.components)
        known.append(replace(reading, budget=Budget(tuple(parts))))
    return Plan(rig=plan.rig, readings=tuple(known), truth=plan.truth)


@pytest.mark.parametrize("case", cases.SINGLES[:5], ids=lambda case: case.words)
@pytest.mark.parametrize("reading_set", cases.SETS)
def test_with_known_uncertainties_detection_is_noncentral_chi_square(reading_set, case):
    plan = certain(cases.plan_of(reading_set, "typical"))
    scene = scene_of(plan.rig, readings_shown(plan, case.faults))
    closed = ncx2.sf(global_limit(scene.found.redundancy), scene.found.redundancy, np.sum(scene.residuals**2))
    assert expected_power(plan, case.faults).detected_frac == pytest.approx(closed, abs=0.01)


def test_more_readings_never_tie_what_fewer_could_tell():
    for case in cases.SINGLES[:5]:
        ties = [len(expected_power(cases.plan_of(name, "careful"), case.faults).tied_with) for name in cases.SETS]
        assert ties == sorted(ties, reverse=True), case.words
