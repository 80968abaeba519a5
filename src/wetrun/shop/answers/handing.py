"""Keeps what comes over a handover's link: every operator's own walk, as it was typed, with its line in the trail."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.answers.handovers import LeftNumber, left_numbers
from wetrun.shop.handing.models import Offer, Walk
from wetrun.shop.links.models import Link
from wetrun.shop.links.sight import LinkRefused, Refusal, seen_again, used
from wetrun.shop.records.differences import columns_of, moved
from wetrun.shop.records.models import Handover, MonitorSettings
from wetrun.shop.records.models.base import Changed
from wetrun.shop.records.trail import told

MOST_WALKS: Final = 60
"""Over one link: more operators than any machine sees in a season."""


class Signed(Exception):  # noqa: N818 - named as a reader would say it
    """The walk was signed meanwhile: it is shown, and never changed."""


class TooManyWalks(ValueError):  # noqa: N818 - named as a reader would say it
    """More walks were begun over one link than it takes; the sentence says what to do."""

    def __init__(self) -> None:
        words = _("%(most)s walks were begun over this link, and no more are taken. Ask whoever sent it for a new one.")
        super().__init__(words % {"most": MOST_WALKS})


def offer_of(link: Link) -> Offer:
    """Return what a link offers.

    Raises
    ------
    LinkRefused
        If it is gone.
    """
    found = Offer.objects.select_related("branch", "machine__customer", "plan__season")
    offer = found.filter(pk=link.subject_key, branch=link.branch_id).first()
    if offer is None:
        raise LinkRefused(Refusal.REVOKED)
    return offer


def walk_of(offer: Offer, key: uuid.UUID) -> Walk | None:
    """Return one walk of an offer; None if it has none of that key."""
    found = Walk.objects.select_related("branch", "handover__machine", "supersedes").filter(offer=offer, key=key)
    return found.first()


def unsigned_walks(offer: Offer) -> list[Walk]:
    """Return the walks that were begun over a link and not signed, the latest first."""
    return list(Walk.objects.filter(offer=offer, handover__signed_at=None).select_related("handover"))


def left_on(offer: Offer) -> tuple[LeftNumber, ...]:
    """Return the numbers the monitor of an offered machine was left with."""
    settings = MonitorSettings.objects.filter(machine=offer.machine_id).first()
    return () if settings is None else left_numbers(settings)


def walk_begun(offer: Offer, operator: str, *, supersedes: Handover | None = None) -> Walk:
    """Begin a walk: another one for every operator, so that nobody writes over anybody.

    Parameters
    ----------
    offer : Offer
        Of an open link.
    operator : str
        Who takes the machine, as typed.
    supersedes : Handover or None
        A signed one it stands in for once it is signed.

    Returns
    -------
    Walk
        Saved, with its handover.

    Raises
    ------
    TooManyWalks
        If the link takes no more.
    """
    season = None if offer.plan is None else offer.plan.season
    own = {"branch": offer.branch, "machine": offer.machine}
    with transaction.atomic():
        Offer.objects.select_for_update().get(pk=offer.pk)
        if Walk.objects.filter(offer=offer).count() >= MOST_WALKS:
            raise TooManyWalks
        handover = Handover(season=season, pass_name=offer.pass_name, operator=operator, **own)
        handover.over_link = True
        handover.save()
        walk = Walk(branch=offer.branch, offer=offer, handover=handover, supersedes=supersedes)
        walk.save()
        told(handover, _("begun over a link"), None)
    return walk


def keep_step(walk: Walk, change: Callable[[Handover], None], what: str, *, expected: int) -> Handover:
    """Keep one step of a walk as it was typed.

    Parameters
    ----------
    walk : Walk
        Of an open link.
    change : callable
        Lays what was typed on the handover as it stands now.
    what : str
        For the trail.
    expected : int
        The version the page was filled from.

    Returns
    -------
    Handover
        As it stands now.

    Raises
    ------
    Signed
        If it was signed meanwhile.
    Changed
        If somebody else changed it meanwhile; nothing is kept then.
    """
    with transaction.atomic():
        return _kept(walk, change, what, expected)


def sign_walk(walk: Walk, link: Link, change: Callable[[Handover], None], *, expected: int) -> Handover:
    """Sign a walk; it is never changed any more. A link for one operator is closed by it.

    Parameters
    ----------
    walk : Walk
        With nothing open.
    link : Link
        It came over.
    change : callable
        Lays name and remarks on the handover.
    expected : int
        The version the page was filled from.

    Returns
    -------
    Handover
        Signed.

    Raises
    ------
    Signed, Changed
        As `keep_step`.
    LinkRefused
        If the link was closed meanwhile; nothing is signed then.
    """

    def signed(now: Handover) -> None:
        change(now)
        now.signed_at = timezone.now()

    with transaction.atomic():
        if walk.offer.once:
            used(link)
        else:
            seen_again(link)
        return _kept(walk, signed, _("signed over a link"), expected)


def _kept(walk: Walk, change: Callable[[Handover], None], what: str, expected: int) -> Handover:
    now = Handover.objects.select_for_update().get(pk=walk.handover_id)
    if now.signed_at is not None:
        raise Signed
    if expected != now.version:
        raise Changed(now)
    stood = columns_of(now)
    change(now)
    before, after = moved(stood, columns_of(now))
    if before or after:
        now.save_over(now.version)
        told(now, what, None, before=before, after=after)
    return now
