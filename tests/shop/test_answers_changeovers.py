"""Changeovers from records: answered once, written down step by step, signed for good."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from tests.shop_cases import make_user
from tests.shop_files import make_small_changeover, make_small_season

from wetrun.changeover.answer import changeover_answer
from wetrun.documents.changeover_file import read_changeover
from wetrun.errors import InputProblems, NotDefined
from wetrun.papers.changeover_data import changeover_data
from wetrun.papers.reader import Reader
from wetrun.quantity import System
from wetrun.shop.accounts.desk import Desk, desk_of
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.changeover_record import StepNote, keep_note, record_of, sign, steps_of
from wetrun.shop.answers.changeovers import ANSWER, changeover_of, document_of, is_answered, keep_answer, laid_out_of
from wetrun.shop.answers.files import changeover_text
from wetrun.shop.answers.papers import paper_of
from wetrun.shop.answers.plain import plain
from wetrun.shop.records.models import Changeover, ChangeoverNote
from wetrun.shop.records.models.base import Frozen

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 5, 19, 17, tzinfo=UTC)
MINUTES = count()
WORKED_OUT: dict[str, Any] = {}
"""The answer to the small clean-out: the same question in every test, so it is worked out once."""


@pytest.fixture
def desk(branch: Branch) -> Desk:
    return desk_of(make_user(branch), branch.pk)


@pytest.fixture
def changeover(branch: Branch) -> Changeover:
    made = make_small_changeover(make_small_season(branch))
    if not WORKED_OUT:
        changeover_of(made)
        WORKED_OUT.update({name: getattr(made, name) for name in ANSWER})
    for name, value in WORKED_OUT.items():
        setattr(made, name, deepcopy(value))
    made.save()
    assert is_answered(made)
    return made


def note(step: str, what: str = "done", **more: str) -> StepNote:
    return StepNote(
        entry=uuid4(), step=step, what=what, by="A. Reed", at=NOON + timedelta(minutes=next(MINUTES)), **more
    )


def laid_down(changeover: Changeover, folder: Path) -> Path:
    for name, text in laid_out_of(changeover).texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder / "changeover.toml"


def test_the_answer_of_a_record_is_that_of_the_command_line(changeover: Changeover, tmp_path: Path) -> None:
    answer = changeover_answer(read_changeover(laid_down(changeover, tmp_path)).question)
    for system, kept in ((System.US, changeover.in_us), (System.SI, changeover.in_si)):
        wanted = plain(changeover_data(answer, Reader(system), changeover.branch.name))
        assert {key: kept[key] for key in wanted} == wanted
    assert changeover.reached is True
    assert changeover.sentence == changeover.in_us["sentence"]


def test_what_is_written_down_changes_the_list_and_not_the_answer(changeover: Changeover, desk: Desk) -> None:
    keep_note(changeover, note("labels", "begun"), desk)
    keep_note(changeover, note("labels"), desk)
    changeover.refresh_from_db()
    assert is_answered(changeover)
    first = steps_of(changeover, System.SI)[0]
    assert (first["step"], first["state"], len(first["notes"])) == ("labels", "done", 2)
    written = first["notes"][-1].at.astimezone(ZoneInfo(changeover.branch.time_zone))
    assert first["done"] == f"A. Reed, 19 May 2026 {written:%H:%M}"
    assert 12 <= written.hour <= 14  # 17:00 UTC on the branch's clock
    record = record_of(changeover, System.US)
    assert record is not None
    assert not record["complete"]
    assert "ppe: still open." in record["lacking"]


def test_the_quick_list_is_the_list_of_a_whole_new_answer(changeover: Changeover, desk: Desk) -> None:
    keep_note(changeover, note("rinse-1", water="50 L"), desk)
    quick = {key: (changeover.in_us[key], changeover.in_si[key]) for key in ("yard", "keys")}
    changeover_of(changeover)
    assert {key: (changeover.in_us[key], changeover.in_si[key]) for key in ("yard", "keys")} == quick


def test_a_note_sent_again_is_kept_once(changeover: Changeover, desk: Desk) -> None:
    once = note("labels")
    assert keep_note(changeover, once, desk) == keep_note(changeover, once, desk)
    assert ChangeoverNote.objects.count() == 1


def test_water_that_cannot_be_read_and_steps_the_list_does_not_have_are_refused(
    changeover: Changeover, desk: Desk
) -> None:
    with pytest.raises(InputProblems, match="unit not known"):
        keep_note(changeover, note("rinse-1", water="50 foo"), desk)
    with pytest.raises(NotDefined, match="the list has no such step"):
        keep_note(changeover, note("polish"), desk)
    assert not ChangeoverNote.objects.exists()


def test_a_step_left_out_is_told_with_its_reason(changeover: Changeover, desk: Desk) -> None:
    keep_note(changeover, note("outside", "skipped", because="it rained"), desk)
    row = next(one for one in steps_of(changeover, System.US) if one["step"] == "outside")
    assert (row["state"], row["done"]) == ("skipped", "left out: it rained")
    keep_note(changeover, note("outside"), desk)
    (entry,) = document_of(changeover)["record"]["step"]
    assert "skipped_because" not in entry


def test_a_changed_question_is_no_longer_answered(changeover: Changeover) -> None:
    changeover.document["tolerated"]["own"] = "1 %"
    assert not is_answered(changeover)
    changeover.document["tolerated"]["own"] = "2 %"
    assert is_answered(changeover)
    changeover.machine.document["boom"]["sections"] = [8, 8, 4]
    assert not is_answered(changeover)


def test_what_cannot_be_answered_says_why(changeover: Changeover) -> None:
    changeover.document["plumbing"]["class"] = "hovering"
    changeover_of(changeover)
    (row,) = changeover.problems
    assert row["key"] == "plumbing.class"
    assert (changeover.in_us, changeover.reached, changeover.sentence) == (None, None, "")


def test_an_answer_that_comes_late_shows_what_was_written_down_meanwhile(changeover: Changeover, desk: Desk) -> None:
    late = Changeover.objects.get(pk=changeover.pk)
    changeover_of(late)
    keep_note(changeover, note("labels"), desk)
    keep_answer(late)
    changeover.refresh_from_db()
    assert steps_of(changeover, System.SI)[0]["done"].startswith("A. Reed")


def test_a_signed_changeover_stays_as_it_was(changeover: Changeover, desk: Desk) -> None:
    for row in steps_of(changeover, System.US):
        if row["signing"] != "who answers for the machine, when every step is done or its skipping explained":
            water = {"water": "50 L"} if row["water"] else {}
            keep_note(changeover, note(row["step"], **water), desk)
    changeover.refresh_from_db()
    sign(changeover, desk, "B. Hale")
    record = record_of(changeover, System.SI)
    assert record is not None
    assert (record["lacking"], record["complete"], record["signed_by"]) == ([], True, "B. Hale")
    assert record["result"].endswith("if nothing is bound.")
    kept = Changeover.objects.get(pk=changeover.pk)
    paper = paper_of(kept, "changeover", system=System.SI, size="a4", shop="A")
    text = changeover_text(kept)
    assert tomllib.loads(text)["record"]["signed_by"] == "B. Hale"
    kept.machine.document["boom"]["sections"] = [24]
    kept.machine.save()
    late = Changeover.objects.get(pk=changeover.pk)
    keep_answer(late)
    assert changeover_text(late) == text
    assert paper_of(late, "changeover", system=System.SI, size="a4", shop="A") == paper
    with pytest.raises(Frozen):
        keep_note(late, note("labels"), desk)
    with pytest.raises(Frozen):
        late.save()
    with pytest.raises(Frozen):
        sign(late, desk, "C. Cole")


def test_only_an_answer_to_the_question_as_it_is_can_be_signed(changeover: Changeover, desk: Desk) -> None:
    changeover.document["tolerated"]["own"] = "1 %"
    changeover.save()
    with pytest.raises(NotDefined, match="changed since it was worked out"):
        sign(changeover, desk, "B. Hale")
