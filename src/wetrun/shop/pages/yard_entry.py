"""Takes what a device in the yard typed, perhaps hours ago and perhaps twice, and answers entry by entry."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpResponseBase, JsonResponse, QueryDict
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.wet_run_tests import yard_test_named
from wetrun.shop.answers.yard_tips import keep_tip_in_unit, wrong_with_tip
from wetrun.shop.pages.readings import BAD, CONFLICT, THERE, MomentField, refusal_words
from wetrun.shop.pages.yard_rows import keep_boxes
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.readings import ReadingRefused, TypedReading
from wetrun.shop.yard.models import YardEntry
from wetrun.shop.yard.second_readings import YardKept

FORMAT_VERSION: Final = 1
MOST: Final = 50
"""So many entries in one sending."""
Message = Mapping[str, Any]


class EntryForm(forms.Form):
    """What every entry says of itself."""

    entry = forms.UUIDField()
    at = MomentField(max_length=40, required=False)
    place = forms.CharField(max_length=120, required=False)
    typed = forms.CharField(max_length=40, required=False)
    unit = forms.CharField(max_length=20, required=False)
    after = forms.UUIDField(required=False)
    test = forms.CharField(max_length=40, required=False)


@asks(Act.ENTER, posts=True, wet_run=WetRun)
def yard_entries(request: DeskRequest, wet_run: WetRun) -> HttpResponseBase:
    """Take entries of one wet run; each is kept or refused by itself."""
    if request.method != "POST":
        return JsonResponse({"format_version": FORMAT_VERSION, "wet_run": wet_run.pk, "takes": wet_run.is_open})
    try:
        sent = _read(request.body)
    except ValidationError as wrong:
        return JsonResponse({"format_version": FORMAT_VERSION, "words": wrong.messages}, status=BAD)
    if sent["person"] != request.user.pk:
        words = [_("Somebody else typed this. It is sent when that person is signed in on the device.")]
        return JsonResponse({"format_version": FORMAT_VERSION, "words": words}, status=CONFLICT)
    answers = [_answer(request, wet_run, one) for one in sent["messages"]]
    return JsonResponse({"format_version": FORMAT_VERSION, "answers": answers}, status=THERE)


def _read(body: bytes) -> dict[str, Any]:
    """Return what was sent; refuse what is of another shape or of a newer format than ours."""
    try:
        sent = json.loads(body)
    except (ValueError, RecursionError):
        raise ValidationError(_("What was sent cannot be read.")) from None
    if not isinstance(sent, dict) or sent.get("format_version") != FORMAT_VERSION:
        words = _("The device sends another format than the shop's %(ours)s. Load the page anew, then send again.")
        raise ValidationError(words % {"ours": FORMAT_VERSION})
    messages = sent.get("messages")
    if not isinstance(messages, list) or len(messages) > MOST or not all(isinstance(one, dict) for one in messages):
        raise ValidationError(_("Send at most %(most)s entries at once.") % {"most": MOST})
    return {"person": sent.get("person"), "messages": messages}


def _answer(request: DeskRequest, wet_run: WetRun, message: Message) -> dict[str, Any]:
    """Keep one entry, and say what came of it."""
    form = EntryForm(dict(message))
    if message.get("format_version") != FORMAT_VERSION or not form.is_valid():
        return _told(message, "refused", [_("The entry cannot be read.")])
    try:
        if message.get("kind") == "tip":
            return _tip(request, wet_run, form.cleaned_data)
        return _boxes(request, wet_run, form.cleaned_data, message.get("boxes"))
    except ReadingRefused as refused:
        return _told(message, "refused", [refusal_words(refused)])


def _tip(request: DeskRequest, wet_run: WetRun, given: dict[str, Any]) -> dict[str, Any]:
    wrong = wrong_with_tip(wet_run, given["place"], given["typed"], given["unit"])
    if wrong is None:
        return _told(given, "refused", [_("The boom has no such tip: %(place)s.") % {"place": given["place"]}])
    if wrong:
        return _told(given, "refused", [wrong])
    reading = TypedReading(given["entry"], given["place"], given["typed"], given["at"] or timezone.now())
    kept = keep_tip_in_unit(wet_run, reading, request.desk, unit=given["unit"], after=given["after"])
    return _told(given, *_came_of(kept))


def _came_of(kept: YardKept) -> tuple[str, list[str]]:
    second = kept.second
    if second is None or second.decided_at is not None:
        return "kept", []
    words = _("Tip %(tip)s: %(who)s read %(first)s, you read %(second)s. Both are kept; somebody has to decide.")
    by = second.against.by
    who = by.name if by is not None else _("somebody else")
    said = {"tip": second.tip, "who": who, "first": second.against.typed or _("nothing"), "second": second.typed}
    return "second", [words % said]


def _boxes(request: DeskRequest, wet_run: WetRun, given: dict[str, Any], boxes: object) -> dict[str, Any]:
    """Keep a row or a sheet: what stood in the boxes, as the plain form would have sent it."""
    test = yard_test_named(given["test"])
    if test is None or not _are_boxes(boxes):
        return _told(given, "refused", [_("The entry cannot be read.")])
    with transaction.atomic():
        now = WetRun.objects.select_for_update(of=("self",)).select_related("branch", "machine", "season")
        run = now.get(pk=wet_run.pk)
        if YardEntry.objects.filter(pk=given["entry"]).exists():
            return _told(given, "kept", [])
        request.POST = _posted(boxes)  # type: ignore[assignment, arg-type]
        wrong = keep_boxes(request, run, test)
        if not wrong:
            own = {"test": test.key, "typed": boxes, "by": request.user, "at": given["at"] or timezone.now()}
            YardEntry.objects.create(entry=given["entry"], wet_run=run, **own)
    return _told(given, "refused" if wrong else "kept", wrong)


def _are_boxes(boxes: object) -> bool:
    return isinstance(boxes, dict) and all(
        isinstance(texts, list) and all(isinstance(text, str) for text in texts) for texts in boxes.values()
    )


def _posted(boxes: Mapping[str, list[str]]) -> QueryDict:
    posted = QueryDict(mutable=True)
    for name, texts in boxes.items():
        posted.setlist(name, texts)
    return posted


def _told(given: Message, state: str, words: list[str]) -> dict[str, Any]:
    entry = given.get("entry")
    return {"entry": str(entry) if isinstance(entry, str | UUID) else "", "state": state, "words": words}


addresses = [path("wet-runs/<int:wet_run>/from-the-yard/", yard_entries, name="yard-entries")]
