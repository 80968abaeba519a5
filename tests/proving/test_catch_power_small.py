"""The proof's simulation, small and seeded: what the full one owes, within its own chance."""

import pytest
from proof.catch_booms import PATTERNS
from proof.catch_power import BOOMS, Rate, confusion, rule_verdicts, tally

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
