"""Swap tests at a boom: judged with their doubt, repeats drawn together, and asked about where they do not fit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from wetrun.proving.catch import catch_result
from wetrun.proving.catch_diagnosis import TipFault
from wetrun.proving.catch_followed import followed
from wetrun.proving.catch_remedy import Remedy
from wetrun.proving.catch_rules import rule_of
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.proving.swap import SwapDoubt, SwapOutcome, SwapReading, swap_verdict
from wetrun.proving.swaps import SwapTest, swap_results
from wetrun.spray.orifice import law_of_us_size

LAW = law_of_us_size("04")
PRESSURE = 275_790.29
NEW = float(LAW.flow_m3s(PRESSURE, 998.2))
TOOLS = CatchInstruments(jug_m3=4e-6)
SIMULATED = 4000


def drawn(fault, where, *, reading=0.005, spread=0.015, seed=1):
    """Readings of many swap tests of which the fault sits in the tip or in the body; half the spread is each one's."""
    rng = np.random.default_rng(seed)
    tips, bodies = rng.normal(0.0, spread / np.sqrt(2.0), (2, SIMULATED, 2))
    (tips if where is SwapOutcome.TIP else bodies)[:, 0] += np.log(fault)
    noise = rng.normal(0.0, reading, (2, SIMULATED, 2))
    return np.exp(tips + bodies + noise[0]), np.exp(tips[:, ::-1] + bodies + noise[1])


def outcomes(fault, where, **more):
    doubt = SwapDoubt(0.005, 0.005, spread_frac=0.015)
    before, after = drawn(fault, where, **more)
    return [
        swap_verdict(SwapReading(*one), SwapReading(*other), doubt)
        for one, other in zip(before.tolist(), after.tolist(), strict=True)
    ]


@pytest.mark.parametrize("where", [SwapOutcome.TIP, SwapOutcome.BODY])
def test_the_true_explanation_is_left_out_once_in_a_hundred(where):
    missed = sum(where not in found.possible for found in outcomes(1.12, where)) / SIMULATED
    # Three standard deviations of a count of 1 % in 4000.
    assert missed == pytest.approx(0.01, abs=3.0 * (0.01 * 0.99 / SIMULATED) ** 0.5)


@pytest.mark.parametrize(("where", "other"), [(SwapOutcome.TIP, SwapOutcome.BODY), (SwapOutcome.BODY, SwapOutcome.TIP)])
def test_a_fault_of_twelve_per_cent_is_laid_where_it_is_though_ordinary_tips_differ(where, other):
    found = [each.outcome for each in outcomes(1.12, where)]
    assert found.count(where) / SIMULATED > 0.97
    assert other not in found


def test_the_share_that_went_with_the_tip_covers_the_truth():
    for where, truth in ((SwapOutcome.TIP, 1.0), (SwapOutcome.BODY, 0.0)):
        found = outcomes(1.15, where, seed=3)
        inside = sum(abs(each.with_tip_frac - truth) <= each.doubt.expanded() for each in found) / SIMULATED
        assert inside == pytest.approx(0.95, abs=0.02)


def test_as_many_repeats_as_are_asked_for_decide_four_times_in_five():
    doubt = SwapDoubt(0.02, 0.02, spread_frac=0.005)
    first = swap_verdict(SwapReading(1.05, 1.0), SwapReading(1.0, 1.05), doubt)
    assert first.outcome is SwapOutcome.UNDECIDED
    assert first.rounds is not None
    assert f"{first.rounds} times" in first.words
    single = 0.02 / first.rounds**0.5
    before, after = drawn(1.05, SwapOutcome.TIP, reading=single, spread=0.005, seed=9)
    held = SwapDoubt(single, single, spread_frac=0.005)
    found = [
        SwapOutcome.BODY in swap_verdict(SwapReading(*one), SwapReading(*other), held).possible
        for one, other in zip(before.tolist(), after.tolist(), strict=True)
    ]
    assert 0.75 < 1.0 - sum(found) / SIMULATED < 0.92


def test_where_no_repeat_would_decide_a_new_tip_is_asked_for():
    found = swap_verdict(SwapReading(1.03, 1.0), SwapReading(1.01, 1.02), SwapDoubt(0.005, 0.005, spread_frac=0.02))
    assert found.outcome is SwapOutcome.UNDECIDED
    assert found.rounds is None
    assert "new tip" in found.words


# ------------------------------------------------------------------------------------------------------- at the boom


def row(tip, ratio):
    return TipReading(tip=tip, volume_m3=30.0 * NEW * ratio)


def boom(odd, **more):
    ratios = {n: 1.0 + 0.004 * (((n * 37) % 11) / 5.0 - 1.0) for n in range(1, 49)}
    rows = tuple(row(n, ratio * odd.get(n, 1.0)) for n, ratio in ratios.items())
    return CatchRun(
        readings=rows,
        section_tips=(12,) * 4,
        law=LAW,
        pressure_pa=PRESSURE,
        time_s=30.0,
        instruments=TOOLS,
        size="04",
        **more,
    )


def swapped(odd, good, at_odd, at_good):
    return SwapTest(odd=odd, good=good, after=(row(odd, at_odd), row(good, at_good)))


def judged(run, *tests):
    catch = catch_result(run, rule_of("boom-10"))
    swaps = swap_results(run, catch, tests)
    return swaps, followed(catch, swaps, None)


