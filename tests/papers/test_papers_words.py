"""Every limit, refusal, thing and place has words; numbers are shown as the trade reads them."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest

from wetrun.papers.answer import answer_words, lost_words, part_rows, trade_off_rows
from wetrun.papers.card_data import tip_pressures
from wetrun.papers.label_words import class_words, label_rows
from wetrun.papers.ladder import named_rows, round_speeds, window_rows
from wetrun.papers.reader import Reader, bracket, day, listed, money, percent
from wetrun.papers.words import long_words, place_words, refusal_words, short_words, thing_words, what_to_do
from wetrun.planning.judging import Share
from wetrun.planning.label_limits import LimitThing
from wetrun.planning.passes import PermittedTip, Product
from wetrun.planning.tip_set import Refusal
from wetrun.quantity import Kind, System, read
from wetrun.spray.droplets import DropletClass
from wetrun.spray.feedback import DensityPlace
from wetrun.spray.limits import Limit, Side


@pytest.mark.parametrize(
    ("words", "things"),
    [
        (short_words, Limit),
        (long_words, Limit),
        (what_to_do, Side),
        (thing_words, LimitThing),
        (refusal_words, Refusal),
        (place_words, DensityPlace),
    ],
)
def test_nothing_a_plan_can_say_is_without_words_of_its_own(words, things):
    found = [words(thing) for thing in things]
    assert all(found)
    assert len(set(found)) == len(list(things))


def test_captions_of_both_ends_fit_side_by_side():
    # 66 letters of 9 units at the width `cut` reckons with: half of the picture.
    longest = max(len(short_words(limit)) for limit in Limit)
    assert len("Too slow below 88.8 km/h: ") + longest <= 68


def test_areas_part_thousands_and_small_ones_keep_a_decimal():
    us, si = Reader(System.US), Reader(System.SI)
    assert us.area(read("5240 ac", Kind.AREA).si_value) == "5,240 ac"
    assert us.area(read("4.24 ac", Kind.AREA).si_value) == "4.2 ac"
    assert si.area(read("2120 ha", Kind.AREA).si_value) == "2\u00a0120 ha"


def test_what_is_shown_can_be_read_back():
    for system in System:
        reader = Reader(system)
        for kind, shown in ((Kind.SPEED, 12.5), (Kind.PRESSURE, 40.0), (Kind.RATE, 150.0)):
            text = reader.text(reader.inside(shown, kind), kind)
            assert read(text, kind).si_value == pytest.approx(reader.inside(shown, kind), rel=0.01)


def test_a_share_is_never_rounded_into_a_promise():
    assert percent(0.9999) == "over 99 %"
    assert percent(1e-6) == "under 1 %"
    assert (percent(0.0), percent(1.0)) == ("0 %", "100 %")
    assert bracket(Share(0.9, 0.91)) == "90.0–91.0 %"


def test_small_words():
    assert money(None) == "price not known"
    assert money(123450) == "1,234.50"
    assert day(date(2027, 10, 5)) == "5 Oct 2027"
    assert listed([]) == ""
    assert Reader(System.US).text(math.inf, Kind.SPEED) == "no upper limit"


def test_classes_are_worded_as_a_label_does():
    ordered = list(DropletClass)
    assert class_words(frozenset(ordered[4:])) == "C or coarser"
    assert class_words(frozenset(ordered[:4])) == "M or finer"
    assert class_words(frozenset({DropletClass.M})) == "M"


def test_the_answer_adds_up_with_what_is_lost(report):
    reader, option = Reader(System.US), report.plan.proposed
    assert answer_words(report.plan, reader) == "Two tip sets hold 64 % of your 3,600 ac."
    held = sum(one.held.lower_frac * one.planned.area_m2 for one in option.passes)
    lost = sum(one.planned.area_m2 for one in option.passes) - held
    assert lost_words(option, reader).startswith(f"Not held: {reader.area(lost)}, most of it for no set possible")


def test_the_trade_off_marks_the_proposal_and_parts_leave_out_what_is_owned(report):
    rows = trade_off_rows(report.plan, Reader(System.US))
    assert [row["proposed"] for row in rows].count(True) == 1
    parts = part_rows(report.plan.proposed)
    assert sum(int(row["count"]) for row in parts) == report.plan.proposed.tips_to_buy


def test_label_limits_stand_product_by_product(report):
    late = next(one for one in report.plan.proposed.passes if one.planned.ident == "Late cover")
    rows = {
        (row["product"], row["thing"]): row["limit"] for row in label_rows(late.planned.products, Reader(System.US))
    }
    assert rows["Canopy Guard", "carrier"] == "at least 20.0 gal/ac"
    assert rows["Fieldclear 4", "tips"] == "iso-11004-ai up to 60 psi"


def test_the_ladder_agrees_with_the_window(report):
    reader = Reader(System.US)
    for one in report.plan.proposed.passes:
        if one.trial is None:
            continue
        rows = window_rows(one, one.trial, one.window, reader)
        for row in [*rows, *named_rows(one, one.trial, one.window, reader)]:
            speed_mps = reader.inside(float(row["speed"]), Kind.SPEED)
            # A row is judged at the speed it prints, so not a hair on either side of an end is left open.
            assert (row["state"] == "held") is (one.window.low_mps <= speed_mps <= one.window.high_mps)
            if row["state"] == "held":
                assert float(row["rate"]) == pytest.approx(reader.number(one.rate_m3pm2, Kind.RATE), abs=0.051)
            elif speed_mps < one.window.near_low_mps:
                assert row["state"] == "too slow"
        pressures = [float(row["cab"]) for row in rows]
        assert pressures == sorted(pressures)
        assert all(float(row["tip"]) < float(row["cab"]) for row in rows)


@pytest.mark.parametrize(("low", "high"), [(8.4, 15.1), (0.2, 40.0), (10.0, 10.0), (7.9, 8.1)])
def test_rungs_are_round_few_and_reach_over_both_ends(low, high):
    rungs = round_speeds(low, high, (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 10.0))
    assert 1 <= len(rungs) <= 7
    assert rungs == sorted(rungs)
    assert rungs[-1] >= high
    assert rungs[0] <= max(low, 10.0)


def test_the_card_gives_the_labels_pressure_for_a_tip_where_it_is_the_lower(report, make_pass, season, make_report):
    reader = Reader(System.US)
    one = make_pass("Named tips")
    high_pa = read("47 psi", Kind.PRESSURE).si_value
    product = replace(one.products[0], permitted_tips=(PermittedTip("iso-11006-ai", high_pa),))
    named = make_report(replace(season, passes=(replace(one, products=(product,)),)))
    (planned,) = named.plan.proposed.passes
    assert tip_pressures(planned.trial, reader)[0] == "30 psi to 47 psi"
    assert "label's" in tip_pressures(planned.trial, reader)[1]
    herbicide = next(each for each in report.plan.proposed.passes if each.planned.ident == "Post herbicide")
    assert "label" not in tip_pressures(herbicide.trial, reader)[1]


def test_label_dates_are_words_a_person_would_use():
    first, last = date(2027, 5, 1), date(2027, 6, 30)
    said = [
        label_rows((Product(name="X", first_day=begin, last_day=end),), Reader(System.SI))
        for begin, end in ((first, last), (None, last), (first, None), (None, None))
    ]
    limits = [row["limit"] for rows in said for row in rows]
    assert limits == ["1 May 2027 to 30 Jun 2027", "until 30 Jun 2027", "from 1 May 2027"]
