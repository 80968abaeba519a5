"""The yard's list of a changeover: each step written down once it is begun, done or left out; then signed."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.changeover.yard_step import Signing
from wetrun.errors import WetrunError
from wetrun.quantity import sentence
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.changeover_record import StepNote, keep_note, sign
from wetrun.shop.pages.changeover_forms import NoteForm, new_entry
from wetrun.shop.pages.sheet_keeping import read_version
from wetrun.shop.records.models import Changeover, ChangeoverNote
from wetrun.shop.records.models.base import Changed

_STANDING: Final = Signing.STANDING.value
_SIGNATURE: Final = Signing.LAST.value


def steps_of(changeover: Changeover) -> list[dict[str, Any]]:
    """Return the yard's list with what was written down of each step.

    Parameters
    ----------
    changeover : Changeover
        With an answer; without one there is no list yet.

    Returns
    -------
    list of dict
        ``step``, ``do``, ``notes``, ``stands`` (its beginning is written down too) and ``entry``, a name for the next
        note. The last step of a list is the signature, which is no note.
    """
    written: dict[str, list[ChangeoverNote]] = {}
    for note in changeover.notes.all():
        written.setdefault(note.step, []).append(note)
    keys = [] if changeover.in_us is None else changeover.in_us.get("keys", [])
    return [
        {**one, "notes": written.get(one["step"], []), "stands": one["signing"] == _STANDING, "entry": new_entry()}
        for one in keys
        if one["signing"] != _SIGNATURE
    ]


def open_steps(changeover: Changeover) -> list[str]:
    """Return the steps that were neither done nor left out with a reason."""
    return [one["do"] for one in steps_of(changeover) if not any(n.what in {"done", "skipped"} for n in one["notes"])]


@asks(Act.ENTER, posts=True, changeover=Changeover)
def changeover_note(request: DeskRequest, changeover: Changeover) -> HttpResponse:
    """Write a step down. Sent twice it is kept once."""
    if changeover.signed_at is not None:
        raise PermissionDenied(_("This changeover is signed: nothing more is written down."))
    form = NoteForm(request.POST)
    if request.method == "POST" and form.is_valid():
        _keep(request, changeover, form.cleaned_data)
    else:
        for errors in form.errors.values():
            for error in errors:
                messages.error(request, str(error))
    return redirect(_list_of(changeover))


def _keep(request: DeskRequest, changeover: Changeover, typed: dict[str, Any]) -> None:
    try:
        keep_note(changeover, StepNote(**typed, at=timezone.now()), request.desk)
    except WetrunError as fault:
        messages.error(request, sentence(fault, request.desk.system))


@asks(Act.ENTER, posts=True, changeover=Changeover)
def changeover_sign(request: DeskRequest, changeover: Changeover) -> HttpResponse:
    """Sign a changeover on which every step is done, or left out with a reason."""
    name = " ".join(request.POST.get("signed_by", "").split())[:200]
    if request.method == "POST" and changeover.signed_at is None:
        left = open_steps(changeover)
        if changeover.in_us is None:
            messages.error(request, _("There is no list yet: work the changeover out first."))
        elif left:
            messages.error(request, _("Not done yet: %(steps)s") % {"steps": "; ".join(left)})
        elif not name:
            messages.error(request, _("Type the name of whoever signs."))
        else:
            _sign(request, changeover, name)
    return redirect(_list_of(changeover))


def _sign(request: DeskRequest, changeover: Changeover, name: str) -> None:
    try:
        sign(changeover, request.desk, name, expected=read_version(request, changeover))
    except Changed:
        messages.error(request, _("Somebody changed the changeover in the meantime: look again before signing."))
    except WetrunError as fault:
        messages.error(request, sentence(fault, request.desk.system))
    else:
        messages.success(request, _("Signed."))


def _list_of(changeover: Changeover) -> str:
    return f"{reverse('changeover', kwargs={'changeover': changeover.pk})}#steps"


addresses = [
    path("changeovers/<int:changeover>/notes/", changeover_note, name="changeover-note"),
    path("changeovers/<int:changeover>/sign/", changeover_sign, name="changeover-sign"),
]
