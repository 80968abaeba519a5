"""Laws of lapsing proofs: an event only takes away, order does not matter, a newer test holds again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from wetrun.machine.proof_standing import Lapsing, State, proofs_standing
from wetrun.machine.proofs import CANCELS, USUAL, Event, Happened, Lasts, Proof, Proven
from wetrun.machine.work_done import Counted, Work, Worked

TODAY = date(2027, 8, 1)
days = st.integers(-400, 0).map(lambda n: TODAY + timedelta(n))
densities = st.none() | st.floats(800.0, 1500.0)
proven = st.lists(st.builds(Proven, st.sampled_from(Proof), days), max_size=12)
events = st.lists(
    st.builds(
        Happened,
        event=st.sampled_from(Event),
        on=days,
        before_tests=st.booleans(),
        was_kgpm3=densities,
        now_kgpm3=densities,
        density_in_monitor=st.booleans(),
    ),
    max_size=8,
)
counted = st.lists(
    st.builds(Counted, days, st.none() | st.floats(0.0, 5e7), st.none() | st.floats(0.0, 2e6)), max_size=5
)
loads = st.lists(st.builds(Worked, days, st.floats(0.0, 1e7)), max_size=5)
lapsing = st.builds(
    Lapsing,
    lasts=st.just(USUAL),
    work=st.builds(Work, counted.map(tuple), loads.map(tuple)),
)


@given(proven, events, events, lapsing)
def test_an_event_never_brings_a_proof_back(
    tests: list[Proven], some: list[Happened], more: list[Happened], by: Lapsing
) -> None:
    before, after = (proofs_standing(tests, found, TODAY, by) for found in (some, some + more))
    for was, now in zip(before, after, strict=True):
        assert now.on == was.on
        assert set(was.causes) <= set(now.causes)
        if was.state is not State.HOLDS:
            assert now.state is was.state


@given(proven, events, lapsing, st.randoms())
def test_the_order_things_are_told_in_does_not_matter(
    tests: list[Proven], found: list[Happened], by: Lapsing, chance: object
) -> None:
    told = proofs_standing(tests, found, TODAY, by)
    for each in (tests, found):
        chance.shuffle(each)  # type: ignore[attr-defined]
    mixed = replace(by, work=Work(by.work.counted[::-1], by.work.loads[::-1]))
    again = proofs_standing(tests, found, TODAY, mixed)
    assert [(one.state, one.on, one.since, one.unread, set(one.causes)) for one in told] == [
        (one.state, one.on, one.since, one.unread, set(one.causes)) for one in again
    ]


@given(st.sampled_from(Proof), proven, events, lapsing)
def test_a_test_of_the_day_after_the_last_event_holds_again(
    proof: Proof, tests: list[Proven], found: list[Happened], by: Lapsing
) -> None:
    tomorrow = TODAY + timedelta(1)
    told = {one.proof: one for one in proofs_standing([*tests, Proven(proof, tomorrow)], found, tomorrow, by)}
    assert told[proof].state is State.HOLDS
    assert told[proof].again == ""


@given(proven, events, lapsing)
def test_a_lapsed_proof_says_why_since_when_and_what_to_do(
    tests: list[Proven], found: list[Happened], by: Lapsing
) -> None:
    for one in proofs_standing(tests, found, TODAY, by):
        assert (one.state is State.LAPSED) == bool(one.causes)
        for cause in one.causes:
            assert one.on is not None
            assert one.on <= cause.since <= TODAY
            assert cause.words
            assert one.again
            if cause.happened is not None:
                assert one.proof in CANCELS[cause.happened.event]


@given(st.lists(st.builds(Counted, days, st.floats(0.0, 5e7)), max_size=6), loads, days, days)
def test_less_work_was_done_since_a_later_day(read: list[Counted], done: list[Worked], one: date, other: date) -> None:
    work = Work(tuple(read), tuple(done))
    early, late = sorted((one, other))
    assert work.area_since(early).least >= work.area_since(late).least
    assert work.area_since(early).least <= work.area_since(early).most


@given(st.floats(1.0, 1e6), st.floats(1.0, 1e6))
def test_a_proof_lapses_by_acres_exactly_when_more_was_sprayed_than_it_lasts(limit: float, sprayed: float) -> None:
    by = Lapsing(lasts={Proof.METER: Lasts(area_m2=limit)}, work=Work(loads=(Worked(TODAY, sprayed),)))
    told = proofs_standing([Proven(Proof.METER, TODAY - timedelta(9))], [], TODAY, by)[list(Proof).index(Proof.METER)]
    assert (told.state is State.LAPSED) == (sprayed > limit)
