"""What still stands between a machine and its first spray day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.machine.proof_standing import Because, Cause, ProofStanding, State
from wetrun.machine.proofs import Event, Happened, Proof
from wetrun.planning.readiness import (
    WET_RUN_DAYS,
    MachineFacts,
    RunFacts,
    Standing,
    Station,
    readiness_of,
)

FIRST = date(2027, 4, 15)
TODAY = date(2027, 3, 20)
READY = MachineFacts(
    season="Season 2027",
    first_day=FIRST,
    planned=True,
    agreed=True,
    to_buy=72,
    parts="here",
    run=RunFacts(on=date(2027, 3, 12), proven=True, verdict="pass", agrees=True),
    settings_on=date(2027, 3, 12),
    handed_on=date(2027, 3, 14),
    handed_to="B. Cole",
)


def test_a_machine_with_everything_is_ready() -> None:
    told = readiness_of(READY, TODAY)
    assert told.ready
    assert told.next is None
    assert told.days_left == 26
    assert [one.station for one in told.stations] == list(Station)


@pytest.mark.parametrize(
    ("change", "station", "standing", "words"),
    [
        ({"season": ""}, Station.INTAKE, Standing.OPEN, "Ask for the season"),
        ({"problems": 1}, Station.INTAKE, Standing.STOPS, "One thing is not right"),
        ({"problems": 3}, Station.INTAKE, Standing.STOPS, "3 things are not right"),
        ({"plan_is_old": True}, Station.TIP_PLAN, Standing.BEGUN, "again"),
        ({"agreed": False}, Station.TIP_PLAN, Standing.BEGUN, "with the customer"),
        ({"parts": "needed"}, Station.PARTS, Standing.OPEN, "Order 72 tips"),
        ({"parts": "ordered"}, Station.PARTS, Standing.BEGUN, "Wait for 72 tips"),
        ({"run": None}, Station.WET_RUN, Standing.OPEN, "with water"),
        ({"settings_on": None}, Station.SETTINGS, Standing.OPEN, "Write down"),
        ({"settings_on": date(2027, 3, 1)}, Station.SETTINGS, Standing.BEGUN, "the wet run is newer"),
        ({"handed_on": None}, Station.HANDOVER, Standing.OPEN, "walk round"),
        ({"handed_on": date(2027, 3, 1)}, Station.HANDOVER, Standing.BEGUN, "the wet run is newer"),
        ({"handed_differing": ("meter number (rate −3.7 %)",)}, Station.HANDOVER, Standing.BEGUN, "meter number (rate"),
    ],
)
def test_one_thing_missing_is_named_at_its_station(
    change: dict[str, object], station: Station, standing: Standing, words: str
) -> None:
    told = readiness_of(replace(READY, **change), TODAY)  # type: ignore[arg-type]
    assert not told.ready
    assert told.next is not None
    assert (told.next.station, told.next.standing) == (station, standing)
    assert words in told.next.lacks
    left = {one.station for one in told.stations if one.standing is not Standing.DONE}
    assert left <= {station, Station.CROSS_CHECK}
    assert (Station.CROSS_CHECK in left) == (station is Station.WET_RUN)


def test_who_took_a_machine_over_by_link_is_told_so() -> None:
    told = readiness_of(replace(READY, handed_over_link=True), TODAY)
    assert [one.told for one in told.stations if one.station is Station.HANDOVER] == ["B. Cole, over a link"]
    assert told.ready


@pytest.mark.parametrize(
    ("run", "standing"),
    [
        (RunFacts(on=date(2027, 3, 12), proven=False, verdict="pass"), Standing.BEGUN),
        (RunFacts(on=date(2027, 3, 12), proven=True, verdict="fail"), Standing.STOPS),
        (RunFacts(on=date(2027, 3, 12), proven=True, verdict="undecided"), Standing.BEGUN),
        (RunFacts(on=FIRST - timedelta(days=WET_RUN_DAYS), proven=True, verdict="pass"), Standing.DONE),
        (RunFacts(on=FIRST - timedelta(days=WET_RUN_DAYS + 1), proven=True, verdict="pass"), Standing.OPEN),
    ],
)
def test_only_a_proven_wet_run_of_the_year_that_passes_counts(run: RunFacts, standing: Standing) -> None:
    told = readiness_of(replace(READY, run=run), TODAY)
    assert next(one for one in told.stations if one.station is Station.WET_RUN).standing is standing


@pytest.mark.parametrize(
    ("agrees", "standing"), [(True, Standing.DONE), (False, Standing.STOPS), (None, Standing.OPEN)]
)
def test_readings_that_contradict_each_other_stop_the_machine(agrees: bool | None, standing: Standing) -> None:
    run = RunFacts(on=date(2027, 3, 12), proven=True, verdict="pass", agrees=agrees)
    told = readiness_of(replace(READY, run=run), TODAY)
    assert next(one for one in told.stations if one.station is Station.CROSS_CHECK).standing is standing


def test_what_stops_comes_before_what_is_merely_open() -> None:
    failed = RunFacts(on=date(2027, 3, 12), proven=True, verdict="fail")
    told = readiness_of(replace(READY, parts="needed", run=failed), TODAY)
    assert told.next is not None
    assert told.next.station is Station.WET_RUN


def test_a_set_that_is_owned_needs_no_parts() -> None:
    told = readiness_of(replace(READY, to_buy=0, parts="needed"), TODAY)
    assert told.ready


@given(
    facts=st.builds(
        MachineFacts,
        season=st.sampled_from(["", "Season 2027"]),
        first_day=st.none() | st.dates(date(2020, 1, 1), date(2030, 1, 1)),
        problems=st.integers(0, 3),
        planned=st.booleans(),
        plan_is_old=st.booleans(),
        agreed=st.booleans(),
        to_buy=st.integers(0, 2),
        parts=st.sampled_from(["needed", "ordered", "here"]),
        run=st.none()
        | st.builds(
            RunFacts,
            on=st.none() | st.dates(date(2020, 1, 1), date(2030, 1, 1)),
            proven=st.booleans(),
            verdict=st.sampled_from(["", "pass", "fail", "undecided"]),
            agrees=st.none() | st.booleans(),
        ),
        settings_on=st.none() | st.dates(date(2020, 1, 1), date(2030, 1, 1)),
        handed_on=st.none() | st.dates(date(2020, 1, 1), date(2030, 1, 1)),
    ),
)
def test_whatever_is_known_each_station_stands_once_and_says_what_it_lacks_unless_done(facts: MachineFacts) -> None:
    told = readiness_of(facts, TODAY)
    assert [one.station for one in told.stations] == list(Station)
    assert all((one.standing is Standing.DONE) == (not one.lacks) for one in told.stations)
    assert told.ready == (told.next is None)


def lapsed(proof: Proof, cause: Cause) -> MachineFacts:
    return replace(READY, lapsed=(ProofStanding(proof, State.LAPSED, date(2027, 3, 12), (cause,)),))


@pytest.mark.parametrize(
    ("proof", "event", "station"),
    [
        (Proof.METER, Event.NEW_METER, Station.WET_RUN),
        (Proof.SETTINGS, Event.DISPLAY_RESET, Station.SETTINGS),
        (Proof.OPERATOR, Event.NEW_OPERATOR, Station.HANDOVER),
    ],
)
def test_an_event_that_cancels_a_proof_stops_the_station_it_was_won_at(
    proof: Proof, event: Event, station: Station
) -> None:
    on = date(2027, 3, 18)
    told = readiness_of(lapsed(proof, Cause(on, Happened(event=event, on=on))), TODAY)
    assert not told.ready
    assert told.next is not None
    assert (told.next.station, told.next.standing) == (station, Standing.STOPS)
    assert f"{proof.value} ({event.value})" in told.next.lacks
    assert [one.station for one in told.stations if one.standing is not Standing.DONE] == [station]


def test_a_proof_that_lasted_its_time_is_begun_again() -> None:
    told = readiness_of(lapsed(Proof.CATCH, Cause(date(2027, 3, 18), because=Because.AREA)), TODAY)
    assert told.next is not None
    assert (told.next.station, told.next.standing) == (Station.WET_RUN, Standing.BEGUN)
    assert told.next.lacks == "No longer proven: catch of the tips (acres since). Catch every tip again."
