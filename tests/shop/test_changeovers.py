"""Changeovers: begun from two passes, answered, written down step by step, signed, never changed after that."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from tests.shop_cases import make_catalogue, make_changeover, make_customer, make_season

from wetrun.changeover.yard_step import Signing
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.changeovers import digest_of
from wetrun.shop.jobs.models import Job
from wetrun.shop.records.models import Changeover, ChangeoverNote, Machine


@pytest.fixture
def changeover(machine: Machine) -> Changeover:
    """One with an answer short enough for a test: what the page needs of it, not what it says."""
    make_catalogue(machine.branch)
    found = make_changeover(machine, make_season(machine))
    keys = [
        {"step": "before", "do": "Put on what the label asks for", "signing": Signing.BEFORE.value, "kind": "care"},
        {"step": "stand", "do": "Let it stand", "signing": Signing.STANDING.value, "kind": "cleaner"},
        {"step": "sign", "do": "Sign", "signing": Signing.LAST.value, "kind": "record"},
    ]
    found.in_us = found.in_si = {"sentence": "Rinse twice.", "keys": keys, "yard": {}}
    found.digest = digest_of(found)
    found.save()
    return found


def note(what: str = "done", step: str = "before", **more: str) -> dict[str, str]:
    return {"entry": str(uuid4()), "step": step, "what": what, "by": "A. Reed", **more}


def test_a_changeover_is_begun_between_two_passes_of_the_season(specialist: Client, machine: Machine) -> None:
    make_catalogue(machine.branch)
    make_season(machine)
    typed = {
        "title": "July",
        "on": "2027-07-08",
        "earlier": "Post herbicide",
        "later": "Fungicide",
        "machine_class": "self-propelled",
    }
    answer = specialist.post(f"/machines/{machine.pk}/changeovers/new/", typed)
    changeover = Changeover.objects.get()
    assert answer["Location"] == f"/changeovers/{changeover.pk}/edit/"
    assert changeover.document["from"] == "Post herbicide"
    assert changeover.on == date(2027, 7, 8)
    page = specialist.post(f"/machines/{machine.pk}/changeovers/new/", typed | {"later": "Post herbicide"})
    assert "Both are the same pass" in page.content.decode()


def test_an_answer_is_asked_for_once(specialist: Client, machine: Machine) -> None:
    make_catalogue(machine.branch)
    changeover = make_changeover(machine, make_season(machine))
    for _ in range(2):
        specialist.post(f"/changeovers/{changeover.pk}/answer/")
    assert Job.objects.filter(kind="changeover").count() == 1


def test_a_step_written_down_twice_by_the_same_click_stands_once(specialist: Client, changeover: Changeover) -> None:
    typed = note(water="40 gal")
    for _ in range(2):
        specialist.post(f"/changeovers/{changeover.pk}/notes/", typed)
    written = ChangeoverNote.objects.get()
    assert (written.step, written.what, written.water, written.by) == ("before", "done", "40 gal", "A. Reed")
    assert "A. Reed" in specialist.get(f"/changeovers/{changeover.pk}/").content.decode()


def test_a_step_left_out_needs_a_reason(specialist: Client, changeover: Changeover) -> None:
    page = specialist.post(f"/changeovers/{changeover.pk}/notes/", note("skipped"), follow=True).content.decode()
    assert not ChangeoverNote.objects.exists()
    assert "Write down why the step is left out" in page
    specialist.post(f"/changeovers/{changeover.pk}/notes/", note("skipped", because="no eductor fitted"))
    assert ChangeoverNote.objects.get().because == "no eductor fitted"


def test_it_is_signed_only_when_every_step_is_done_and_then_nothing_changes(
    specialist: Client, changeover: Changeover
) -> None:
    address = f"/changeovers/{changeover.pk}/"
    specialist.post(f"{address}notes/", note())
    page = specialist.post(f"{address}sign/", {"signed_by": "B. Cole", "version": "1"}, follow=True).content.decode()
    changeover.refresh_from_db()
    assert changeover.signed_at is None
    assert "Not done yet: Let it stand" in page
    specialist.post(f"{address}notes/", note("begun", "stand"))
    specialist.post(f"{address}notes/", note("done", "stand"))
    specialist.post(f"{address}sign/", {"signed_by": "", "version": "1"})
    changeover.refresh_from_db()
    assert changeover.signed_at is None
    specialist.post(f"{address}sign/", {"signed_by": "B. Cole", "version": "1"})
    changeover.refresh_from_db()
    assert changeover.signed_by == "B. Cole"
    assert specialist.post(f"{address}notes/", note()).status_code == 403
    assert specialist.get(f"{address}edit/").status_code == 403


def test_an_entry_of_another_changeover_is_refused(specialist: Client, changeover: Changeover) -> None:
    other = make_changeover(changeover.machine)
    Changeover.objects.filter(pk=other.pk).update(in_us=changeover.in_us, in_si=changeover.in_si)
    typed = note()
    specialist.post(f"/changeovers/{other.pk}/notes/", typed)
    assert specialist.post(f"/changeovers/{changeover.pk}/notes/", typed).status_code == 403
    assert ChangeoverNote.objects.count() == 1


def test_strangers_find_no_changeover_and_viewers_write_nothing_down(
    stranger: Client, viewer: Client, changeover: Changeover
) -> None:
    address = f"/changeovers/{changeover.pk}/"
    assert stranger.get(address).status_code == 404
    assert stranger.post(f"{address}notes/", note()).status_code == 404
    page = viewer.get(address)
    assert page.status_code == 200
    assert "<button" not in page.content.decode().split("<main")[1]
    assert viewer.post(f"{address}notes/", note()).status_code == 403
    assert viewer.post(f"{address}sign/", {"signed_by": "Me"}).status_code == 403


def test_a_machine_without_two_passes_says_what_is_missing(specialist: Client, branch: Branch) -> None:
    machine = Machine.objects.create(
        branch=branch, customer=make_customer(branch, "Two Creeks"), document={"name": "Number 1"}
    )
    page: Any = specialist.get(f"/machines/{machine.pk}/changeovers/new/").content.decode()
    assert "needs a season with two passes" in page
