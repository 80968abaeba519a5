"""Counts tokens that nobody was given, by where they come from: whoever guesses has to wait."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import salted_hmac

from wetrun.shop.accounts.throttle import address_of
from wetrun.shop.links.models import WrongTry

MOST_TRIES: Final = 20
COUNTED_FOR: Final = timedelta(minutes=15)


def must_wait(request: HttpRequest) -> bool:
    """Return whether so many wrong tokens came from an address that it has to wait, with a right one too."""
    tries = WrongTry.objects.filter(whence=_whence(request), at__gt=timezone.now() - COUNTED_FOR)
    return tries.count() >= MOST_TRIES


def count_wrong(request: HttpRequest) -> None:
    """Count a wrong token, and forget those that no longer count."""
    WrongTry.objects.filter(at__lte=timezone.now() - COUNTED_FOR).delete()
    WrongTry.objects.create(whence=_whence(request))


def _whence(request: HttpRequest) -> str:
    return salted_hmac("wetrun.shop.links.whence", address_of(request) or "", algorithm="sha256").hexdigest()
