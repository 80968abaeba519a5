"""Laws of the changeovers a season needs: more risk never needs fewer, more room never needs more."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.season_cases import planned

from wetrun.planning.changeovers_needed import Need, changeovers_of_order, most_changeovers
from wetrun.planning.order_limits import StartDays, starts_of
from wetrun.planning.order_search import OrderProblem, best_order
from wetrun.planning.pass_order import pass_order
from wetrun.planning.passes import Product

CROPS = ("corn", "soybeans", "wheat", "oats")
FIRST = date(2031, 5, 1)


@st.composite
def problems(draw):
    count = draw(st.integers(1, 6))
    bits = st.integers(0, 2**count - 1)
    risky = tuple(draw(bits) & ~(1 << place) for place in range(count))
    before = tuple(draw(bits) & ((1 << place) - 1) for place in range(count))
    firsts = [draw(st.integers(1, 12)) for _ in range(count)]
    windows = tuple(StartDays(first, first + draw(st.integers(0, 15)), draw(st.integers(0, 3))) for first in firsts)
    risky_next = tuple(draw(bits) for _ in range(count))
    return OrderProblem(risky=risky, risky_next=risky_next, before=before, windows=windows)


crops = st.sampled_from(CROPS)
products = st.builds(
    Product,
    name=st.sampled_from("ABCDE"),
    risky_on=st.none() | st.lists(crops, max_size=3).map(tuple),
    clean_after=st.booleans(),
)


@st.composite
def seasons(draw):
    return [
        replace(
            planned(f"pass {number}"),
            crop=draw(crops),
            products=tuple(draw(st.lists(products, max_size=2))),
            first_day=FIRST + timedelta(days=draw(st.integers(0, 9))),
            last_day=FIRST + timedelta(days=draw(st.integers(10, 30))),
        )
        for number in range(draw(st.integers(1, 6)))
    ]


@given(problems())
def test_an_order_found_keeps_to_what_comes_first_and_to_the_days(problem):
    found = best_order(problem)
    if found is None:
        return
    assert sorted(found.places) == list(range(len(problem.windows)))
    assert starts_of([problem.windows[place] for place in found.places]) == found.starts
    for at, place in enumerate(found.places):
        done = sum(1 << earlier for earlier in found.places[:at])
        assert not problem.before[place] & ~done


@given(problems(), st.integers(0, 5), st.integers(0, 63))
def test_more_risk_never_needs_fewer_clean_outs(problem, place, more):
    place %= len(problem.windows)
    every = (1 << len(problem.windows)) - 1
    risky = list(problem.risky)
    risky[place] |= more & every & ~(1 << place)
    less, worse = best_order(problem), best_order(replace(problem, risky=tuple(risky)))
    assert (less is None) == (worse is None)
    assert less is None or worse is None or worse.clean_outs >= less.clean_outs


@given(problems(), st.integers(0, 10))
def test_more_days_never_need_more_clean_outs(problem, later):
    wider = tuple(StartDays(w.first, w.last + later, w.work_days) for w in problem.windows)
    tight, loose = best_order(problem), best_order(replace(problem, windows=wider))
    assert tight is None or (loose is not None and loose.clean_outs <= tight.clean_outs)


@settings(max_examples=60)
@given(seasons())
def test_a_season_without_risk_needs_nothing_and_doubts_only_add(passes):
    found = pass_order(passes)
    assert found.written.needed <= found.written.most <= len(passes) - 1
    assert found.written.needed == sum(c.need is Need.NEEDED for c in changeovers_of_order(found.written.passes))
    typed = [
        replace(
            one,
            products=tuple(replace(p, risky_on=(), clean_after=False) for p in one.products)
            or (Product(name="Z", risky_on=()),),
        )
        for one in passes
    ]
    assert most_changeovers(typed) == 0
    if found.better is not None:
        assert found.better.needed < found.written.needed or found.written.late is not None
        assert sorted(one.ident for one in found.better.passes) == sorted(one.ident for one in passes)
        assert len(found.exchanged) > 0
