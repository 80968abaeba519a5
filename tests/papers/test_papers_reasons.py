"""Why a pass is planned as it is, and what it costs: every sentence says the count, the limit or the amount."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.paper_reading import pass_named

from wetrun.machine.tip import OwnedSet
from wetrun.papers.answer import aside_words, cost_words, pass_what_if_words, speeds_words
from wetrun.papers.card_data import card_data
from wetrun.papers.extras import Extras
from wetrun.papers.over_words import over_label_words
from wetrun.papers.pass_data import end_words, pass_data
from wetrun.papers.pass_reasons import nothing_words, odd_words, rate_words
from wetrun.papers.reader import Reader
from wetrun.planning.evidence import EvidenceKind
from wetrun.planning.judging import Share
from wetrun.planning.over_label import OverLabel
from wetrun.planning.passes import GroundSpeed
from wetrun.planning.tip_set import Refusal
from wetrun.planning.whatif import RateChange
from wetrun.quantity import Kind, System, read
from wetrun.spray.droplets import DropletClass, Family
from wetrun.spray.limits import Limit

US = Reader(System.US)


def si(text, kind):
    return read(text, kind).si_value


@pytest.fixture
def herbicide(report):
    return pass_named(report, "Post herbicide")


def test_another_rate_than_the_target_says_the_target_and_why(herbicide):
    low, target, high = (si(f"{rate} gal/ac", Kind.RATE) for rate in (15, 18, 20))
    planned = replace(herbicide.planned, rate_m3pm2=target)
    limits = replace(herbicide.limits, rate_low_m3pm2=low, rate_high_m3pm2=high)
    moved = replace(herbicide, planned=planned, limits=limits, rate_m3pm2=si("16.7 gal/ac", Kind.RATE), rate_moved=True)
    assert rate_words(moved, US) == (
        "Your target is 18.0 gal/ac; 16.7 gal/ac because it holds more of the pass, "
        "inside the 15.0 gal/ac to 20.0 gal/ac that labels and customer accept."
    )
    ruled_out = replace(moved, limits=replace(limits, rate_high_m3pm2=si("17 gal/ac", Kind.RATE)))
    assert "because labels and customer together accept 15.0 gal/ac to 17.0 gal/ac" in rate_words(ruled_out, US)
    assert rate_words(herbicide, US) == ""


def test_a_rate_beside_the_target_stands_on_the_card_too(report, herbicide):
    planned = replace(herbicide.planned, rate_m3pm2=si("16 gal/ac", Kind.RATE))
    moved = replace(herbicide, planned=planned, rate_moved=True)
    extras = Extras(typed={"pass[1].rate.target": "16 gal/ac"})
    card = card_data(moved, report, US, extras)
    assert card is not None
    row = next(row for row in card["monitor"] if row["name"] == "Target rate")
    assert row["value"] == "15.0 gal/ac"
    assert row["note"].startswith("Your target is 16.0 gal/ac; 15.0 gal/ac because")


def test_a_pass_without_a_set_is_told_by_counts(herbicide):
    only_vf = replace(herbicide.limits, classes=frozenset({DropletClass.VF}))
    none = replace(
        herbicide,
        limits=only_vf,
        refused={Refusal.NOT_WISHED: 1, Refusal.NO_CLASS: 13},
        held_nothing={Limit.CLASS_FINE: 2, Limit.CLASS_COARSE: 71},
    )
    told = list(nothing_words(none))
    assert told[0].startswith("13 sets are streamers")
    assert told[1] == "1 set is not among the tips asked for."
    assert told[2] == "No other tip in the catalogue makes VF within its pressure range."
    assert told[3:] == [
        "71 sets are left with no speed of the field: droplets too coarse.",
        "2 sets are left with no speed of the field: droplets too fine.",
    ]
    mixed = replace(none, held_nothing={Limit.CLASS_COARSE: 71, Limit.PUMP: 1})
    assert not any("No other tip" in words for words in nothing_words(mixed))


def test_a_planned_pass_that_nothing_suits_names_every_set_of_the_catalogue(season, make_pass, make_report):
    planned = make_pass("Impossible", products=(), classes=frozenset({DropletClass.XF}))
    (one,) = make_report(replace(season, passes=(planned,))).plan.proposed.passes
    assert one.trial is None
    told = list(nothing_words(one))
    assert any("makes XF within its pressure range" in words for words in told)
    assert all(words[0].isdigit() or words.startswith("No other tip") for words in told)


def test_odd_positions_say_what_they_carry_in_this_pass(season, make_pass):
    (as_always,) = odd_words(make_pass("x", odd_positions=True), season.sprayer)
    (the_set,) = odd_words(make_pass("x", odd_positions=False), season.sprayer)
    assert as_always == "Positions 1, 72 (boom end): iso-8004-ff, whatever the set"
    assert the_set == "Positions 1, 72 (boom end): the set's own tip in this pass, not iso-8004-ff"


def test_money_says_what_it_is_for(report):
    option = report.plan.proposed
    one = replace(option.tip_sets[0], owned=False, needed=70)
    priced = replace(one, cost_cents=65_800)
    cases = {
        (priced,): "658.00",
        (priced, replace(one, cost_cents=None)): "658.00, 70 tips without a known price",
        (replace(one, cost_cents=None),): "70 tips without a known price",
        (replace(one, owned=True, cost_cents=0, needed=0),): "0.00",
    }
    assert {sets: cost_words(replace(option, tip_sets=sets)) for sets in cases} == cases


def test_a_budget_that_costs_acres_and_an_owned_set_too_small_are_said(report):
    plan = report.plan
    assert aside_words(plan) == []
    held = Share(plan.proposed.held.lower_frac + 0.2, 1.0)
    short = replace(
        plan,
        season=replace(plan.season, budget_cents=50_000),
        without_budget=held,
        owned_left_out=(OwnedSet("iso-11005-ff", 1.0, 60),),
    )
    left_out, budget, unpriced = aside_words(short)
    assert left_out == "Left out: 60 of iso-11005-ff are fewer than the 72 tips a set needs here."
    assert budget.startswith("Without the budget of 500.00 84 %")
    assert "without a known price" in unpriced
    assert len(aside_words(replace(short, without_budget=plan.proposed.held))) == 2


def test_driven_is_said_of_logs_only(report, herbicide):
    stated = herbicide.evidence
    assert speeds_words(stated, US) == "stated 7.0 to 15.0 mph"
    assert speeds_words(replace(stated, kind=EvidenceKind.LOG, names=("a.csv",)), US).startswith("driven 7.0")
    data = pass_data(herbicide, report.notes["Post herbicide"], report.plan.season.sprayer, US)
    assert "driven" not in str(data["readings"]) + str(data["what_ifs"])
    ladder = [(row["name"], row["speed"]) for row in data["ladder"]]
    assert ladder == [("slow", "7.0"), ("usual", "12.0"), ("fast", "15.0")]


def test_ground_with_a_speed_of_its_own_stands_on_the_ladder_after_the_three(report, herbicide):
    hills = GroundSpeed("hills", si("8 mph", Kind.SPEED))
    planned = replace(herbicide.planned, speeds=replace(herbicide.planned.speeds, grounds=(hills,)))
    note, sprayer = report.notes["Post herbicide"], report.plan.season.sprayer
    ladder = pass_data(replace(herbicide, planned=planned), note, sprayer, US)["ladder"]
    assert [row["name"] for row in ladder] == ["slow", "usual", "fast", "hills"]
    assert ladder[3]["speed"] == "8.0"
    assert ladder[3]["cab"] < ladder[1]["cab"], "slower, and so at less pressure"


def test_a_what_if_that_gains_nothing_is_not_worth_a_line(report, herbicide):
    rate = RateChange(planned=herbicide.planned, rate_m3pm2=si("15.1 gal/ac", Kind.RATE), held_frac=0.0)
    notes = report.notes["Post herbicide"]
    gains = {
        gain: len(pass_what_if_words(
            herbicide,
            replace(notes, speed_change=None, rate_change=replace(rate, held_frac=herbicide.held.lower_frac + gain)),
            US,
        ))
        for gain in (0.002, 0.05)
    }  # fmt: skip
    assert gains == {0.002: 0, 0.05: 1}


def test_shutting_off_is_advised_for_the_labels_maximum_only(report, herbicide):
    assert not any("shut off" in words for words in end_words(herbicide.window, US))
    card = card_data(herbicide, report, US, Extras())
    assert card is not None
    assert [words[0] for words in card["floor"] if "shut off" in words] == ["L"]


def test_choices_are_offered_for_more_than_a_trifle(report, herbicide):
    found = OverLabel(
        owner="Fieldclear 4",
        below_mps=3.0,
        area_m2=0.002 * herbicide.planned.area_m2,
        unsprayed_m2=1.0,
        other_set=None,
        other_held_frac=0.0,
        product_frac=1.0,
    )
    notes = replace(report.notes["Post herbicide"], over_label=found)
    small = list(over_label_words(herbicide, herbicide.window, US, notes))
    large_notes = replace(notes, over_label=replace(found, area_m2=0.2 * herbicide.planned.area_m2))
    large = list(over_label_words(herbicide, herbicide.window, US, large_notes))
    assert not any("Choices" in words for words in small)
    assert any("Choices" in words for words in large)


def test_a_rate_that_is_off_at_every_speed_is_said(herbicide):
    off = replace(herbicide.window, gain_ratio=1.06)
    assert any("106 % of the target goes on at every speed" in words for words in end_words(off, US))
    assert not any("goes on at every speed" in words for words in end_words(herbicide.window, US))


def test_families_asked_for_leave_the_others_out(season, make_pass, make_report):
    planned = make_pass("Fans only", fit_families=frozenset({Family.AIR_INDUCTION}))
    (one,) = make_report(replace(season, passes=(planned,))).plan.proposed.passes
    assert one.trial.tip_set.tip.family is Family.AIR_INDUCTION
    assert one.refused[Refusal.NOT_WISHED] > 20
