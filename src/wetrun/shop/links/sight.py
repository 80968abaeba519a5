"""What may this token see: the one place that answers it."""

from __future__ import annotations

from enum import Enum
from typing import Final

from django.db import transaction
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.links.tokens import hash_of, is_ours
from wetrun.shop.records.trail import told

GONE: Final = 410
NOT_FOUND: Final = 404
TOO_MANY: Final = 429


class Refusal(Enum):
    """Why a token opens nothing: status, what stands above, and the sentence. None of them tells of the record."""

    TAMPERED = (
        NOT_FOUND,
        gettext_lazy("This link is not whole"),
        gettext_lazy(
            "Some of its letters are missing or changed. Open it from the message it came in, or copy all of it."
        ),
    )
    UNKNOWN = (
        NOT_FOUND,
        gettext_lazy("This link is not known here"),
        gettext_lazy("Ask whoever sent it for a new one."),
    )
    WRONG_PURPOSE = (
        NOT_FOUND,
        gettext_lazy("This link is for something else"),
        gettext_lazy("It opens another page than this one. Open it from the message it came in."),
    )
    EXPIRED = (
        GONE,
        gettext_lazy("This link has expired"),
        gettext_lazy("Its last day is over. Ask whoever sent it for a new one."),
    )
    REVOKED = (
        GONE,
        gettext_lazy("This link was taken back"),
        gettext_lazy("A newer one may have been sent; if there is none, ask whoever sent it."),
    )
    USED_UP = (
        GONE,
        gettext_lazy("This link was used"),
        gettext_lazy("What it was sent for is done. If something has to be changed, call whoever sent it."),
    )
    GUESSED = (
        TOO_MANY,
        gettext_lazy("Too many links that do not open"),
        gettext_lazy("Wait a quarter of an hour, then open the link from the message it came in."),
    )

    @property
    def status(self) -> int:
        """Of the answer."""
        return self.value[0]

    @property
    def title(self) -> Promise:
        """What stands above."""
        return self.value[1]

    @property
    def words(self) -> Promise:
        """What to do."""
        return self.value[2]


class LinkRefused(Exception):  # noqa: N818 - named as a reader would say it
    """A token that opens nothing, and why."""

    def __init__(self, why: Refusal) -> None:
        self.why = why
        super().__init__(why.name)


def seen_with(token: str, purpose: Purpose) -> Link:
    """Return the link of a token: it names the one record that may be seen.

    Parameters
    ----------
    token : str
        As it stands in the address.
    purpose : Purpose
        What the page at the address is for.

    Returns
    -------
    Link
        Open, with branch, machine and customer.

    Raises
    ------
    LinkRefused
        With the reason.
    """
    if not is_ours(token):
        raise LinkRefused(Refusal.TAMPERED)
    found = Link.objects.filter(token_hash=hash_of(token)).select_related("branch", "machine__customer").first()
    if found is None:
        raise LinkRefused(Refusal.UNKNOWN)
    if (why := _closed(found, purpose)) is not None:
        raise LinkRefused(why)
    return found


def _closed(link: Link, purpose: Purpose) -> Refusal | None:
    if link.purpose != purpose.value:
        return Refusal.WRONG_PURPOSE
    # Whoever took it back meant it, whatever became of it since.
    if link.revoked_at is not None:
        return Refusal.REVOKED
    if link.used_at is not None:
        return Refusal.USED_UP
    return Refusal.EXPIRED if link.until <= timezone.now() else None


def seen_again(link: Link) -> None:
    """Ask once more whether a link is open, in the transaction that acts on it, and hold it so until that ends.

    Raises
    ------
    LinkRefused
        If it was used, taken back or expired while the page was filled in.
    """
    now = Link.objects.select_for_update().get(pk=link.pk)
    if (why := _closed(now, Purpose(now.purpose))) is not None:
        raise LinkRefused(why)


def opened(link: Link) -> None:
    """Keep when a link was opened for the first time."""
    now = timezone.now()
    with transaction.atomic():
        if Link.objects.filter(pk=link.pk, opened_at=None).update(opened_at=now):
            told(link, _("link opened"), None)
    link.opened_at = link.opened_at or now


def used(link: Link) -> None:
    """Keep that what a link was made for is done; to be called in the transaction that does it.

    Parameters
    ----------
    link : Link
        As `seen_with` gave it.

    Raises
    ------
    LinkRefused
        If it was used, taken back or expired while the page was filled in.
    """
    now = timezone.now()
    still = Link.objects.filter(pk=link.pk, used_at=None, revoked_at=None, until__gt=now)
    if not still.update(used_at=now):
        link.refresh_from_db(fields=("used_at", "revoked_at", "until"))
        raise LinkRefused(_closed(link, Purpose(link.purpose)) or Refusal.USED_UP)
    link.used_at = now
    told(link, _("link used"), None)
