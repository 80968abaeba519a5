"""Photos of a walk round: sent to a point, shown to whoever may see the handover, taken away until it is signed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.template.defaultfilters import filesizeformat
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.machine.walk_round import WALK
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.models import User
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.photo_pixels import NoPhoto
from wetrun.shop.answers.photos import (
    CAME,
    MOST_AT_A_POINT,
    are_waiting,
    check_first_bytes,
    photo_taken,
    photo_taken_back,
    photos_by_point,
    place_of,
    why_not,
)
from wetrun.shop.handing.models import Photo
from wetrun.shop.pages.uploads import Upload, takes_files
from wetrun.shop.records.models import Handover
from wetrun.shop.records.models.base import Frozen

KINDS = "image/jpeg,image/png,image/webp"


class PhotoField(forms.FileField):
    """Takes one photo."""

    widget = forms.FileInput(attrs={"accept": KINDS})

    def __init__(self, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(allow_empty_file=True, **more)
        most = filesizeformat(settings.MOST_PHOTO_BYTES)
        words = _("JPEG, PNG or WebP, up to %(most)s, %(count)s a point. Where and when it was taken is not kept.")
        self.help_text = words % {"most": most, "count": MOST_AT_A_POINT}


class PhotoForm(forms.Form):
    """A photo of one point."""

    look = forms.ChoiceField(
        label=gettext_lazy("What it is of"), choices=[(look.key, f"{look.words}.") for look in WALK]
    )
    photo = PhotoField(label=gettext_lazy("Photo"))


@asks(Act.ENTER, posts=True, handover=Handover)
@takes_files("MOST_SENT_PHOTO_BYTES")
def handover_photos(request: DeskRequest, handover: Handover) -> HttpResponse:
    """Take photos of a walk round in."""
    posted = request.method == "POST"
    asked_for = {"look": request.GET.get("look")}
    form = PhotoForm(request.POST if posted else None, request.FILES if posted else None, initial=asked_for)
    if posted and form.is_valid():
        look = form.cleaned_data["look"]
        wrong = photo_sent(handover, look, form.cleaned_data["photo"], request.desk.user)
        if not wrong:
            return redirect(f"{reverse('handover-photos', kwargs={'handover': handover.pk})}?look={look}")
        form.add_error("photo", wrong)
    told = {"handover": handover, "form": form, "points": points_told(handover), "waiting": are_waiting(handover)}
    told["may_out"] = handover.signed_at is None
    return render(request, "handing/photos_page.html", told)


def photo_sent(handover: Handover, look: str, upload: object, by: User | None) -> str:
    """Keep a photo that came in.

    Parameters
    ----------
    handover : Handover
        Not signed.
    look : str
        Key of the point it is of.
    upload : object
        As the form gave it.
    by : User or None
        Who sent it; None over a link.

    Returns
    -------
    str
        Why it is not taken; empty if it is kept and will be looked at.
    """
    if not isinstance(upload, Upload):
        return _("The photo did not come in whole. Choose it again.")
    if words := why_not(handover, look, upload.size or 0, upload.sha256):
        return words
    try:
        check_first_bytes(upload.path)
    except NoPhoto as refused:
        return str(refused)
    photo = Photo(handover=handover, look=look, size=upload.size or 0, sha256=upload.sha256, stored=upload.keep(CAME))
    try:
        photo_taken(photo, by)
    except Frozen as signed:
        return str(signed)
    return ""


def points_told(handover: Handover) -> list[dict[str, Any]]:
    """Return the points of the walk that have photos, in the order of the walk."""
    photos = photos_by_point(handover)
    return [{"look": look, "photos": photos[look.key]} for look in WALK if look.key in photos]


@asks(Act.ENTER, posts=True, photo=Photo)
def photo_out(request: DeskRequest, photo: Photo) -> HttpResponse:
    """Take a photo away that was not meant."""
    if request.method == "POST":
        try:
            photo_taken_back(photo, request.desk.user)
        except Frozen as signed:
            messages.error(request, str(signed))
    return redirect("handover-photos", handover=photo.handover.pk)


@asks(Act.LOOK, photo=Photo)
def photo_shown(_request: DeskRequest, photo: Photo) -> HttpResponse:
    """Show a photo."""
    return photo_answer(photo)


def photo_answer(photo: Photo) -> HttpResponse:
    """Return a photo as a picture that can do nothing but be looked at.

    Raises
    ------
    Http404
        If there is none to show; what came in is shown to nobody before it was looked at.
    """
    place = place_of(photo) if photo.is_ready else None
    if place is None:
        raise Http404(_("There is no such photo to show."))
    headers = {
        "Content-Disposition": f'inline; filename="photo-{photo.pk}.jpg"',
        "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; sandbox",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cache-Control": "private, max-age=3600",
    }
    return HttpResponse(place.read_bytes(), content_type="image/jpeg", headers=headers)


addresses = [
    path("handovers/<int:handover>/photos/", handover_photos, name="handover-photos"),
    path("photos/<int:photo>.jpg", photo_shown, name="photo"),
    path("photos/<int:photo>/take-away/", photo_out, name="photo-out"),
]
