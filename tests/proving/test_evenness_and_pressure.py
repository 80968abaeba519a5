"""Evenness of trays and stacks, and cab against tips."""

import numpy as np
import pytest

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.evenness import tray_result, variation_frac
from wetrun.proving.evenness_stack import stack_result, tray_against_stack
from wetrun.proving.pressure import PressurePair, gauge_judged, pressure_result
from wetrun.proving.pressure_sentence import loss_words
from wetrun.proving.uncertainty import Budget, Component, Verdict
from wetrun.spray.fan_patterns import Trapezoid
from wetrun.spray.overlap import IN_USE, NEW_AT_STATED, Standing


def grooves(cv, count=120):
    wave = np.sin(np.arange(count) * 2 * np.pi / 12)
    return 1e-3 * (1.0 + cv * wave / np.std(wave, ddof=1))


def test_the_variation_is_that_of_a_sample():
    amounts = np.array([8.0, 9.0, 11.0, 12.0])
    # By hand: mean 10, squares 4 + 1 + 1 + 4 over 3.
    assert variation_frac(amounts) == pytest.approx(np.sqrt(10 / 3) / 10)


@pytest.mark.parametrize(
    ("cv", "reading", "verdict"),
    [(0.06, 0.01, Verdict.PASS), (0.0995, 0.02, Verdict.UNDECIDED), (0.13, 0.01, Verdict.FAIL)],
)
def test_a_tray_passes_fails_or_stays_undecided(cv, reading, verdict):
    result = tray_result(grooves(cv), IN_USE, reading_frac=reading)
    assert result.cv.verdict is verdict
    assert result.cv.value == pytest.approx(cv)


def test_one_groove_beyond_fails_an_even_tray_and_is_named():
    volumes = grooves(0.03)
    volumes[40] *= 1.4
    result = tray_result(volumes, IN_USE, reading_frac=0.01)
    assert result.cv.verdict is Verdict.PASS
    assert result.beyond == (41,)
    assert result.verdict is Verdict.FAIL


def test_the_doubt_of_the_variation_is_what_reading_noise_does_to_it():
    random = np.random.default_rng(9)
    tray = grooves(0.08)
    seen = [variation_frac(tray * (1 + random.normal(0, 0.02, tray.size))) for _ in range(4000)]
    said = tray_result(tray, IN_USE, reading_frac=0.02).cv.expanded / 1.96
    assert np.std(seen) == pytest.approx(said, rel=0.08)


def test_a_limit_from_memory_is_said_to_be():
    assert "from memory" in tray_result(grooves(0.03), NEW_AT_STATED, reading_frac=0.01).caution
    assert tray_result(grooves(0.03), IN_USE, reading_frac=0.01).caution == ""


def test_dry_or_negative_grooves_are_refused():
    with pytest.raises(NotDefined):
        tray_result(np.zeros(20), IN_USE, reading_frac=0.01)
    with pytest.raises(OutOfRange, match="groove"):
        tray_result(np.array([1e-3, -1e-3]), IN_USE, reading_frac=0.01)


def test_tips_and_pattern_are_told_apart_in_a_stack():
    flows = 2e-5 * (1.0 + 0.03 * np.where(np.arange(48) % 2, 1.0, -1.0))
    good = stack_result(flows, Trapezoid(1.0), 0.5, IN_USE)
    low_boom = stack_result(flows, Trapezoid(0.7), 0.5, IN_USE)
    assert good.tips_cv_frac == low_boom.tips_cv_frac == pytest.approx(0.0303, abs=1e-4)
    assert good.even_cv_frac == pytest.approx(0.0, abs=1e-9)
    assert good.standing is Standing.WITHIN
    assert low_boom.even_cv_frac > 0.10
    assert low_boom.standing is Standing.BEYOND
    # Fans twice the spacing wide: the overlap evens out what neighbours differ by.
    assert good.stacked.cv_frac < good.tips_cv_frac
    assert "within 3 points of a limit" in good.words  # a share of the limit would be another rule


