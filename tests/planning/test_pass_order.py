"""What calls for a clean-out between two passes, what stays in the machine, and what an order has to keep to."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from tests.season_cases import evidence_for, planned, random_season

from wetrun.errors import NotDefined, NotProven
from wetrun.planning import order_search
from wetrun.planning.changeovers_needed import Need, changeovers_of_order, most_changeovers
from wetrun.planning.crop_names import CropMatch, crop_match
from wetrun.planning.order_limits import StartDays, places_before, written_order
from wetrun.planning.order_search import OrderProblem, best_order
from wetrun.planning.pass_order import Outlook, pass_order
from wetrun.planning.passes import Product
from wetrun.planning.residue import Reason, residues_on, same_mix
from wetrun.planning.season import season_plan
from wetrun.planning.season_result import changes_in_order
from wetrun.spray.carrier import fertiliser

UAN = fertiliser("UAN 32", 288.7)


def of(ident, crop, *products, first=1, last=30, **changes):
    """A pass in May 2031 with its products."""
    days = {"first_day": date(2031, 5, first), "last_day": date(2031, 5, last)}
    return planned(ident, crop=crop, products=products, **days, **changes)


def reasons(earlier, later):
    return [residue.reason for residue in residues_on(earlier, later)]


grass_killer = Product(name="Grass killer", risky_on=("corn",), risky_words="Clean before corn.", tolerated_frac=1e-4)
harmless = Product(name="Harmless", risky_on=())
unread = Product(name="Unread")
beans, corn = of("beans", "soybeans", grass_killer), of("corn", "Corn", harmless)


# ------------------------------------------------------------------------------------------------- from one to the next


@pytest.mark.parametrize(
    ("one", "other", "match"),
    [
        ("soybeans", "Soybean", CropMatch.SAME),
        ("sugar beets", "Sugar-beet", CropMatch.SAME),
        ("oats", "oat", CropMatch.SAME),
        ("soya beans", "soybeans", CropMatch.DOUBTFUL),
        ("corn", "sweet corn", CropMatch.DOUBTFUL),
        ("tolerant soybeans", "soybeans", CropMatch.DOUBTFUL),
        ("tolerant soybeans", "conventional soybeans", CropMatch.OTHER),
        ("wheat", "buckwheat", CropMatch.OTHER),
        ("grass", "grasses", CropMatch.DOUBTFUL),
        ("corn", "cotton", CropMatch.OTHER),
    ],
)
def test_names_of_crops(one, other, match):
    assert crop_match(one, other) is crop_match(other, one) is match


def test_a_product_that_is_risky_on_the_crop_calls_for_a_clean_out_with_its_words():
    (residue,) = residues_on(beans, corn)
    assert (residue.name, residue.left_by, residue.reason) == ("Grass killer", "beans", Reason.CROP)
    assert (residue.words, residue.tolerated_frac, residue.passes_back) == ("Clean before corn.", 1e-4, 1)
    assert reasons(corn, beans) == []


def test_what_nobody_typed_is_a_doubt_and_an_empty_list_is_not():
    assert reasons(of("a", "wheat", unread), corn) == [Reason.NOT_TYPED]
    assert reasons(of("a", "wheat", harmless), corn) == []
    assert reasons(of("a", "wheat"), corn) == [Reason.NO_PRODUCT]
    assert reasons(of("a", "wheat", carrier=UAN), corn) == [], "fertiliser alone is no product nobody named"


def test_a_crop_spelt_differently_is_a_doubt_never_a_clearance():
    assert reasons(of("a", "wheat", Product(name="P", risky_on=("soyabeans",))), of("b", "soybeans")) == [
        Reason.SPELLING
    ]
    both = Product(name="P", risky_on=("sweet corn", "corn"))
    assert reasons(of("a", "wheat", both), corn) == [Reason.CROP]


def test_a_repeat_load_of_the_same_mix_needs_nothing_whatever_its_label_says():
    always = Product(name="Always", clean_after=True)
    again = of("corn again", "corn", replace(always, name="ALWAYS"))
    assert same_mix(of("a", "corn", always), again)
    assert reasons(of("a", "corn", always), again) == []
    assert reasons(of("a", "corn", always), of("b", "corn", always, harmless)) == [Reason.ALWAYS]
    assert reasons(of("a", "corn", always), of("b", "corn", always, carrier=UAN)) == [Reason.ALWAYS]
    assert not same_mix(of("a", "corn"), of("b", "corn")), "two tanks nobody named may hold anything"


def test_a_product_of_the_later_tank_too_is_no_residue_in_it():
    assert reasons(beans, of("b", "corn", grass_killer, unread)) == []


def test_a_carrier_that_a_label_rules_out_has_to_come_out():
    picky = of("b", "soybeans", replace(harmless, forbidden_carriers=("uan 32",)))
    nitrogen = of("n", "corn", carrier=UAN)
    (residue,) = residues_on(nitrogen, picky)
    assert (residue.name, residue.reason, residue.meant) == ("UAN 32", Reason.CARRIER, "Harmless")
    assert residues_on(nitrogen, replace(picky, carrier=UAN)) == (), "that tank is refused elsewhere"
    between = of("between", "wheat", harmless)
    needs = [change.need for change in changeovers_of_order([nitrogen, between, replace(picky, ident="c")])]
    assert needs == [Need.NOT_NEEDED, Need.NOT_NEEDED], "another pass since has put water in its place"


# ---------------------------------------------------------------------------------------------------- along an order


def test_what_is_risky_two_passes_on_is_not_forgotten():
    between = of("between", "wheat", harmless)
    first, second = changeovers_of_order([beans, between, corn])
    assert first.need is Need.NOT_NEEDED
    assert second.need is Need.NEEDED
    assert [(r.name, r.left_by, r.passes_back) for r in second.sure] == [("Grass killer", "beans", 2)]
    assert second.inside == ("Harmless", "Grass killer")


def test_a_clean_out_that_was_needed_takes_everything_with_it():
    wheat_risk = of("w", "soybeans", Product(name="W", risky_on=("wheat",)))
    changes = changeovers_of_order([beans, wheat_risk, of("c", "corn", harmless), of("d", "wheat", harmless)])
    assert [change.need for change in changes] == [Need.NOT_NEEDED, Need.NEEDED, Need.NOT_NEEDED]
    assert changes[1].inside == ("W", "Grass killer")


def test_in_doubt_nothing_is_counted_as_cleaned():
    doubtful = of("u", "soybeans", unread)
    changes = changeovers_of_order([beans, doubtful, of("v", "wheat", harmless), corn])
    assert [change.need for change in changes] == [Need.NOT_NEEDED, Need.UNKNOWN, Need.NEEDED]
    assert {residue.name for residue in changes[2].residues} == {"Grass killer", "Unread"}
    assert most_changeovers([beans, doubtful, of("v", "wheat", harmless), corn]) == 1
    assert most_changeovers([doubtful, corn, doubtful]) == 1


def test_each_product_is_told_once_as_it_was_left_last():
    (*_, last) = changeovers_of_order([beans, replace(beans, ident="again"), corn])
    assert [(r.left_by, r.passes_back) for r in last.residues] == [("again", 1)]
    assert changeovers_of_order([beans]) == ()


# ------------------------------------------------------------------------------------------------------ what binds it


def test_the_plan_goes_by_first_day_and_by_what_comes_after():
    a, b, c = of("a", "corn", first=3), of("b", "wheat", first=2), of("c", "oats", first=1, after=("A",))
    assert [one.ident for one in written_order([a, b, c])] == ["b", "a", "c"]
    assert [one.ident for one in written_order([b, c])] == ["c", "b"], "a season looked at in part"
    with pytest.raises(NotDefined, match="comes after another of them: a, c"):
        written_order([replace(a, after=("c",)), b, c])


def test_passes_on_one_crop_keep_their_order_and_so_do_names_that_may_mean_one():
    order = [of("a", "corn"), of("b", "wheat"), of("c", "sweet corn"), of("d", "wheat", after=("a",))]
    assert places_before(order) == (0, 0, 0b0001, 0b0011)


def test_a_season_in_which_the_exchange_saves_one():
    nitrogen = of("nitrogen", "corn", first=1, last=10, work_days=2, carrier=UAN)
    post = of("post", "soybeans", replace(grass_killer, forbidden_carriers=("UAN 32",)), first=5, last=25, work_days=3)
    late = of("late", "corn", harmless, first=26, last=30)
    found = pass_order([late, nitrogen, post])
    assert [one.ident for one in found.written.passes] == ["nitrogen", "post", "late"]
    assert (found.written.needed, found.outlook) == (2, Outlook.BETTER)
    assert found.better is not None
    assert [one.ident for one in found.better.passes] == ["post", "nitrogen", "late"]
    assert (found.better.needed, found.exchanged) == (1, (("post", "nitrogen"),))
    assert found.better.starts == (date(2031, 5, 5), date(2031, 5, 8), date(2031, 5, 26))
    slower = pass_order([late, nitrogen, replace(post, work_days=5)])
    assert (slower.better, slower.outlook) == (None, Outlook.WRITTEN_IS_BEST), "nitrogen would end on the 11th"
    bound = pass_order([late, nitrogen, replace(post, after=("nitrogen",))])
    assert bound.outlook is Outlook.WRITTEN_IS_BEST


def test_a_labels_last_day_counts_and_an_order_that_cannot_be_kept_is_said():
    early = of("early", "corn", replace(harmless, first_day=date(2031, 5, 20)), first=1, last=30)
    brief = of("brief", "wheat", harmless, first=5, last=10)
    found = pass_order([early, brief])
    assert (found.outlook, found.written.late) == (Outlook.ONLY_THIS_FITS, brief)
    assert found.better is not None
    assert [one.ident for one in found.better.passes] == ["brief", "early"]
    nothing = pass_order([early, replace(brief, after=("early",))])
    assert (nothing.outlook, nothing.better) == (Outlook.NOTHING_FITS, None)


def test_dates_of_labels_that_leave_nothing_fall_back_to_the_customers():
    crossed = of("a", "corn", replace(harmless, first_day=date(2031, 6, 20)), first=1, last=30)
    assert pass_order([crossed, of("b", "wheat", harmless)]).written.starts == (date(2031, 5, 1), date(2031, 5, 1))


def test_without_a_word_about_any_product_nothing_is_judged():
    found = pass_order([of("a", "corn", unread), of("b", "wheat", unread)])
    assert (found.outlook, found.better) == (Outlook.NOTHING_TYPED, None)


def test_a_search_that_is_cut_short_names_no_best_order(monkeypatch):
    monkeypatch.setattr(order_search, "MOST_PART_ORDERS", 20)
    passes = [
        of(f"p{n}", f"crop{'abcdefg'[n]}", replace(grass_killer, name=f"g{n}", risky_on=("cropa",))) for n in range(6)
    ]
    passes = [replace(passes[0], first_day=date(2031, 5, 2)), *passes[1:]]
    assert pass_order(passes).outlook is Outlook.NOT_SEARCHED
    free = (StartDays(1, 300, 0),) * 6
    with pytest.raises(NotProven, match="6 passes"):
        best_order(OrderProblem(risky=(0b111110,) * 6, risky_next=(0,) * 6, before=(0,) * 6, windows=free))


def test_fourteen_passes_on_four_crops_free_to_move_are_solved():
    risky = tuple(0b0011_0011_0011_00 if place % 4 == 2 else 0b0100_0100_0100_01 & ~(1 << place) for place in range(14))
    before = tuple(sum(1 << early for early in range(place) if early % 4 == place % 4) for place in range(14))
    found = best_order(
        OrderProblem(risky=risky, risky_next=(0,) * 14, before=before, windows=(StartDays(1, 200, 3),) * 14)
    )
    assert found is not None
    inside = cleaned = 0
    for place in found.places:
        if inside >> place & 1:
            cleaned, inside = cleaned + 1, 0
        inside |= risky[place]
    assert cleaned == found.clean_outs > 0
    assert sorted(found.places) == list(range(14))


# -------------------------------------------------------------------------------------------------- beside the tip plan


@pytest.mark.parametrize("seed", range(12))
def test_set_changes_of_the_planned_order_are_the_plans_own(seed):
    season, tips = random_season(np.random.default_rng(seed))
    plan = season_plan(season, tips, evidence_for(season))
    for option in plan.options:
        idents = [one.planned.ident for one in option.passes]
        assert idents == [one.ident for one in written_order(season.passes)]
        assert changes_in_order(option, idents) == option.changes