def test_the_tip_goes_where_the_fault_follows_it_and_stays_where_it_does_not():
    run = boom({10: 1.14, 30: 0.80})
    swaps, catch = judged(run, swapped(10, 11, 1.0, 1.14), swapped(30, 29, 0.80, 1.0))
    assert [swap.verdict.outcome for swap in swaps] == [SwapOutcome.TIP, SwapOutcome.BODY]
    tips = {tip.caught.tip: tip for tip in catch.tips}
    assert tips[10].fault is TipFault.WORN
    assert "replace the tip" in tips[10].words
    assert tips[30].fault is TipFault.BODY
    assert tips[30].other_sizes == ()
    assert "keep the tip" in tips[30].words
    assert "blocked tip" not in tips[30].words
    assert "Swap it" not in tips[10].words + tips[30].words
    assert catch.remedy is Remedy.TIPS
    assert "Replace tip 10" in catch.words
    assert "Keep tip 30" in catch.words


def test_a_body_alone_leaves_no_tip_to_replace():
    _, catch = judged(boom({30: 0.80}), swapped(30, 29, 0.80, 1.0))
    assert catch.remedy is Remedy.BODIES


def test_a_tip_without_a_swap_test_keeps_its_advice():
    _, catch = judged(boom({10: 1.14, 30: 0.80}), swapped(10, 11, 1.0, 1.14))
    tip = next(tip for tip in catch.tips if tip.caught.tip == 30)
    assert "Swap it with a good neighbour" in tip.words
    assert "Replace tip 30 after the swap test" in catch.words


def test_a_fault_that_is_gone_is_caught_once_more_and_replaces_nothing():
    swaps, catch = judged(boom({30: 0.80}), swapped(30, 29, 1.0, 1.0))
    assert swaps[0].verdict.outcome is SwapOutcome.GONE
    assert catch.remedy is Remedy.NOTHING


def test_repeats_of_one_pair_make_one_answer_with_less_doubt():
    rough = replace(boom({10: 1.14}), instruments=CatchInstruments(jug_m3=25e-6))
    one, again = swapped(10, 11, 1.01, 1.13), swapped(10, 11, 0.99, 1.15)
    home = replace(again, home=(row(10, 1.14), row(11, 1.0)))
    results = [judged(rough, *tests)[0][0] for tests in ((one,), (one, again), (one, home))]
    assert [result.times for result in results] == [1, 2, 2]
    doubts = [result.verdict.doubt.expanded() for result in results]
    assert doubts == sorted(doubts, reverse=True)
    assert doubts[0] > doubts[2]


def test_a_pressure_read_again_at_the_swap_is_taken_out_of_its_flows():
    run = boom({10: 1.14})
    low = 0.81 * PRESSURE  # 0.9 of the flow
    rows = tuple(replace(each, pressure_pa=low) for each in (row(10, 0.9), row(11, 0.9 * 1.14)))
    swaps, _ = judged(run, SwapTest(odd=10, good=11, after=rows))
    assert swaps[0].verdict.outcome is SwapOutcome.TIP
    assert swaps[0].verdict.with_tip_frac == pytest.approx(1.0, abs=0.05)


def test_a_place_far_from_its_feed_is_held_against_what_is_usual_there():
    ratios = {n: 1.0 - 0.06 * (abs(n - 24.5) / 23.5) ** 2 for n in range(1, 49)}
    run = boom({**ratios, 3: ratios[3] * 1.14})
    swaps, _ = judged(run, swapped(3, 24, ratios[3], ratios[24] * 1.14))
    assert swaps[0].verdict.outcome is SwapOutcome.TIP
    assert swaps[0].verdict.with_tip_frac == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize(
    ("test", "words"),
    [
        (swapped(20, 21, 1.0, 1.0), "tip 20 is not odd: which tip was swapped"),
        (swapped(11, 10, 1.14, 1.0), "are the two positions of the swap test exchanged"),
        (swapped(10, 30, 0.8, 1.14), "which is odd itself"),
        (swapped(10, 48, 1.0, 1.14), "no first catch of tip 48"),
        (swapped(10, 40, 1.0, 1.14), "answer the question about the first catch of tip 40"),
        (swapped(10, 11, 0.0, 1.0), "gave no flow"),
    ],
)
def test_a_swap_that_does_not_fit_the_catch_is_asked_about(test, words):
    run = boom({10: 1.14, 30: 0.80, 40: 10.0})
    run = replace(run, readings=run.readings[:47])
    swaps, catch = judged(run, test)
    assert swaps[0].verdict is None
    assert words in swaps[0].words
    assert next(tip for tip in catch.tips if tip.caught.tip == 10).words.endswith("stay with the body?")


def test_two_partners_that_agree_make_one_answer_and_two_that_do_not_are_asked_about():
    run = boom({10: 1.14})
    _, catch = judged(run, swapped(10, 11, 1.0, 1.14), swapped(10, 12, 1.07, 1.07))
    assert "Swapped with tip 11" in next(tip for tip in catch.tips if tip.caught.tip == 10).next_step
    swaps, catch = judged(run, swapped(10, 11, 1.0, 1.14), swapped(10, 12, 1.14, 1.0))
    assert [swap.verdict for swap in swaps] == [None, None]
    assert "swapped with 11 and 12: the swap tests contradict each other" in swaps[0].words
    assert next(tip for tip in catch.tips if tip.caught.tip == 10).fault is TipFault.WORN
