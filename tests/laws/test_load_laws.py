"""Laws of tank loads: what is printed adds up, nothing is over a limit, more field never takes less, units go round."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetrun.machine.boom import Boom
from wetrun.machine.fill import Axle, FillLimits, Measures
from wetrun.machine.sprayer import Control, Sprayer
from wetrun.planning.formulation import Form
from wetrun.planning.load_wish import Band, LoadWish, Split
from wetrun.planning.loads import load_plan
from wetrun.planning.mix_order import mix_order
from wetrun.planning.mixing import Dose, DoseBase, LabelOrder, LabelPlace, Mixing
from wetrun.planning.passes import Pass, Product
from wetrun.planning.published_order import OrderName
from wetrun.planning.shares import shares_of_steps, whole_steps
from wetrun.quantity import Kind, System
from wetrun.quantity.graduation import USUAL_GAUGE, USUAL_JUG, USUAL_SCALE, Graduation
from wetrun.spray.carrier import water
from wetrun.spray.controller import Loop

US = Measures(
    gauge_m3=USUAL_GAUGE[System.US].si_value(),
    jug_m3=USUAL_JUG[System.US].si_value(),
    scale_kg=USUAL_SCALE[System.US].si_value(),
)
SI = Measures(gauge_m3=1e-3, jug_m3=1e-5, scale_kg=1e-2)
PLAIN = Pass(
    ident="Only",
    crop="wheat",
    area_m2=1e6,
    first_day=date(2027, 5, 1),
    last_day=date(2027, 5, 1),
    carrier=water(),
    rate_m3pm2=1.5e-5,
    rate_low_m3pm2=1.5e-5,
    rate_high_m3pm2=1.5e-5,
)
MACHINE = Sprayer(
    name="One", boom=Boom(spacing_m=0.5, section_tips=(36, 36)), control=Control(loop=Loop.FIXED), tank_m3=4.0
)

areas_m2 = st.floats(1e3, 1e7)
rates_m3pm2 = st.floats(5e-6, 5e-5)
liquids = st.builds(
    lambda rate, density: Product(name="L", rate_m3pm2=rate, mixing=Mixing(density_kgpm3=density)),
    st.floats(1e-9, 1e-6),
    st.none() | st.floats(800.0, 1300.0),
)
dry = st.builds(lambda rate: Product(name="D", rate_kgpm2=rate), st.floats(1e-7, 5e-4))
adjuvants = st.builds(
    lambda share, base: Product(name="A", mixing=Mixing(form=Form.NIS, dose=Dose(base=base, volume_frac=share))),
    st.floats(1e-4, 0.02),
    st.sampled_from(DoseBase),
)
tanks = st.tuples(st.none() | liquids, st.none() | dry, st.none() | adjuvants).map(
    lambda parts: tuple(part for part in parts if part is not None)
)
held_m3 = st.floats(0.0, 0.15)


@st.composite
def plans(draw, choices=(US, SI)):
    undrainable = draw(held_m3)
    axles = draw(st.lists(st.floats(1500.0, 6000.0), max_size=2))
    fill = FillLimits(
        usable_m3=draw(st.floats(2.0, 4.0)),
        undrainable_m3=undrainable,
        axles=tuple(
            Axle(name=f"axle {n}", high_kg=6000.0 + kg, empty_kg=6000.0, load_frac=0.6) for n, kg in enumerate(axles)
        ),
    )
    wish = LoadWish(
        split=draw(st.sampled_from(Split)),
        alike=draw(st.booleans()),
        band=draw(st.none() | st.builds(Band, st.floats(0.1, 0.5), st.floats(0.5, 1.0))),
        carry_in_m3=draw(st.just(0.0) | st.just(undrainable) | st.floats(0.0, 0.05)),
        field_length_m=draw(st.none() | st.floats(100.0, 2000.0)),
    )
    planned = replace(
        PLAIN, area_m2=draw(st.floats(2e5, 1e7)), rate_m3pm2=draw(rates_m3pm2), products=draw(tanks), load=wish
    )
    return load_plan(planned, replace(MACHINE, fill=fill), draw(st.sampled_from(choices)))


@given(st.integers(0, 10**7), st.lists(st.floats(0.0, 1e6), min_size=1, max_size=40).filter(lambda w: sum(w) > 1e-3))
def test_shares_add_up_and_each_is_within_a_step_of_its_proportion(total, weights):
    parts = shares_of_steps(total, weights)
    assert sum(parts) == total
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - total * weight / sum(weights)) < 1.0 + 1e-6


@given(st.integers(0, 10**6), st.integers(1, 60))
def test_equal_weights_get_shares_within_one_step(total, count):
    parts = shares_of_steps(total, [1.0] * count)
    assert max(parts) - min(parts) <= 1


@pytest.mark.parametrize(("total", "weights"), [(-1, [1.0]), (3, []), (3, [0.0, 0.0]), (3, [1.0, -1.0])])
def test_what_cannot_be_shared_is_refused(total, weights):
    with pytest.raises(ValueError, match="cannot be shared"):
        shares_of_steps(total, weights)


@given(plans())
def test_every_load_and_every_total_adds_up_to_the_last_step(plan):
    jugs_per_gauge = round(plan.measures.gauge_m3 / plan.measures.jug_m3)
    for at, fill in enumerate(plan.split.fills):
        liquid = sum(part.steps[at] for part in plan.parts if part.step_m3 is not None)
        assert liquid == fill * jugs_per_gauge
    for part in plan.parts:
        assert sum(part.steps) == part.total_steps
        if part.product is not None:
            room = len(part.steps) / 2 if plan.planned.load.alike else 0.5
            assert abs(part.total_steps - part.exact_steps) <= room + 1e-6


@given(plans())
def test_the_field_gets_its_spray_and_no_more_stays_than_cannot_come_out(plan):
    split = plan.split
    assert split.sprayed_m3 == pytest.approx(plan.treated_m2 * plan.recipe.rate_m3pm2)
    extra_m3 = split.left_over_m3 - split.undrainable_m3
    assert -1e-9 <= extra_m3 <= split.gauge_m3 * (1.0 + 1e-6)
    assert sum(load.treated_m2 for load in plan.loads) == pytest.approx(plan.treated_m2)
    assert sum(load.field_m2 for load in plan.loads) == pytest.approx(plan.planned.area_m2)
    assert all(load.treated_m2 >= 0.0 for load in plan.loads)


@given(plans())
def test_no_load_is_above_tank_or_axle(plan):
    for load, fill in zip(plan.loads, plan.split.fills, strict=True):
        in_tank_m3 = fill * plan.split.gauge_m3 + max(load.aboard_m3 - plan.split.undrainable_m3, 0.0)
        assert in_tank_m3 <= plan.room.rooms[0].contents_m3 * 1.0006
        assert all(load.contents_kg <= room.contents_kg * (1 + 1e-9) for room in plan.room.rooms if room.by_weight)


@given(plans())
def test_equal_loads_are_equal_and_full_loads_are_full(plan):
    _first, *others = plan.split.fills
    if plan.planned.load.split is Split.EQUAL and others:
        assert max(others) - min(others) <= 1
    elif others:
        assert len(set(others[:-1])) <= 1
        assert others[-1] <= max(others)


@given(plans())
def test_loads_of_one_size_are_alike_when_asked(plan):
    for part in plan.parts:
        kinds: dict[int, set[int]] = {}
        for fill, count in zip(plan.split.fills, part.steps, strict=True):
            kinds.setdefault(fill, set()).add(count)
        spread = max(max(counts) - min(counts) for counts in kinds.values())
        liquids_shared = sum(1 for other in plan.parts if other.step_m3 is not None)
        assert spread <= (0 if plan.planned.load.alike else 1 if part.product is not None else liquids_shared)


@given(plans())
def test_refill_points_rise_and_end_at_the_field(plan):
    done = [load.refill.field_m2 for load in plan.loads]
    assert done == sorted(done)
    assert done[-1] == pytest.approx(plan.planned.area_m2)
    width, length = MACHINE.boom.width_m, plan.planned.load.field_length_m
    for load in plan.loads:
        point = load.refill
        if length is None or point.swaths is None:
            continue
        assert point.swaths * width * length + point.into_m * width == pytest.approx(point.field_m2, rel=1e-6)
        assert point.home_swaths % 2 == 0
        assert 0 <= point.swaths - point.home_swaths <= 1


@given(plans(), st.floats(1.0, 3.0))
def test_more_field_never_takes_less(plan, more):
    machine = replace(MACHINE, fill=FillLimits(usable_m3=plan.room.rooms[0].contents_m3))
    wish = LoadWish(split=plan.planned.load.split)
    one, other = (
        load_plan(replace(plan.planned, area_m2=plan.planned.area_m2 * by, load=wish), machine, plan.measures)
        for by in (1.0, more)
    )
    assert len(other.loads) >= len(one.loads)
    assert other.split.made_m3 >= one.split.made_m3
    pairs = zip(sorted(one.parts, key=lambda p: p.name), sorted(other.parts, key=lambda p: p.name), strict=True)
    # Alike loads may each round down where fewer, fuller ones rounded up: half a step a load.
    assert all(b.total_steps >= a.total_steps - len(other.loads) for a, b in pairs)


@given(plans(choices=(US,)))
def test_the_same_loads_in_the_other_units_are_the_same_to_a_step(plan):
    sprayer = replace(
        MACHINE, fill=FillLimits(usable_m3=plan.room.rooms[0].contents_m3, undrainable_m3=plan.split.undrainable_m3)
    )
    here, there = (load_plan(plan.planned, sprayer, measures) for measures in (US, SI))
    assert abs(here.split.made_m3 - there.split.made_m3) <= US.gauge_m3 + SI.gauge_m3
    for one in here.parts:
        other = next(part for part in there.parts if part.name == one.name)
        steps = US.jug_m3 if one.step_m3 else US.scale_kg
        loads = max(len(here.loads), len(there.loads))
        share = one.exact_steps * steps / here.split.made_m3 * (US.gauge_m3 + SI.gauge_m3)
        room = loads * (len(here.parts) + 1) * steps + share
        assert abs(one.total_m3 + one.total_kg - other.total_m3 - other.total_kg) <= room


@given(areas_m2, st.floats(0.05, 1.0))
def test_a_band_is_a_smaller_field(area_m2, share):
    band = load_plan(replace(PLAIN, area_m2=area_m2, load=LoadWish(band=Band(share * 0.75, 0.75))), MACHINE, SI)
    broadcast = load_plan(replace(PLAIN, area_m2=area_m2 * share), MACHINE, SI)
    assert abs(sum(band.split.fills) - sum(broadcast.split.fills)) <= 1
    assert band.loads[-1].refill.field_m2 == pytest.approx(area_m2)


@given(st.floats(1e-7, 1e-6), areas_m2, st.booleans())
def test_a_rate_at_the_labels_maximum_is_never_passed_by_rounding(rate, area_m2, alike):
    product = Product(name="P", rate_m3pm2=rate, label_high_m3pm2=rate)
    plan = load_plan(replace(PLAIN, area_m2=area_m2, products=(product,), load=LoadWish(alike=alike)), MACHINE, US)
    part = plan.parts[1]
    for count, load in zip(part.steps, plan.loads, strict=True):
        assert count * US.jug_m3 <= rate * load.fill_m3 / plan.recipe.rate_m3pm2 * (1 + 1e-8) + 1e-12


@given(tanks, st.floats(1e-4, 5e-3))
def test_a_jar_is_the_tank_made_small(products, jar_m3):
    plan = load_plan(replace(PLAIN, products=products, load=LoadWish(jar_m3=jar_m3)), MACHINE, SI)
    jar = plan.jar
    assert jar.first_m3 + jar.rest_m3 + sum(part.volume_m3 or 0.0 for part in jar.parts) == pytest.approx(jar_m3)
    for each in products:
        part = next(one for one in jar.parts if one.name == each.name)
        if each.rate_m3pm2 is not None:
            assert part.volume_m3 == pytest.approx(each.rate_m3pm2 * jar.area_m2)
        if each.rate_kgpm2 is not None:
            assert part.mass_kg == pytest.approx(each.rate_kgpm2 * jar.area_m2)


NAMES = ["a", "b", "c", "d", "e"]
tank_of_five = st.permutations(NAMES).flatmap(
    lambda names: st.tuples(
        *(
            st.builds(
                lambda form, after, before, place, name=name: Product(
                    name=name,
                    mixing=Mixing(form=form, label=LabelOrder(place=place, after=tuple(after), before=tuple(before))),
                ),
                st.none() | st.sampled_from(Form),
                st.lists(st.sampled_from([n for n in NAMES if n != name]), max_size=1),
                st.lists(st.sampled_from([n for n in NAMES if n != name]), max_size=1),
                st.none() | st.none() | st.none() | st.sampled_from(LabelPlace),
            )
            for name in names
        )
    )
)


@settings(max_examples=200)
@given(tank_of_five, st.sampled_from(OrderName))
def test_every_product_goes_in_once_and_labels_are_obeyed_unless_they_contradict(products, chosen):
    order = mix_order(products, chosen)
    assert sorted(order.names) == NAMES
    place = {name: at for at, name in enumerate(order.names)}
    if not order.labels_agree:
        return
    for product in products:
        label = product.mixing.label
        assert all(place[name] < place[product.name] for name in label.after)
        assert all(place[name] > place[product.name] for name in label.before)
        if label.place is LabelPlace.FIRST:
            assert place[product.name] == 0
        if label.place is LabelPlace.LAST:
            assert place[product.name] == len(products) - 1


@given(st.integers(0, 10**6), st.sampled_from(System), st.sampled_from(["gauge", "jug", "scale"]))
def test_a_count_of_steps_is_shown_without_losing_any(count, system, which):
    graduation: Graduation = {"gauge": USUAL_GAUGE, "jug": USUAL_JUG, "scale": USUAL_SCALE}[which][system]
    kind = Kind.MASS if which == "scale" else Kind.VOLUME
    shown = sum(Graduation(kind, amount, unit).si_value() for amount, unit in graduation.parts(count) if amount)
    assert math.isclose(shown, count * graduation.si_value(), rel_tol=1e-12, abs_tol=1e-15)
    assert whole_steps(shown, graduation.si_value()) == count