def test_a_tray_far_from_the_stack_points_at_height_or_patterns():
    stack = stack_result(np.full(48, 2e-5), Trapezoid(1.0), 0.5, IN_USE)
    rough = tray_result(grooves(0.12), IN_USE, reading_frac=0.01)
    apart = tray_against_stack(rough, stack)
    assert not apart.agree
    assert "height" in apart.words
    assert apart.apart_frac == pytest.approx(rough.cv.value)
    assert apart.expanded_frac == pytest.approx(0.03 + rough.cv.expanded)
    near = tray_against_stack(tray_result(grooves(0.02), IN_USE, reading_frac=0.01), stack)
    assert near.agree
    assert "agree" in near.words
    poor = stack_result(np.full(48, 2e-5), Trapezoid(0.7), 0.5, IN_USE)
    narrow = tray_against_stack(tray_result(grooves(0.02), IN_USE, reading_frac=0.01), poor)
    assert not narrow.agree
    assert "too narrow" in narrow.words


# ------------------------------------------------------------------------------------------------------------- pressure


def pairs(losses, offset, *, noise=0.0, flows=(1.0e-3, 2.0e-3), seed=1):
    random = np.random.default_rng(seed)
    return [
        PressurePair(section, flow, 4e5 + random.normal(0, noise), 4e5 - offset - loss * flow**2)
        for section, loss in enumerate(losses, 1)
        for flow in flows
    ]


def test_offset_and_loss_are_told_apart_by_two_flows():
    result = pressure_result(pairs([5e9] * 4, 20_000.0), reading_pa=500.0)
    assert result.offset_pa == pytest.approx(20_000.0)
    assert [s.loss_paps2m6 for s in result.sections] == pytest.approx([5e9] * 4)
    assert not any(s.unlike for s in result.sections)
    assert result.offset_pa > result.offset_doubt.expanded()


def test_one_strainer_shows_in_its_own_section_only():
    result = pressure_result(pairs([5e9, 5e9, 12e9, 5e9], 0.0, noise=500.0), reading_pa=500.0)
    assert [s.section for s in result.sections if s.unlike] == [3]
    assert result.sections[2].over_rest_pa == pytest.approx(7e9 * 4e-6, abs=3000.0)
    assert "strainer" in loss_words(result.sections[2])


def test_doubts_are_what_repeating_the_readings_would_show():
    runs = [pressure_result(pairs([5e9] * 4, 10_000.0, noise=800.0, seed=n), reading_pa=800.0) for n in range(1500)]
    offsets = np.array([run.offset_pa for run in runs])
    losses = np.array([run.sections[0].loss_paps2m6 for run in runs])
    assert np.std(offsets) == pytest.approx(runs[0].offset_doubt.combined, rel=0.08)
    assert np.std(losses) == pytest.approx(runs[0].sections[0].standard_paps2m6, rel=0.08)
    assert np.mean(offsets) == pytest.approx(10_000.0, abs=100.0)
    wrong = sum(any(s.unlike for s in run.sections) for run in runs)
    assert wrong / len(runs) < 0.02


def test_one_flow_is_not_enough_and_says_what_is():
    with pytest.raises(NotDefined, match="half the flow"):
        pressure_result(pairs([5e9, 5e9], 0.0, flows=(2e-3,)), reading_pa=500.0)


def test_a_gauge_that_is_off_throughout_enters_the_offset_alone():
    sure = pressure_result(pairs([5e9] * 3, 0.0), reading_pa=500.0)
    unsure = pressure_result(pairs([5e9] * 3, 0.0), reading_pa=500.0, gauge_pa=10_000.0)
    assert unsure.offset_doubt.combined > sure.offset_doubt.combined
    assert unsure.sections[0].standard_paps2m6 == sure.sections[0].standard_paps2m6


@pytest.mark.parametrize(
    ("shown", "true", "verdict"),
    [
        (1.15e5, 1.0e5, Verdict.PASS),  # 0.2 bar up to 2 bar
        (1.25e5, 1.0e5, Verdict.FAIL),
        (3.9e5, 3.6e5, Verdict.PASS),  # 10 % above
        (4.1e5, 3.6e5, Verdict.FAIL),
        (3.96e5, 3.6e5, Verdict.UNDECIDED),
    ],
)
def test_a_gauge_is_held_to_the_rule_of_sprayers_in_use(shown, true, verdict):
    found, caution = gauge_judged(shown, true, Budget((Component("reference", 2000.0),)))
    assert found.verdict is verdict
    assert "from memory" in caution
