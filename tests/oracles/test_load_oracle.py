"""Loads against a machine driven drop by drop: tank, lines and field kept apart, refilled when it runs dry."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetrun.machine.boom import Boom
from wetrun.machine.fill import FillLimits, Measures
from wetrun.machine.sprayer import Control, Sprayer
from wetrun.planning.load_wish import LoadWish, Split
from wetrun.planning.loads import load_plan
from wetrun.planning.mix_order import mix_order
from wetrun.planning.mixing import LabelOrder, Mixing
from wetrun.planning.passes import Pass, Product
from wetrun.spray.carrier import water
from wetrun.spray.controller import Loop

DROP_M3 = 1e-3
MEASURES = Measures(gauge_m3=DROP_M3, jug_m3=1e-5, scale_kg=1e-2)
PASS = Pass(
    ident="Only",
    crop="wheat",
    area_m2=1e6,
    first_day=date(2027, 5, 1),
    last_day=date(2027, 5, 1),
    carrier=water(),
    rate_m3pm2=1e-5,
    rate_low_m3pm2=1e-5,
    rate_high_m3pm2=1e-5,
)
MACHINE = Sprayer(name="One", boom=Boom(spacing_m=0.5, section_tips=(40,)), control=Control(loop=Loop.FIXED))


def driven(fills, stays, carried):
    """Field sprayed after each fill, in drops: the lines fill first, and what stays never comes out."""
    aboard, sprayed, after = carried, 0, []
    for fill in fills:
        aboard += fill
        while aboard > stays:
            aboard -= 1
            sprayed += 1
        after.append(sprayed)
    return after, aboard


@settings(max_examples=60, deadline=None)
@given(st.integers(800, 9000), st.integers(300, 2500), st.integers(0, 60), st.booleans(), st.sampled_from(Split))
def test_driving_drop_by_drop_gives_the_same_refills_and_left_over(sprayed, usable, stays, charged, split):
    carried = stays if charged else 0
    fill = FillLimits(usable_m3=usable * DROP_M3, undrainable_m3=stays * DROP_M3)
    planned = replace(
        PASS,
        area_m2=sprayed * DROP_M3 / PASS.rate_m3pm2,
        load=LoadWish(split=split, carry_in_m3=carried * DROP_M3),
    )
    plan = load_plan(planned, replace(MACHINE, fill=fill), MEASURES)
    after, left = driven(plan.split.fills, stays, carried)
    assert after[-1] == sprayed
    assert left == stays
    for load, drops in zip(plan.loads, after, strict=True):
        assert load.refill.field_m2 == pytest.approx(drops * DROP_M3 / PASS.rate_m3pm2, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_the_number_of_loads_is_the_least_there_is(data):
    sprayed, usable = data.draw(st.integers(100, 5000)), data.draw(st.integers(50, 2000))
    plan = load_plan(
        replace(PASS, area_m2=sprayed * DROP_M3 / PASS.rate_m3pm2),
        replace(MACHINE, fill=FillLimits(usable_m3=usable * DROP_M3)),
        MEASURES,
    )
    least = next(count for count in range(1, sprayed + 1) if count * usable >= sprayed)
    assert len(plan.loads) == least


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)).filter(lambda pair: pair[0] != pair[1]), max_size=6))
def test_labels_contradict_exactly_where_no_order_of_all_obeys_them(pairs):
    from itertools import permutations

    names = "abcd"
    products = tuple(
        Product(
            name=name,
            mixing=Mixing(
                label=LabelOrder(after=tuple(names[first] for first, second in pairs if names[second] == name))
            ),
        )
        for name in names
    )
    possible = any(all(order.index(a) < order.index(b) for a, b in pairs) for order in permutations(range(4)))
    assert mix_order(products).labels_agree is possible
