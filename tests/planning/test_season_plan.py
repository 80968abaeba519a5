"""The season plan as a customer meets it: trade-off, owned sets, budget, refusals, what-ifs."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import log

import numpy as np
import pytest
from scipy import stats
from tests.season_cases import FIRST_DAY, HECTARE, KMH, LITRE_PER_HECTARE, evidence_for, planned, sprayer, tip

from wetrun.machine.boom import Boom, OddPositions, PositionKind
from wetrun.machine.sprayer import Control
from wetrun.machine.tip import OwnedSet
from wetrun.planning.evidence import EvidenceKind, evidence_of_stated
from wetrun.planning.judging import Reading, judge
from wetrun.planning.over_label import over_label
from wetrun.planning.passes import GroundSpeed, Pass, PermittedTip, Product, Season, StatedSpeeds
from wetrun.planning.report import plan_report, section_edges_m
from wetrun.planning.season import season_plan
from wetrun.planning.season_result import SeasonPlan
from wetrun.planning.table import JudgedSets
from wetrun.planning.tip_set import Refusal
from wetrun.planning.whatif import GOAL_FRAC, nearest_rates, one_set_by_rate, one_set_by_speed
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import DropletClass, Family
from wetrun.spray.limits import Limit

CATALOGUE = tuple(
    tip(size, family, price_cents=600)
    for size in ("02", "03", "04", "05", "06", "08")
    for family in (Family.FLAT_FAN, Family.AIR_INDUCTION)
)


def three_passes() -> tuple[Pass, ...]:
    """Light, heavy and light again, with different speeds."""
    slow, fast = StatedSpeeds(8 * KMH, 11 * KMH, 14 * KMH), StatedSpeeds(14 * KMH, 19 * KMH, 25 * KMH)
    later = {"first_day": FIRST_DAY + timedelta(days=30), "last_day": FIRST_DAY + timedelta(days=40)}
    last = {"first_day": FIRST_DAY + timedelta(days=60), "last_day": FIRST_DAY + timedelta(days=70)}
    return (
        planned("early", rate_m3pm2=80 * LITRE_PER_HECTARE, speeds=slow),
        planned("middle", rate_m3pm2=250 * LITRE_PER_HECTARE, speeds=fast, area_m2=60 * HECTARE, **later),
        planned("late", rate_m3pm2=80 * LITRE_PER_HECTARE, speeds=slow, **last),
    )


def plan_of(passes: tuple[Pass, ...], **machine: object) -> SeasonPlan:
    """A plan over stated speeds."""
    season = Season(title="t", customer="c", sprayer=sprayer(**machine), passes=passes)
    return season_plan(season, CATALOGUE, evidence_for(season))


def test_more_sets_hold_more_and_the_trade_off_stops_when_they_do_not() -> None:
    plan = plan_of(three_passes())
    held = [option.held.lower_frac for option in plan.options]
    assert len(held) == 2
    assert held[0] < held[1]
    assert plan.proposed is plan.options[1]
    assert plan.options[1].changes == 2
    assert not plan.options[1].refits
    ordered = [one.planned.ident for one in plan.proposed.passes]
    assert ordered == ["early", "middle", "late"]


def test_a_season_s_share_is_the_area_weighted_mean_of_its_passes() -> None:
    option = plan_of(three_passes()).options[0]
    areas = np.array([one.planned.area_m2 for one in option.passes])
    shares = np.array([one.held.lower_frac for one in option.passes])
    assert option.held.lower_frac == pytest.approx(float((areas * shares).sum() / areas.sum()))


def test_an_owned_set_is_taken_at_no_cost_where_it_does_as_well() -> None:
    bought = plan_of(three_passes()[:1]).proposed
    ident = bought.tip_sets[0].tip.ident
    assert bought.cost_cents == 72 * 600
    owned = plan_of(three_passes()[:1], owned=(OwnedSet(ident),)).proposed
    assert (owned.cost_cents, owned.tips_to_buy, owned.tip_sets[0].owned) == (0, 0, True)
    assert owned.held == bought.held


def test_too_few_owned_tips_are_no_set() -> None:
    ident = plan_of(three_passes()[:1]).proposed.tip_sets[0].tip.ident
    assert not plan_of(three_passes()[:1], owned=(OwnedSet(ident, count=60),)).proposed.tip_sets[0].owned


def test_a_budget_is_kept() -> None:
    season = Season(title="t", customer="c", sprayer=sprayer(), passes=three_passes(), budget_cents=72 * 600)
    plan = season_plan(season, CATALOGUE, evidence_for(season))
    assert all(option.cost_cents is not None and option.cost_cents <= 72 * 600 for option in plan.options)
    assert len(plan.proposed.tip_sets) == 1


def test_without_prices_the_cost_is_the_tips_to_buy() -> None:
    season = Season(title="t", customer="c", sprayer=sprayer(), passes=three_passes())
    unpriced = tuple(replace(one, price_cents=None) for one in CATALOGUE)
    plan = season_plan(season, unpriced, evidence_for(season))
    assert not plan.prices_known
    assert plan.proposed.cost_cents is None
    assert plan.proposed.tips_to_buy == 2 * 72


def test_a_pass_nothing_fits_stays_without_a_set_and_says_why() -> None:
    wishes = frozenset({DropletClass.UC})
    product = Product(name="label", classes=frozenset({DropletClass.F}))
    plan = plan_of((planned("odd", classes=wishes, products=(product,)), *three_passes()))
    odd = next(one for one in plan.proposed.passes if one.planned.ident == "odd")
    assert odd.trial is None
    assert odd.held.lower_frac == 0.0
    assert [conflict.thing.name for conflict in odd.limits.conflicts] == ["CLASSES"]
    assert sum(odd.refused.values()) == len(CATALOGUE)


def test_reasons_and_held_share_make_up_the_whole_area() -> None:
    for option in plan_of(three_passes()).options:
        for one in (each for each in option.passes if each.trial is not None):
            judgement = one.judgements[0]
            lost = sum(reason.share_frac for reason in judgement.lost)
            assert lost + judgement.held.lower_frac == pytest.approx(1.0, abs=2e-3)
            assert judgement.reading is Reading.SAME_SPEED


def test_a_rate_range_is_used_where_it_helps() -> None:
    narrow = planned("p", rate_m3pm2=150 * LITRE_PER_HECTARE, speeds=StatedSpeeds(20 * KMH, 25 * KMH, 30 * KMH))
    wide = replace(narrow, rate_low_m3pm2=90 * LITRE_PER_HECTARE, rate_high_m3pm2=200 * LITRE_PER_HECTARE)
    fixed, free = plan_of((narrow,)).proposed, plan_of((wide,)).proposed
    assert free.held.lower_frac >= fixed.held.lower_frac
    chosen = free.passes[0].rate_m3pm2
    assert 90 * LITRE_PER_HECTARE <= chosen <= 200 * LITRE_PER_HECTARE


@pytest.mark.parametrize(("slow", "usual", "fast"), [(3.0, 5.0, 6.0), (3.0, 3.0, 6.0), (3.0, 6.0, 6.0)])
def test_stated_speeds_are_the_triangle_of_the_textbook(slow: float, usual: float, fast: float) -> None:
    tally = evidence_of_stated(StatedSpeeds(slow, usual, fast), 36.0).speed
    oracle = stats.triang((usual - slow) / (fast - slow), loc=slow, scale=fast - slow)
    for share in (0.05, 0.25, 0.5, 0.75, 0.95):
        assert float(tally.percentiles([share])[0][0]) == pytest.approx(float(oracle.ppf(share)), rel=1e-3)


def test_one_stated_speed_is_that_speed() -> None:
    tally = evidence_of_stated(StatedSpeeds(4.0, 4.0, 4.0), 36.0).speed
    low, high = tally.percentiles([0.0, 1.0])
    assert low.tolist() == pytest.approx([4.0, 4.0])
    assert high.tolist() == pytest.approx([4.0, 4.0])


def test_a_kind_of_ground_counts_with_its_share_at_its_speed_and_without_one_not_at_all() -> None:
    hills, waterways = GroundSpeed("hills", 3.2, 0.15), GroundSpeed("waterways", 3.5)
    without = evidence_of_stated(StatedSpeeds(3.0, 5.0, 6.0), 36.0)
    silent = evidence_of_stated(StatedSpeeds(3.0, 5.0, 6.0, (waterways,)), 36.0)
    assert silent.speed.area_cm2.tolist() == without.speed.area_cm2.tolist()
    assert silent.speed.least.tolist() == without.speed.least.tolist()
    counted = evidence_of_stated(StatedSpeeds(3.0, 5.0, 6.0, (hills, waterways)), 36.0).speed
    triangle = stats.triang(2 / 3, loc=3.0, scale=3.0)
    for speed_mps, on_hills in ((3.1, 0.0), (3.3, 0.15), (4.0, 0.15), (5.5, 0.15)):
        share = 0.85 * float(triangle.cdf(speed_mps)) + on_hills
        least, greatest = counted.percentiles([share - 0.002, share + 0.002])
        assert float(least[0]) <= speed_mps * 1.001
        assert float(greatest[1]) >= speed_mps * 0.999
    only = evidence_of_stated(StatedSpeeds(3.0, 5.0, 6.0, (replace(hills, share_frac=1.0),)), 36.0).speed
    assert only.percentiles([0.01, 0.99])[0].tolist() == pytest.approx([3.2, 3.2], rel=1e-3)


def test_the_nearest_rate_does_and_no_nearer_one_on_a_fine_grid_does() -> None:
    plan = plan_of((planned("p", rate_m3pm2=190 * LITRE_PER_HECTARE, speeds=StatedSpeeds(2.5, 4.0, 5.5)),))
    table = plan.tables[0]
    checked = 0
    for number, change in enumerate(nearest_rates(table, range(len(table.trials)), 0.0)):
        if change is None or change.size == 0.0:
            continue
        judged = JudgedSets([table.trials[number]], table.evidence, 0.0)
        target = table.planned.rate_m3pm2
        assert float(judged.held_at(change.rate_m3pm2)[0][0]) >= GOAL_FRAC
        for ratio in np.exp(np.linspace(-change.size, change.size, 401)):
            if abs(log(ratio)) < change.size - 2e-3:
                assert float(judged.held_at(float(ratio) * target)[0][0]) < GOAL_FRAC
        checked += 1
    assert checked >= 2, "the case must exercise a change of rate"


def test_one_set_does_the_season_after_the_change_it_proposes() -> None:
    near = StatedSpeeds(11 * KMH, 13 * KMH, 15 * KMH)
    rates = {"a": 110, "b": 190}
    plan = plan_of(tuple(planned(k, rate_m3pm2=v * LITRE_PER_HECTARE, speeds=near) for k, v in rates.items()))
    report = plan_report(plan, {})
    by_rate = one_set_by_rate(plan.tables, 0.0)
    assert by_rate is not None
    assert by_rate.rates
    assert report.by_rate == by_rate
    for change in by_rate.rates:
        assert change.held_frac >= GOAL_FRAC
    by_speed = one_set_by_speed(plan.tables)
    assert by_speed is not None
    for moved in by_speed.speeds:
        assert moved.slow_to_mps >= moved.slow_mps - 1e-12 or moved.fast_to_mps < moved.slow_mps
        assert moved.slow_to_mps <= moved.fast_to_mps


def test_above_the_label_s_maximum_comes_with_its_speed_and_choices() -> None:
    product = Product(name="label", rate_m3pm2=2e-7, label_high_m3pm2=2.2e-7)
    one_pass = planned("p", products=(product,), speeds=StatedSpeeds(1.0, 4.0, 7.0))
    plan = plan_of((one_pass,))
    chosen = plan.proposed.passes[0]
    found = over_label(chosen, plan.tables[0], 0.0)
    assert found is not None
    window, judgement = chosen.window, chosen.judgements[0]
    assert window is not None
    assert window.over_label_mps is not None
    assert judgement.over_label is not None
    below = stats.triang(0.5, loc=1.0, scale=6.0).cdf(window.over_label_mps)
    assert judgement.over_label.upper_frac == pytest.approx(float(below), abs=2e-3)
    assert found.area_m2 == pytest.approx(below * one_pass.area_m2, rel=0.02)
    assert found.owner == "label"
    assert 0 < found.product_frac < 1
    # With that much product the label's maximum is passed by the one per cent slowest only.
    slowest = float(plan.tables[0].evidence.speed.percentiles([0.01])[0][0])
    assert window.floor_mps / slowest * found.product_frac == pytest.approx(2.2 / 2.0, rel=1e-6)


def test_shutting_off_below_a_speed_is_said_to_be_the_reason() -> None:
    control = replace(sprayer().control, off_below_mps=10 * KMH)
    one_pass = planned("p", speeds=StatedSpeeds(6 * KMH, 14 * KMH, 20 * KMH))
    judgement = plan_of((one_pass,), control=control).proposed.passes[0].judgements[0]
    assert judgement.lost[0].limit is Limit.SHUT_OFF
    share = stats.triang(8 / 14, loc=6, scale=14).cdf(10)
    assert judgement.lost[0].share_frac == pytest.approx(float(share), abs=2e-3)


def test_section_edges_run_from_the_left_end_to_the_right() -> None:
    edges = section_edges_m(sprayer().boom)
    assert edges.tolist() == [-18.0, -12.0, -6.0, 0.0, 6.0, 12.0, 18.0]


def one_worn(loop: Loop, wear: float, *, label_high_m3pm2: float | None = None) -> SeasonPlan:
    """One pass with one owned, worn set on a machine with a control loop."""
    only = tip("05", Family.FLAT_FAN)
    named = (Product(name="label", rate_m3pm2=2e-7, label_high_m3pm2=label_high_m3pm2),)
    one_pass = planned("p", speeds=StatedSpeeds(12 * KMH, 15 * KMH, 18 * KMH), products=named)
    machine = sprayer(control=Control(loop=loop), owned=(OwnedSet(only.ident, wear),), pump=None)
    season = Season(title="t", customer="c", sprayer=machine, passes=(one_pass,), generic=False)
    return season_plan(season, (only,), evidence_for(season))


def test_wear_costs_acres_where_pressure_decides_and_none_where_flow_is_metered() -> None:
    assert one_worn(Loop.METER, 1.12).proposed.held.lower_frac > 0.95
    off = one_worn(Loop.PRESSURE, 1.12)
    assert off.proposed.held.lower_frac == 0.0
    assert off.tables[0].trials[0].setup.gain_ratio == pytest.approx(1.12)
    assert one_worn(Loop.PRESSURE, 1.04).proposed.held.lower_frac > 0.95


@pytest.mark.parametrize(("label_high", "over"), [(2.06e-7, 1.0), (2.09e-7, 0.0)])
def test_wear_where_pressure_decides_counts_against_the_label_s_maximum(label_high: float, over: float) -> None:
    """4 % worn: with 3 % of room everything is above the label and nothing counts as held; with 4.5 % all is well."""
    plan = one_worn(Loop.PRESSURE, 1.04, label_high_m3pm2=label_high)
    table = plan.tables[0]
    found = judge(
        table.trials[0],
        table.evidence,
        rate_m3pm2=table.planned.rate_m3pm2,
        reading=Reading.SAME_SPEED,
        off_below_mps=0.0,
    )
    assert found.over_label is not None
    assert found.over_label.upper_frac == pytest.approx(over, abs=0.01)
    assert found.held.lower_frac == pytest.approx(1.0 - over, abs=0.05)
    if over:
        assert [lost.limit for lost in found.lost] == [Limit.RATE_OFF]


def test_a_machine_without_feedback_is_judged_around_the_usual_speed_of_its_log_too() -> None:
    only = tip("05", Family.FLAT_FAN)
    one_pass = planned("p", speeds=StatedSpeeds(8 * KMH, 14 * KMH, 20 * KMH))
    machine = sprayer(control=Control(loop=Loop.FIXED), pump=None)
    season = Season(title="t", customer="c", sprayer=machine, passes=(one_pass,))
    from_log = replace(evidence_for(season)["p"], kind=EvidenceKind.LOG)
    unspoken = replace(season, passes=(replace(one_pass, speeds=None),))
    plan = season_plan(unspoken, (only,), {"p": from_log})
    share = stats.triang(0.5, loc=8, scale=12)
    expected = share.cdf(14 / 0.95) - share.cdf(14 / 1.05)
    assert plan.proposed.held.lower_frac == pytest.approx(float(expected), abs=2e-3)


def test_a_label_s_least_carrier_leaves_no_room_below_it() -> None:
    speeds = StatedSpeeds(9 * KMH, 12 * KMH, 16 * KMH)
    free = planned("p", speeds=speeds)
    bound = planned("p", speeds=speeds, products=(Product(name="l", carrier_low_m3pm2=150 * LITRE_PER_HECTARE),))
    only = (tip("04", Family.FLAT_FAN),)
    control = Control(loop=Loop.METER, cab_high_pa=3e5)

    def held(one_pass: Pass) -> float:
        season = Season(title="t", customer="c", sprayer=sprayer(control=control, pump=None), passes=(one_pass,))
        return season_plan(season, only, evidence_for(season)).proposed.held.lower_frac

    assert held(bound) < held(free)


def test_an_odd_tip_off_the_label_s_list_bars_the_pass_unless_it_is_taken_off() -> None:
    names = (PermittedTip("05-flat_fan"),)
    one_pass = planned("p", products=(Product(name="label", permitted_tips=names),))
    ends = OddPositions(PositionKind.BOOM_END, (1, 72), "08-flat_fan")
    boom = Boom(spacing_m=0.5, section_tips=(36, 36), exceptions=(ends,))
    season = Season(title="t", customer="c", sprayer=sprayer(boom=boom), passes=(one_pass,))
    barred = season_plan(season, CATALOGUE, evidence_for(season)).proposed.passes[0]
    assert barred.trial is None
    assert Refusal.ODD_NOT_PERMITTED in barred.refused
    taken_off = replace(season, passes=(replace(one_pass, odd_positions=False),))
    chosen = season_plan(taken_off, CATALOGUE, evidence_for(taken_off)).proposed.passes[0]
    assert chosen.trial is not None
    assert chosen.trial.tip_set.odd == ()


def test_a_budget_bars_tips_without_a_price_and_says_what_it_costs() -> None:
    mixed = (*CATALOGUE[:2], *(replace(one, price_cents=None) for one in CATALOGUE[2:]))
    season = Season(title="t", customer="c", sprayer=sprayer(), passes=three_passes(), budget_cents=72 * 600)
    plan = season_plan(season, mixed, evidence_for(season))
    assert all(tip_set.cost_cents is not None for option in plan.options for tip_set in option.tip_sets)
    assert plan.without_budget is not None
    assert plan.without_budget.lower_frac > plan.proposed.held.lower_frac


def test_an_unknown_price_is_never_an_advantage() -> None:
    """Two alike, one with a price: the priced one is taken."""
    priced, unpriced = tip("05", Family.FLAT_FAN), tip("05", Family.FLAT_FAN, price_cents=None, ident="same")
    season = Season(title="t", customer="c", sprayer=sprayer(), passes=(planned("p"),))
    plan = season_plan(season, (unpriced, tip("03", Family.FLAT_FAN, price_cents=900), priced), evidence_for(season))
    assert plan.proposed.tip_sets[0].tip.ident == priced.ident


def test_what_the_customer_wants_fitted_is_all_that_is_tried() -> None:
    wish = planned("p", fit_families=frozenset({Family.AIR_INDUCTION}))
    plan = plan_of((wish,))
    assert all(one.tip.family is Family.AIR_INDUCTION for one in plan.proposed.tip_sets)
    assert plan.tables[0].refused[0] is Refusal.NOT_WISHED


def test_only_the_shop_s_own_rows_if_generic_tips_are_not_wanted() -> None:
    own = replace(tip("02", Family.FLAT_FAN, ident="own"), generic=False)
    season = Season(title="t", customer="c", sprayer=sprayer(), passes=three_passes(), generic=False)
    plan = season_plan(season, (*CATALOGUE, own), evidence_for(season))
    assert {one.tip.ident for one in plan.proposed.tip_sets} == {"own"}


def test_an_owned_set_too_small_is_named() -> None:
    small = OwnedSet("05-flat_fan", count=60)
    season = Season(title="t", customer="c", sprayer=sprayer(owned=(small,)), passes=three_passes())
    assert season_plan(season, CATALOGUE, evidence_for(season)).owned_left_out == (small,)


def test_a_pass_nothing_fits_counts_what_stands_in_the_way() -> None:
    plan = plan_of((planned("p", classes=frozenset({DropletClass.VF})), *three_passes()))
    nothing = next(one for one in plan.proposed.passes if one.planned.ident == "p")
    assert nothing.trial is None
    assert nothing.held_nothing[Limit.CLASS_COARSE] > 0
    assert sum(nothing.held_nothing.values()) + sum(nothing.refused.values()) == len(CATALOGUE)
