"""The record of a changeover: who did which step when, and the signature that closes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.changeover.yard_step import Signing
from wetrun.errors import NotDefined
from wetrun.quantity import System
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.changeovers import is_answered, laid_out_of, with_record
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Changeover, ChangeoverNote
from wetrun.shop.records.models.base import Frozen
from wetrun.shop.records.trail import told


@dataclass(frozen=True, slots=True, kw_only=True)
class StepNote:
    """What somebody writes down of one step.

    Attributes
    ----------
    entry : UUID
        Made where it was typed; sending a note again sends the same one.
    step : str
        The step's name in the record.
    what : str
        "begun", "done" or "skipped".
    by : str
        Who did it.
    at : datetime
        When, with a time zone.
    water : str
        Water used, as typed.
    because : str
        Why it was left out.
    """

    entry: UUID
    step: str
    what: str
    by: str
    at: datetime
    water: str = ""
    because: str = ""


def steps_of(changeover: Changeover, system: System) -> list[dict[str, Any]]:
    """Return the yard's steps in order, with everything that was written down of each.

    Parameters
    ----------
    changeover : Changeover
        Answered; nothing comes back of one that is not.
    system : System
        The reader's unit system.

    Returns
    -------
    list of dict
        As `wetrun.papers.changeover_yard.step_rows`, with ``notes`` (records, the earliest first) and ``state``:
        "open", "begun", "done" or "skipped".
    """
    data = changeover.in_us if system is System.US else changeover.in_si
    notes: dict[str, list[ChangeoverNote]] = {}
    for note in changeover.notes.all():
        notes.setdefault(note.step, []).append(note)
    rows = [] if data is None else data["keys"]
    return [{**row, "notes": notes.get(row["step"], []), "state": _state(notes.get(row["step"], []))} for row in rows]


def keep_note(changeover: Changeover, note: StepNote, desk: Desk) -> ChangeoverNote:
    """Keep what was written down of a step: once, however often it is sent.

    Parameters
    ----------
    changeover : Changeover
        An open one that was answered.
    note : StepNote
        What was written down.
    desk : Desk
        Who writes.

    Returns
    -------
    ChangeoverNote
        Saved; the changeover shows it.

    Raises
    ------
    Frozen
        If the record is signed, or the entry is one of another changeover.
    NotDefined
        If its list has no such step.
    WetrunError
        If the water cannot be read; nothing is kept then.
    """
    with transaction.atomic():
        locked = (
            Changeover.objects.select_for_update(of=("self",))
            .select_related("branch", "machine__customer")
            .get(pk=changeover.pk)
        )
        before = ChangeoverNote.objects.filter(pk=note.entry).first()
        if before is not None:
            return _same(before, locked)
        _check_open(locked)
        _check_step(locked, note)
        saved = _saved(locked, note, desk)
        with_record(locked)
        Changeover.objects.filter(pk=locked.pk).update(in_us=locked.in_us, in_si=locked.in_si)
        told(locked, f"{note.step}: {note.what}", desk.user)
    changeover.in_us, changeover.in_si = locked.in_us, locked.in_si
    return saved


def sign(changeover: Changeover, desk: Desk, by: str, *, expected: int | None = None) -> Changeover:
    """Sign a changeover: from now on it is as it is.

    Parameters
    ----------
    changeover : Changeover
        An open one, answered as it is asked now.
    desk : Desk
        Who is at the desk.
    by : str
        Who answers for the machine.
    expected : int or None
        The version that was read.

    Returns
    -------
    Changeover
        Saved. The paper says whether the record is complete, and what is lacking.

    Raises
    ------
    Frozen
        If it is signed already.
    NotDefined
        If it is not answered as it is asked now.
    Changed
        If somebody else was quicker.
    """
    _check_open(changeover)
    if not is_answered(changeover):
        reason = _("it was changed since it was worked out")
        raise NotDefined(str(changeover), reason=reason, remedy=_("Work it out again, then sign"))
    now = timezone.now()
    with transaction.atomic():
        for row in (changeover.in_us or {}).get("keys", []):
            if row["signing"] == Signing.LAST.value:  # the signature is the last step of the list
                _saved(changeover, StepNote(entry=uuid4(), step=row["step"], what="done", by=by, at=now), desk)
        changeover.signed_by, changeover.signed_at = by.strip(), now
        with_record(changeover)
        changeover.files_then = dict(laid_out_of(changeover).texts)
        words = _("signed by %(name)s") % {"name": changeover.signed_by}
        return kept(changeover, desk, words, expected=expected, after={"signed_by": changeover.signed_by})


def record_of(changeover: Changeover, system: System) -> Mapping[str, Any] | None:
    """Return whether the record is complete, what is lacking, and what may be said; None if nothing was written."""
    data = changeover.in_us if system is System.US else changeover.in_si
    found: Mapping[str, Any] | None = None if data is None else data["yard"]["record"]
    return found


def _saved(changeover: Changeover, note: StepNote, desk: Desk) -> ChangeoverNote:
    return ChangeoverNote.objects.create(
        entry=note.entry,
        changeover=changeover,
        step=note.step,
        what=note.what,
        water=note.water.strip(),
        because=note.because.strip(),
        by=note.by.strip(),
        user=desk.user,
        at=note.at,
    )


def _same(before: ChangeoverNote, changeover: Changeover) -> ChangeoverNote:
    if before.changeover_id != changeover.pk:
        raise Frozen(_("This entry belongs to another changeover."))
    return before


def _state(notes: list[ChangeoverNote]) -> str:
    return notes[-1].what if notes else "open"


def _check_open(changeover: Changeover) -> None:
    if changeover.signed_at is not None:
        raise Frozen(_("This changeover is signed: nothing more is written down."))


def _check_step(changeover: Changeover, note: StepNote) -> None:
    known = [] if changeover.in_us is None else [row["step"] for row in changeover.in_us["keys"]]
    if note.step not in known:
        reason = _("the list has no such step") if known else _("it was not worked out yet, so it has no list")
        raise NotDefined(note.step, reason=reason, remedy=_("Look at the list again"))
