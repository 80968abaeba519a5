"""The signed record: complete or not, what is lacking, and what may be said of the machine."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.changeover.test_yard_list import JOB

from wetrun.changeover.yard_list import yard_list
from wetrun.changeover.yard_record import ChangeoverRecord, StepEntry, diluted_words, record_state

START = datetime(2027, 6, 8, 7, 0, tzinfo=timezone(timedelta(hours=-5)))
LISTED = yard_list(JOB)
IDENTS = [step.ident for step in LISTED.steps]
SKIPPABLE = [step.ident for step in LISTED.steps if not step.binding]


def done(step, number):
    begun = START + timedelta(minutes=30 * number)
    return StepEntry(
        step=step.ident,
        done_by="A. Reed",
        begun_at=begun,
        done_at=begun + timedelta(minutes=25),
        water_m3=step.water_m3,
    )


WHOLE = ChangeoverRecord(
    listed=LISTED,
    entries=tuple(done(step, number) for number, step in enumerate(LISTED.steps)),
    signed_by="C. Doe",
    signed_at=START + timedelta(days=1),
    diluted_frac=1.2e-4,
)


def changed(ident, **changes):
    entries = (replace(entry, **changes) if entry.step == ident else entry for entry in WHOLE.entries)
    return replace(WHOLE, entries=tuple(entries))


def test_a_whole_record_is_complete_and_says_no_more_than_it_knows():
    state = record_state(WHOLE)
    assert state.complete
    assert not state.lacking
    assert not state.notes
    assert state.water_m3 == pytest.approx(LISTED.water_m3)
    assert state.result == "Diluted to 0.012 % of the old mix if nothing is bound."
    assert (WHOLE.method, LISTED.method) == ("changeover-record-1", "yard-list-1")


@pytest.mark.parametrize("ident", IDENTS)
def test_a_step_left_open_is_named(ident):
    state = record_state(replace(WHOLE, entries=tuple(e for e in WHOLE.entries if e.step != ident)))
    assert not state.complete
    assert state.lacking == (f"{ident}: still open.",)
    assert state.result == "How far it is diluted is not known: the record is not complete."


@pytest.mark.parametrize(
    ("ident", "changes", "words"),
    [
        ("outside", {"done_by": ""}, "nobody put a name to it"),
        ("outside", {"done_at": None}, "no time was written down"),
        ("rinse-1", {"water_m3": None}, "water used was not written down"),
        ("rinse-1", {"water_m3": -0.1}, "below zero"),
        ("rinse-1", {"water_m3": float("nan")}, "below zero"),
        ("outside", {"done_at": datetime(2027, 6, 8, 9, 0)}, "without its time zone"),  # noqa: DTZ001 - that is the slip
        ("outside", {"begun_at": START + timedelta(days=2)}, "ends before it begins"),
        ("standing", {"begun_at": None}, "when the standing began"),
        ("standing", {"begun_at": START + timedelta(hours=8, minutes=20)}, "less than the label's time"),
        ("label-1", {"skipped_because": "no time", "done_at": None, "begun_at": None}, "cannot be left out"),
        ("outside", {"skipped_because": "rain"}, "as done and as left out"),
    ],
)
def test_what_is_lacking_in_a_step_is_said(ident, changes, words):
    place = IDENTS.index("standing")
    at = START + timedelta(minutes=30 * place)
    if words == "less than the label's time":
        changes = {"begun_at": at + timedelta(minutes=10)}
    state = record_state(changed(ident, **changes))
    assert not state.complete
    assert any(line.startswith(ident) and words in line for line in state.lacking)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"signed_by": ""}, "not signed"),
        ({"signed_at": None}, "no time of signing"),
        ({"signed_at": datetime(2027, 6, 9)}, "no time zone"),  # noqa: DTZ001 - that is the slip
        ({"signed_at": START}, "before its last step"),
    ],
)
def test_a_missing_or_early_signature_keeps_it_open(changes, words):
    state = record_state(replace(WHOLE, **changes))
    assert not state.complete
    assert len(state.lacking) == 1
    assert words in state.lacking[0]


def test_times_of_two_zones_are_compared_as_instants():
    late = WHOLE.entries[-1].done_at
    assert late is not None
    assert record_state(replace(WHOLE, signed_at=late.astimezone(UTC))).complete


def test_entries_that_fit_no_step_or_one_twice_are_told():
    state = record_state(replace(WHOLE, entries=(*WHOLE.entries, WHOLE.entries[0], StepEntry(step="polish"))))
    assert state.lacking == ("polish: the list has no such step.", f"{IDENTS[0]}: written down more than once.")


def test_a_step_may_be_left_out_with_its_reason_but_the_figure_goes_with_it():
    changes = {"skipped_because": "no eductor used", "begun_at": None, "done_at": None, "water_m3": None}
    state = record_state(changed("rinse-1-eductor-line", **changes))
    assert state.complete
    assert state.skipped == (("rinse-1-eductor-line", "no eductor used"),)
    assert state.result == "How far it is diluted is not known: not done as planned: rinse-1-eductor-line."
    outside = record_state(changed("nurse-tank", **changes))
    assert outside.complete
    assert outside.result.startswith("Diluted to")


def test_less_water_than_asked_for_takes_the_figure_away():
    state = record_state(changed("rinse-2", water_m3=0.39))
    assert state.complete
    assert state.notes == ("rinse-2: less water than the list asked for.",)
    assert "not known" in state.result


def test_steps_done_out_of_order_and_what_nobody_gave_are_noted():
    state = record_state(changed("refit", begun_at=START, done_at=START + timedelta(minutes=1)))
    assert state.complete
    assert state.notes == ("refit was done before out-open, which stands ahead of it in the list.",)
    untyped = replace(WHOLE, listed=replace(LISTED, gaps=("No step of a label was typed.",)))
    assert record_state(untyped).notes == ("No step of a label was typed.",)


def test_without_a_figure_none_is_made_up():
    assert record_state(replace(WHOLE, diluted_frac=None)).result == "How far it is diluted was not computed."
    assert diluted_words(1e-9) == "Diluted to 0.0000001 % of the old mix if nothing is bound."


@given(st.lists(st.sampled_from(SKIPPABLE), unique=True), st.booleans())
def test_a_record_is_complete_exactly_when_each_step_is_done_or_its_skipping_explained(left_out, explained):
    reason = "left out on purpose" if explained else ""
    entries = tuple(
        StepEntry(step=entry.step, skipped_because=reason) if entry.step in left_out else entry
        for entry in WHOLE.entries
    )
    state = record_state(replace(WHOLE, entries=entries))
    assert state.complete is (explained or not left_out)
    named = {line.split(":")[0] for line in state.lacking}
    assert named == (set() if explained else set(left_out))
    spent = sum(entry.water_m3 or 0.0 for entry in entries)
    assert state.water_m3 == pytest.approx(spent)
