"""Rinse mathematics and clean-out figures: closed forms, the network, the typical volumes and the published levels."""

import pytest
from tests.changeover_cases import FLOW_M3S, one_volume_layout

from wetrun.changeover.closed_form import batches_left_frac, continuous_left_frac, water_needed_ratio
from wetrun.changeover.dilution import dilution
from wetrun.changeover.network import loaded_state, network_of
from wetrun.changeover.rinse import Rinse, Way, rinse_setup, rinse_steps
from wetrun.changeover.tolerated import PUBLISHED, Basis, one_part_in
from wetrun.machine.boom import Boom
from wetrun.machine.boom_volume import boom_volume_m3
from wetrun.machine.circuits import CircuitKind
from wetrun.machine.typical_plumbing import typical_layout
from wetrun.machine.typical_volumes import MachineClass

TABLES = ["checks_rinse", "trade_clean_out"]
PARTS = {
    "tank": {CircuitKind.TANK, CircuitKind.SUMP},
    "pump_and_piping": {CircuitKind.PUMP, CircuitKind.BYPASS, CircuitKind.EDUCTOR_LINE, CircuitKind.LOAD_LINE},
    "pressure_agitation": {CircuitKind.AGITATION},
    "manifold": {CircuitKind.BOOM_FEED, CircuitKind.VALVE},
    "filter_relief_valve": {CircuitKind.STRAINER},
    "induction_bowl": {CircuitKind.EDUCTOR},
    "booms": {CircuitKind.SECTION},
}


def equal(i):
    n = i["rinses"]
    return batches_left_frac(i["residue"], [i["water"] / n] * n)


def residues(i):
    tips = round(i["boom"] / 0.5)
    boom = Boom(spacing_m=i["boom"] / tips, section_tips=(tips,))
    layout = typical_layout(MachineClass(i["machine"]), boom, tank_m3=i["tank"])
    rinsing = {CircuitKind.WASH_DOWN, CircuitKind.BOOM_END}  # clean water, and what the sources do not list
    return [circuit for circuit in layout.circuits if circuit.kind not in rinsing]


def part(name):
    def left(i):
        # The small sprayer lists no strainer, the large one no bowl: theirs stand among the piping.
        unlisted = {CircuitKind.STRAINER} if i["machine"] == "mounted" else {CircuitKind.EDUCTOR}
        kinds = PARTS[name] | (unlisted if name == "pump_and_piping" else set())
        return sum(circuit.residue_m3 for circuit in residues(i) if circuit.kind in kinds)

    return left


def without_boom(i):
    return sum(c.residue_m3 for c in residues(i) if c.kind is not CircuitKind.SECTION)


def with_boom(i):
    return sum(c.residue_m3 for c in residues(i))


def per_part(level):
    return one_part_in(1.0, PUBLISHED[level["level"]].level_frac)


def one_in_a_hundred_left(i):
    # A hundred gallons that leave one per cent stand on 100/99 gal.
    return batches_left_frac(i["rinse"] / 99.0, [i["rinse"]] * i["rinses"])


ANSWERS = {
    ("equal-rinses", "left"): equal,
    ("continuous", "left"): lambda i: continuous_left_frac(i["residue"], i["water"]),
    ("water-needed", "water_over_residue"): lambda i: water_needed_ratio(i["left"], rinses=i["rinses"] or None),
    ("ten-times-residue", "left"): equal,
    ("unequal-split", "left"): lambda i: batches_left_frac(i["residue"], [1e-3 * v for v in i["rinses_litre"]]),
    ("triple-rinse", "residue_fraction"): lambda i: 1.0 - i["efficacy"],
    ("triple-rinse", "residue_as_dose"): lambda i: (1.0 - i["efficacy"]) * i["label_rate"],
    ("triple-rinse", "injury_one_part_in"): per_part,
    ("triple-rinse", "yield_one_part_in"): per_part,
    ("triple-rinse", "symptom_one_part_in"): per_part,
    ("triple-rinse", "least_water_per_rinse"): lambda i: tenth_of_the_tank(i) / i["tank"],
    **{
        ("remnants-small", name): part(name)
        for name in ("tank", "pump_and_piping", "pressure_agitation", "manifold", "induction_bowl", "booms")
    },
    ("remnants-small", "total_without_boom"): without_boom,
    ("remnants-small", "total_with_boom"): with_boom,
    ("remnants-small", "share_of_tank"): lambda i: without_boom(i) / i["tank"],
    **{
        ("remnants-large", name): part(name)
        for name in ("tank", "pump_and_piping", "pressure_agitation", "manifold", "filter_relief_valve")
    },
    ("remnants-large", "total_without_boom"): without_boom,
    ("remnants-large", "share_of_tank"): lambda i: without_boom(i) / i["tank"],
    ("empty-self-propelled", "total_without_boom"): without_boom,
    ("boom-volume", "boom_volume"): lambda i: boom_volume_m3(i["boom"]),
    ("boom-volume", "boom_volume_per_length"): lambda i: boom_volume_m3(i["boom"]) / i["boom"],
    ("one-or-three", "single_residue"): lambda i: 1.0 - i["effectiveness"],
    **{("one-or-three", f"triple_after_{n}"): one_in_a_hundred_left for n in (1, 2, 3)},
    ("limits-in-law", "france"): lambda i: PUBLISHED[i["level"]].level_frac,
    ("limits-in-law", "denmark"): lambda i: PUBLISHED[i["level"]].level_frac,
}


