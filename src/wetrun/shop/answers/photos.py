"""Photos of a walk round: taken in within limits, looked at by the worker, taken back before anybody signs."""

from __future__ import annotations

import os
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from django.conf import settings
from django.db import transaction
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _

from wetrun.shop.accounts.models import User
from wetrun.shop.answers.photo_pixels import Clean, NoPhoto, check_kind, clean_photo
from wetrun.shop.handing.models import LOOKED_AT, READY, REFUSED, Photo
from wetrun.shop.jobs.asking import asked
from wetrun.shop.records.models import Customer, Handover
from wetrun.shop.records.models.base import Frozen
from wetrun.shop.records.trail import told

CAME: Final = "photos-came"
"""Room of files as they came in, with all the camera wrote into them; they are gone once they were looked at."""
ROOM: Final = "photos"
LEFT_BEHIND_S: Final = 3600.0
"""A file as it came in that no photo names after so long was left by a process that died."""
MOST_PHOTOS: Final = 24
"""Of one handover."""
MOST_AT_A_POINT: Final = 6
KIND: Final = "photo"
"""Of the job that looks at one."""


def why_not(handover: Handover, look: str, size: int, sha256: str) -> str:
    """Return why another photo is not taken, as a sentence; empty if it is.

    Parameters
    ----------
    handover : Handover
        It would belong to.
    look : str
        Key of the point it is of.
    size : int
        Bytes.
    sha256 : str
        Of its bytes.

    Returns
    -------
    str
        What is wrong and what to do; what is in the file is not looked at here.
    """
    here = list(Photo.objects.filter(handover=handover).exclude(state=REFUSED).values_list("look", "sha256"))
    at_point = [digest for point, digest in here if point == look]
    if size == 0:
        return _("The photo is empty. Take it again.")
    if size > settings.MOST_PHOTO_BYTES:
        words = _("The photo has %(size)s, and %(most)s is the most. Take it at a lower setting of the camera.")
        return words % {"size": filesizeformat(size), "most": filesizeformat(settings.MOST_PHOTO_BYTES)}
    if sha256 in at_point:
        return _("This photo is here already.")
    if len(at_point) >= MOST_AT_A_POINT:
        return _("%(most)s photos of this point are here, and no more are taken. Take one away first.") % {
            "most": MOST_AT_A_POINT
        }
    if len(here) >= MOST_PHOTOS:
        words = _("%(most)s photos of this handover are here, and no more are taken. Take one away first.")
        return words % {"most": MOST_PHOTOS}
    return ""


def check_first_bytes(file: Path) -> None:
    """Refuse a file that does not begin as a photo does.

    Raises
    ------
    NoPhoto
        With a sentence.
    """
    with file.open("rb") as opened:
        check_kind(opened.read(32))


def photo_taken(photo: Photo, by: User | None) -> Photo:
    """Keep a photo, and have it looked at.

    Parameters
    ----------
    photo : Photo
        Stored, not saved; of a handover that is not signed.
    by : User or None
        Who sent it; None over a link.

    Returns
    -------
    Photo
        Saved.

    Raises
    ------
    Frozen
        If the handover was signed meanwhile.
    """
    with transaction.atomic():
        _check_open(photo.handover)
        photo.branch, photo.made_by = photo.handover.branch, by
        photo.save()
        told(photo, _("photo sent"), by)
        words = _("A photo of %(machine)s") % {"machine": photo.handover.machine}
        asked(photo.branch, KIND, by=by, words=words, args={"photo": photo.pk}, subject=photo)
    return photo


def photo_taken_back(photo: Photo, by: User | None) -> None:
    """Take a photo away that was not meant; its files are deleted.

    Raises
    ------
    Frozen
        If the handover is signed.
    """
    files = [settings.UPLOADS / name for name in {photo.stored, _clean_name(photo.stored)} if photo.stored]
    with transaction.atomic():
        _check_open(photo.handover)
        told(photo, _("photo taken away"), by)
        photo.delete()
        transaction.on_commit(lambda: _deleted(files))


def _check_open(handover: Handover) -> None:
    """Refuse to touch the photos of a signed handover; until the transaction ends nobody signs it."""
    if Handover.objects.select_for_update().get(pk=handover.pk).signed_at is not None:
        raise Frozen(_("This handover is signed: its photos stay as they are. Begin a new one."))


def _deleted(files: list[Path]) -> None:
    for file in files:
        file.unlink(missing_ok=True)


def place_of(photo: Photo) -> Path | None:
    """Return where the file of a photo lies; None where there is none."""
    place: Path = settings.UPLOADS / photo.stored
    return place if photo.stored and place.is_file() else None


def look_at(photo: Photo) -> None:
    """Look at a photo as it came in, and write it anew beside it; nothing is saved.

    Parameters
    ----------
    photo : Photo
        Being looked at; its columns say afterwards what it is. What came in goes with the next `swept`.
    """
    came = place_of(photo)
    if came is None:
        _refuse(photo, _("The file is gone from the shop's disk. Send the photo again."))
        return
    try:
        clean = clean_photo(came)
    except NoPhoto as refused:
        _refuse(photo, str(refused))
        return
    photo.stored, photo.size = _stored(clean, _clean_name(photo.stored)), len(clean.jpeg)
    photo.wide, photo.high, photo.state = clean.wide, clean.high, READY


def _refuse(photo: Photo, words: str) -> None:
    photo.stored, photo.size, photo.state, photo.refused = "", 0, REFUSED, words


def _clean_name(stored: str) -> str:
    """Return where a photo is written anew: the same place however often a worker has to begin again."""
    name = Path(stored).stem
    return f"{ROOM}/{name[:2]}/{name}.jpg"


def _stored(clean: Clean, stored: str) -> str:
    """Write a clean photo, on the disk before any record says so."""
    place = settings.UPLOADS / stored
    place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with os.fdopen(os.open(place, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as opened:
        opened.write(clean.jpeg)
        opened.flush()
        os.fsync(opened.fileno())
    return stored


def swept(also: str = "") -> None:
    """Delete what came in and no photo names any more: the file just looked at, and what dead workers left.

    Parameters
    ----------
    also : str
        Path below the uploads of the file just looked at.
    """
    if also.startswith(f"{CAME}/"):
        (settings.UPLOADS / also).unlink(missing_ok=True)
    oldest = time.time() - LEFT_BEHIND_S
    left = [file for file in (settings.UPLOADS / CAME).glob("*/*") if file.stat().st_mtime < oldest]
    if left:
        named = set(Photo.objects.filter(state=LOOKED_AT).values_list("stored", flat=True))
        _deleted([file for file in left if file.relative_to(settings.UPLOADS).as_posix() not in named])


def photos_by_point(handover: Handover) -> Mapping[str, list[Photo]]:
    """Return the photos of a handover by the point they are of, in the order they came."""
    found: dict[str, list[Photo]] = {}
    for photo in Photo.objects.filter(handover=handover):
        found.setdefault(photo.look, []).append(photo)
    return found


def are_waiting(handover: Handover) -> bool:
    """Whether a photo of a handover is still being looked at."""
    return Photo.objects.filter(handover=handover, state=LOOKED_AT).exists()


def photo_files(customer: Customer) -> dict[str, Path]:
    """Return the photos of a customer's handovers: where they lie, by their name in a file that hands data over."""
    found = Photo.objects.filter(handover__machine__customer=customer, state=READY)
    places = ((photo.pk, place_of(photo)) for photo in found)
    return {f"photos/{key}.jpg": place for key, place in places if place is not None}
