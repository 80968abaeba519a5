"""Proofs that lapse, followed by hand through one machine's season."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from wetrun.errors import OutOfRange
from wetrun.machine.proof_standing import Because, Lapsing, ProofStanding, State, held, lapsed, proofs_standing
from wetrun.machine.proofs import (
    AGAIN,
    CANCELS,
    USUAL,
    Event,
    Happened,
    Lasts,
    Proof,
    Proven,
    cancelled_by,
    density_effect,
)
from wetrun.machine.work_done import Counted, Span, Work, Worked

WET_RUN = date(2027, 3, 12)
ALL = [Proven(proof, WET_RUN) for proof in Proof if proof is not Proof.RADAR]
HECTARE_M2 = 1e4


def after(*happened: Happened, on: date = date(2027, 6, 1), **by: object) -> dict[Proof, ProofStanding]:
    found = proofs_standing(ALL, happened, on, Lapsing(**{"lasts": {}, **by}))  # type: ignore[arg-type]
    return {one.proof: one for one in found}


@pytest.mark.parametrize(
    ("event", "gone"),
    [
        (Event.NEW_TIRES, {Proof.WHEEL}),
        (Event.NEW_METER, {Proof.METER}),
        (Event.DISPLAY_SWAPPED, {Proof.SETTINGS}),
        (Event.DISPLAY_RESET, {Proof.SETTINGS}),
        (Event.DISPLAY_UPDATED, {Proof.SETTINGS}),
        (Event.TIPS_CHANGED, {Proof.CATCH, Proof.SETTINGS, Proof.HOLDS}),
        (Event.NEW_OPERATOR, {Proof.OPERATOR}),
    ],
)
def test_each_event_cancels_what_it_changed_and_nothing_else(event: Event, gone: set[Proof]) -> None:
    told = after(Happened(event=event, on=date(2027, 5, 2)))
    assert {proof for proof, one in told.items() if one.state is State.LAPSED} == gone
    for proof in gone:
        assert told[proof].since == date(2027, 5, 2)
        assert told[proof].causes[0].words == event.value
        assert told[proof].again == AGAIN[proof]
    assert told[Proof.RADAR].state is State.NEVER


def test_every_event_cancels_something_and_every_proof_says_how_it_is_done_again() -> None:
    assert set(CANCELS) == set(Event)
    assert all(CANCELS.values())
    assert set(AGAIN) == set(Proof) == set(USUAL)


def test_on_the_day_of_the_tests_an_event_counts_unless_it_came_before_them() -> None:
    assert after(Happened(event=Event.NEW_TIRES, on=WET_RUN))[Proof.WHEEL].state is State.LAPSED
    before = Happened(event=Event.NEW_TIRES, on=WET_RUN, before_tests=True)
    assert after(before)[Proof.WHEEL].state is State.HOLDS


def test_once_one_speed_source_lapsed_none_is_leaned_on() -> None:
    told = after(Happened(event=Event.NEW_TIRES, on=date(2027, 5, 2)))
    assert {Proof.WHEEL, Proof.GPS}.isdisjoint(held(told.values()))
    assert Proof.METER in held(told.values())
    assert Proof.GPS in held(after().values())


def test_what_is_still_to_come_does_not_count() -> None:
    tires = Happened(event=Event.NEW_TIRES, on=date(2027, 5, 2))
    assert after(tires, on=date(2027, 5, 1))[Proof.WHEEL].state is State.HOLDS
    assert after(tires, on=date(2027, 5, 2))[Proof.WHEEL].state is State.LAPSED


def test_water_to_uan_moves_the_hold_by_an_eighth_and_water_to_a_light_mix_by_nothing_that_matters() -> None:
    # sqrt(998 / 1280) = 0.8830; sqrt(998 / 1010) = 0.9940
    assert density_effect(998.0, 1280.0) == pytest.approx(-0.1170, abs=5e-5)
    assert density_effect(998.0, 1010.0) == pytest.approx(-0.0060, abs=5e-5)
    uan = Happened(event=Event.NEW_CARRIER, on=WET_RUN, was_kgpm3=998.0, now_kgpm3=1280.0)
    light = Happened(event=Event.NEW_CARRIER, on=WET_RUN, was_kgpm3=998.0, now_kgpm3=1010.0)
    assert cancelled_by(uan) == (Proof.SETTINGS, Proof.HOLDS)
    assert cancelled_by(replace(uan, density_in_monitor=False)) == (Proof.HOLDS,)
    assert cancelled_by(light) == ()
    assert cancelled_by(Happened(event=Event.NEW_CARRIER, on=WET_RUN)) == (Proof.SETTINGS, Proof.HOLDS)
    with pytest.raises(OutOfRange, match="density"):
        density_effect(0.0, 998.0)


def test_a_proof_lasts_its_days_and_lapses_on_the_next() -> None:
    lasts = {Proof.WHEEL: Lasts(days=30)}
    assert after(on=date(2027, 4, 11), lasts=lasts)[Proof.WHEEL].state is State.HOLDS
    told = after(on=date(2027, 4, 12), lasts=lasts)[Proof.WHEEL]
    assert (told.state, told.since) == (State.LAPSED, date(2027, 4, 12))
    assert told.causes[0].because is Because.DAYS


def test_acres_since_lie_between_what_the_counter_said_before_and_after() -> None:
    # 100 ha on 1 March, 140 on 20 March, 400 on 1 May: since 12 March at least 260, at most 300.
    read = ((date(2027, 3, 1), 100.0), (date(2027, 3, 20), 140.0), (date(2027, 5, 1), 400.0))
    work = Work(tuple(Counted(on, hectares * HECTARE_M2) for on, hectares in read))
    assert work.area_since(WET_RUN) == Span(260.0 * HECTARE_M2, 300.0 * HECTARE_M2)
    within, between, passed = (
        after(lasts={Proof.METER: Lasts(area_m2=hectares * HECTARE_M2)}, work=work)[Proof.METER]
        for hectares in (301.0, 280.0, 259.0)
    )
    assert (within.state, within.unread) == (State.HOLDS, ())
    assert (between.state, between.unread) == (State.HOLDS, (Because.AREA,))
    assert (passed.state, passed.since, passed.causes[0].because) == (State.LAPSED, date(2027, 5, 1), Because.AREA)


def test_a_counter_that_was_set_back_counts_on() -> None:
    read = ((date(2027, 3, 1), 900.0), (date(2027, 4, 1), 950.0), (date(2027, 5, 1), 30.0))
    work = Work(tuple(Counted(on, hectares * HECTARE_M2) for on, hectares in read))
    assert work.area_since(date(2027, 3, 1)) == Span(80.0 * HECTARE_M2, 80.0 * HECTARE_M2)


def test_loads_count_where_no_counter_was_read() -> None:
    work = Work(loads=(Worked(WET_RUN, 40e4), Worked(date(2027, 4, 20), 50e4), Worked(date(2027, 4, 21), 60e4)))
    told = after(lasts={Proof.METER: Lasts(area_m2=100e4)}, work=work)[Proof.METER]
    assert (told.state, told.since) == (State.LAPSED, date(2027, 4, 21))


def test_all_reasons_are_told_the_earliest_first() -> None:
    tips = Happened(event=Event.TIPS_CHANGED, on=date(2027, 5, 9))
    told = after(tips, on=date(2027, 6, 1), lasts={Proof.CATCH: Lasts(days=20)})
    assert [cause.words for cause in told[Proof.CATCH].causes] == ["days since", "tips changed"]
    assert [one.proof for one in lapsed(told.values())] == [Proof.CATCH, Proof.SETTINGS, Proof.HOLDS]
