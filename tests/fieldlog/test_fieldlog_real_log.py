"""The real sprayer log: 32 % UAN, 100 ft boom, seven sections, about 5 Hz.

Counts, speed percentiles and the share within 5 % of target were measured independently of this reader (figures in
km/h for the rows of section 182: distance over time, and positions over windows of at least 1 s).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.log_reading import only_trace

from wetrun.fieldlog.inspect import inspection, speed_percentiles
from wetrun.fieldlog.ledger import ledger_of
from wetrun.fieldlog.logged import InstantFilter, flow_comparison, logged_share
from wetrun.fieldlog.replay import ReplayMode, SteadySetup, replay, width_levels

DISTANCE_KMH = [7.6, 8.7, 9.9, 10.5, 11.0, 12.1, 15.5]
POSITION_KMH = [7.6, 8.8, 10.0, 10.4, 10.9, 12.0, 15.3]
GALLON_PER_ACRE_M3PM2 = 231 * 0.0254**3 / (43_560 * 0.3048**2)  # exact: 231 in3 on 43 560 ft2
FULL_AND_STEADY = InstantFilter(full_width=True, over_s=0.1, under_s=0.5)


def test_rows_instants_sections_and_backward_steps_are_separate_counts(real_trace):
    facts = real_trace.facts
    assert (facts.rows, facts.instants, facts.backward_steps) == (183_239, 27_857, 1)
    assert [len(group) for group in facts.section_groups] == [7, 7]
    assert real_trace.full_width_m == pytest.approx(100 * 0.3048)
    assert sum(section.width_m for section in real_trace.sections[:7]) == pytest.approx(100 * 0.3048)


def test_speeds_of_section_182_meet_the_independent_figures(real_trace):
    by_source = {speed.source: speed.percentiles_mps * 3.6 for speed in speed_percentiles(real_trace, section="182")}
    assert by_source["distance / time"] == pytest.approx(DISTANCE_KMH, rel=0.02)
    assert by_source["positions"] == pytest.approx(POSITION_KMH, rel=0.02)


def test_what_the_target_demanded_meets_what_the_log_says_was_put_out(real_trace):
    compared = flow_comparison(real_trace, FULL_AND_STEADY)
    assert compared.instants == 25_001
    assert compared.demanded_m3s == pytest.approx(compared.logged_m3s, rel=0.03)


def test_the_share_really_within_five_percent_of_target(real_trace):
    share = logged_share(real_trace, 0.05, FULL_AND_STEADY)
    assert share.within_frac == pytest.approx(0.936, abs=0.005)


def test_without_a_mapping_feet_are_inferred_and_the_rates_left_raw(real_log_path):
    trace = only_trace(real_log_path)
    uses = {use.meaning: use for use in trace.facts.columns}
    assert (uses["distance"].unit, uses["distance"].stated) == ("ft", False)
    assert (uses["time"].column, uses["target_rate"].column) == ("IsoTime", "TargetRate")
    assert {raw.column for raw in trace.facts.raw_columns} == {"TargetRate", "AppliedRate"}
    assert np.isnan(trace.applied_m3pm2).all()
    assert inspection(trace).rates == ()


@pytest.mark.parametrize("mode", list(ReplayMode))
def test_the_ledger_brackets_the_exact_replay_at_every_threshold(real_trace, mode):
    ledger = ledger_of(real_trace)
    rate_m3pm2 = 20 * GALLON_PER_ACRE_M3PM2
    tally = ledger.speed if mode is ReplayMode.SAME_SPEED else ledger.flow_per_width
    scale = rate_m3pm2 if mode is ReplayMode.SAME_SPEED else 1.0
    levels_m = width_levels(real_trace)
    slowest, fastest = tally.percentiles([0.001, 0.999])[0]
    seen = tally.least[:: tally.least.size // 20]
    widths = []
    for threshold in [*np.linspace(slowest, fastest, 60), *seen]:
        window = np.full(levels_m.size, threshold * scale), np.full(levels_m.size, 1.2 * threshold * scale)
        setup = SteadySetup(levels_m, window[0], window[1], *window, rate_m3pm2=rate_m3pm2)
        exact = int(replay(real_trace, setup, mode).held_cm2.sum())
        lower, upper = tally.area_within(window[0] / scale, window[1] / scale)
        assert lower <= exact <= upper
        widths.append(int(upper - lower) / tally.total_cm2)
    assert np.median(widths) <= 1e-4
