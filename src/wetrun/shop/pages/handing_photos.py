"""Photos an operator sends over a link: the same limits and the same look at them as those sent from the shop."""

from __future__ import annotations

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils.translation import gettext as _

from wetrun.shop.answers.photos import are_waiting, photo_taken_back
from wetrun.shop.handing.models import Photo, Walk
from wetrun.shop.links.door import asks_link, made_private
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.pages.handing_walk import page, token_of, walk_in
from wetrun.shop.pages.photos import PhotoForm, photo_answer, photo_sent, points_told
from wetrun.shop.pages.uploads import takes_files
from wetrun.shop.records.models.base import Frozen


@asks_link(Purpose.HANDOVER, posts=True)
@takes_files("MOST_SENT_PHOTO_BYTES")
def handing_photos(request: HttpRequest, link: Link, walk: uuid.UUID) -> HttpResponse:
    """Take photos of a walk in, and take one away that was not meant."""
    it = walk_in(link, walk)
    if it.handover.signed_at is not None:
        return redirect("handing-walk", token=token_of(request), walk=it.key)
    here = reverse("handing-photos", kwargs={"token": token_of(request), "walk": it.key})
    if "out" in request.POST:
        _take_away(it, request.POST["out"])
        return redirect(here)
    posted = request.method == "POST"
    asked_for = {"look": request.GET.get("look")}
    form = PhotoForm(request.POST if posted else None, request.FILES if posted else None, initial=asked_for)
    if posted and form.is_valid():
        look = form.cleaned_data["look"]
        wrong = photo_sent(it.handover, look, form.cleaned_data["photo"], None)
        if not wrong:
            return redirect(f"{here}?look={look}")
        form.add_error("photo", wrong)
    told = {"form": form, "points": points_told(it.handover), "waiting": are_waiting(it.handover)}
    return page(request, "handing/link_photos.html", it, step="photos", **told)


def _take_away(it: Walk, key: str) -> None:
    photo = _photo_in(it, int(key)) if key.isascii() and key.isdigit() and len(key) < 19 else None
    if photo is not None:
        try:
            photo_taken_back(photo, None)
        except Frozen:
            return  # signed meanwhile: the page it leads back to says so


def _photo_in(it: Walk, key: int) -> Photo | None:
    return Photo.objects.select_related("branch", "handover").filter(handover=it.handover_id, pk=key).first()


@asks_link(Purpose.HANDOVER)
def handing_photo(_request: HttpRequest, link: Link, walk: uuid.UUID, photo: int) -> HttpResponse:
    """Show a photo of a walk."""
    found = _photo_in(walk_in(link, walk), photo) if photo < 2**63 else None
    if found is None:
        raise Http404(_("There is no such photo to show."))
    return made_private(photo_answer(found))


addresses = [
    path("take-over/<str:token>/<uuid:walk>/photos/", handing_photos, name="handing-photos"),
    path("take-over/<str:token>/<uuid:walk>/photos/<int:photo>.jpg", handing_photo, name="handing-photo"),
]