def tenth_of_the_tank(i):
    """Clean water a typical machine carries unless another size is given: a tenth of its tank."""
    boom = Boom(spacing_m=0.5, section_tips=(24, 24))
    return typical_layout(MachineClass.TRAILED, boom, tank_m3=i["tank"]).rinse_tank_m3


def test_rinse_and_clean_out(check, answer):
    check.compare(answer(check.inputs))


@pytest.mark.parametrize(("rinses", "left"), [(1, 0.090909), (2, 0.027778), (3, 0.012289), (6, 0.002781)])
def test_the_network_of_one_volume_gives_the_same_as_the_closed_form(rinses, left):
    # ideal-mixing-dilution: 20 L left, 200 L of water in equal rinses.
    network = network_of(one_volume_layout(residue_m3=0.02))
    setup = rinse_setup(network, FLOW_M3S)
    steps = [step for _ in range(rinses) for step in rinse_steps(setup, Rinse(Way.BATCH, 0.2 / rinses))]
    done = dilution(network, loaded_state(network), steps)
    assert done.steps[-1].concentrations_frac["tank"] == pytest.approx(left, abs=1e-5)


def test_the_network_of_one_volume_rinsed_on_gives_the_exponential():
    network = network_of(one_volume_layout(residue_m3=0.02))
    setup = rinse_setup(network, FLOW_M3S, drains=False)
    done = dilution(network, loaded_state(network), rinse_steps(setup, Rinse(Way.CONTINUOUS, 0.2)))
    assert done.steps[-1].concentrations_frac["tank"] == pytest.approx(4.54e-5, abs=1e-6)


def test_after_the_published_triple_rinse_there_is_almost_no_margin_to_symptoms():
    # auburn-dicamba-2020: 0.022 g/ha left against 0.028-0.03 with symptoms.
    level = PUBLISHED["dicamba-soybean-symptoms"]
    assert 0.7 < 4.0e-5 / level.level_frac < 1.0
    assert level.harms_at_level
    assert level.status == "read"


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_level_says_what_it_is_a_share_of(name):
    # auburn-dicamba-2020 gives doses on a label rate; laws and standards give shares of the tank mix.
    level = PUBLISHED[name]
    dose = level.source_key == "auburn-dicamba-2020"
    assert level.basis is (Basis.DOSE if dose else Basis.MIX)
    assert ("of its label rate" in level.words) == dose
    half_the_carrier = level.in_mix_frac(0.5)
    assert half_the_carrier == pytest.approx(2.0 * level.level_frac if dose else level.level_frac, rel=1e-12)


def test_a_limit_in_law_is_far_above_what_a_sensitive_crop_shows():
    # sprayers101-continuous against auburn-dicamba-2020
    france, soybean = PUBLISHED["nozzle-rinsate-france"], PUBLISHED["dicamba-soybean-symptoms"]
    assert france.in_mix_frac(1.0) / soybean.in_mix_frac(1.0) == pytest.approx(200.0, rel=1e-9)


def test_ideal_mixing_says_3356_ppm_where_the_industrial_text_rounds_to_3300():
    # industrial-rinsing: 99.67 % is printed; from its own triple rinse a single one of 300 gal leaves a little more.
    assert 1e6 * batches_left_frac(1.0 / 99.0, [3.0]) == pytest.approx(3355.7, abs=0.1)
