"""The proof's simulation, small and seeded: what the full one owes, within its own chance."""

import numpy as np
import pytest
from proof.catch_booms import PATTERNS, TIPS
from proof.catch_power import BOOMS, PAGE, Rate, ceiling, confusion, rule_verdicts, tally
from scipy.stats import t

from wetrun.proving.uncertainty import Verdict

BY_KEY = {pattern.key: pattern for pattern in PATTERNS}
SPREAD, READING = 0.015, 0.005


def test_the_full_simulation_has_ten_thousand_booms():
    assert BOOMS >= 10_000


@pytest.mark.parametrize(("key", "least"), [("single", 0.99), ("three", 0.99), ("size", 0.999), ("step", 0.99)])
def test_what_is_wrong_is_found(key, least):
    found = tally(BY_KEY[key], SPREAD, READING, 2_000).found
    assert found is not None
    assert found.share >= least


@pytest.mark.parametrize(("spread", "reading"), [(0.005, 0.0025), (0.015, 0.005), (0.03, 0.02)])
def test_a_clean_boom_raises_an_alarm_in_one_of_a_hundred_at_most(spread, reading):
    alarm = tally(BY_KEY["clean"], spread, reading, 3_000).false_alarm
    assert alarm.bounds[0] <= 0.01
    assert alarm.hits > 0  # a test that never cries wolf would be too blunt: about 25 are expected


def test_the_other_tips_raise_no_more_alarms_beside_a_bad_one():
    assert tally(BY_KEY["three"], SPREAD, READING, 3_000).false_alarm.bounds[0] <= 0.01


def test_a_tip_ten_percent_off_is_lost_in_a_boom_that_spreads_by_three():
    found = tally(BY_KEY["single"], 0.03, 0.02, 1_000).found
    assert found is not None
    assert found.share < 0.2


@pytest.mark.parametrize(("key", "said"), [("clean", "nothing"), ("step", "section"), ("fall", "fall"), ("set", "set")])
def test_a_boom_is_called_what_is_wrong_with_it(key, said):
    assert confusion(BY_KEY[key], 500)[said] >= 0.9 * 500


def test_ten_percent_fails_a_five_percent_rule_and_ordinary_tips_do_not():
    faulty, ordinary = rule_verdicts(BY_KEY["single"], "boom-5", 300)
    assert faulty[Verdict.FAIL] == 300
    assert ordinary[Verdict.FAIL] == 0


def test_bounds_of_a_rate_are_wilsons():
    # Newcombe 1998, Statistics in Medicine 17:857, table I (from memory): 81 of 263 gives 0.2553 to 0.3662.
    low, high = Rate(81, 263).bounds
    assert (round(low, 4), round(high, 4)) == (0.2553, 0.3662)


@pytest.mark.parametrize("off", [0.10, -0.10])
@pytest.mark.parametrize("logs", [True, False])
def test_the_ceiling_is_what_holding_one_tip_against_all_others_finds(off, logs):
    random, booms = np.random.default_rng(8), 40_000
    tips = random.normal(0.0, np.hypot(SPREAD, READING), (booms, TIPS))
    tips[:, 0] = tips[:, 0] + np.log1p(off) if logs else (1.0 + off) * (1.0 + tips[:, 0]) - 1.0
    rest = tips[:, 1:]
    away = np.abs(tips[:, 0] - rest.mean(axis=1)) / rest.std(axis=1, ddof=1) / np.sqrt(1.0 + 1.0 / (TIPS - 1))
    each = (1.0 - 0.99 ** (1.0 / TIPS)) / 2.0
    found = Rate(int((away > t.isf(each, TIPS - 2)).sum()), booms)
    assert found.bounds[0] - 0.001 < ceiling(off, READING, logs=logs, known=False) < found.bounds[1] + 0.001


def test_the_page_shows_the_ceiling_that_the_program_works_out():
    rows = [line for line in PAGE.read_text(encoding="utf-8").splitlines() if line.startswith("| 0.5 | ")]
    for off, way in ((0.10, "up"), (-0.10, "down")):
        shares = [ceiling(off, READING, logs=True, known=True)]
        shares += [ceiling(off, READING, logs=logs, known=False) for logs in (True, False)]
        start = f"| 0.5 | {way} | {' | '.join(f'{100 * share:.2f}' for share in shares)} |"
        assert any(row.startswith(start) for row in rows)
