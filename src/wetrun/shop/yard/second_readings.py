"""Keeps readings that were typed without a signal: at their tip, or beside what somebody else read there."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from wetrun.shop.accounts.models import User
from wetrun.shop.records.models import Reading, WetRun
from wetrun.shop.records.readings import EntryTaken, RunProven, TypedReading, keep_reading
from wetrun.shop.records.trail import told
from wetrun.shop.yard.models import SecondReading


@dataclass(frozen=True, slots=True)
class YardKept:
    """What came of a reading from the yard.

    Attributes
    ----------
    again : bool
        Whether it was kept before.
    second : SecondReading or None
        Set where another reading stands at its tip: both are kept, and a person decides.
    """

    again: bool
    second: SecondReading | None = None


def keep_tip(wet_run: WetRun, typed: TypedReading, user: User, *, after: UUID | None) -> YardKept:
    """Keep what a tip gave, never over what somebody else read there.

    Parameters
    ----------
    wet_run : WetRun
        Of the person's branch.
    typed : TypedReading
        The reading.
    user : User
        Who typed it.
    after : UUID or None
        Entry of the reading that stood there, as far as the device knew; None for none.

    Returns
    -------
    YardKept
        Sending it again keeps it once.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    EntryTaken
        If its entry stands for another reading.
    """
    with transaction.atomic():
        # Locked, so that of two readings of one tip that come in together one is the second.
        locked = WetRun.objects.select_for_update().get(pk=wet_run.pk)
        if (before := SecondReading.objects.filter(pk=typed.entry).first()) is not None:
            return YardKept(again=True, second=_same(before, wet_run, typed))
        stands = locked.readings.filter(place=typed.place).order_by("number").last()
        is_known = Reading.objects.filter(pk=typed.entry).exists()
        if is_known or stands is None or stands.pk == after or stands.typed == typed.typed:
            return YardKept(again=keep_reading(locked, typed, user).again)
        if not locked.is_open:
            raise RunProven
        return YardKept(again=False, second=_beside(stands, typed, user, after))


def _same(kept: SecondReading, wet_run: WetRun, typed: TypedReading) -> SecondReading:
    if not typed.is_sent_again(kept, wet_run):
        raise EntryTaken(Reading(entry=kept.pk, place=kept.place, typed=kept.typed))
    return kept


def _beside(stands: Reading, typed: TypedReading, user: User, after: UUID | None) -> SecondReading:
    # The person's own correction of a second reading takes its place: there is one choice to make, not two.
    own = SecondReading.objects.filter(pk=after) if after is not None else SecondReading.objects.none()
    own.filter(wet_run=stands.wet_run_id, decided_at=None).update(
        decided_at=timezone.now(), decided_by=user, is_taken=False
    )
    return SecondReading.objects.create(
        entry=typed.entry,
        wet_run_id=stands.wet_run_id,
        against=stands,
        place=typed.place,
        typed=typed.typed,
        by=user,
        at=typed.at,
    )


def undecided(wet_run: WetRun) -> list[SecondReading]:
    """Return the second readings of a run that nobody decided on, with both people at hand; one query."""
    found = wet_run.second_readings.filter(decided_at=None)
    return list(found.select_related("by", "against", "against__by"))


def decide(wet_run: WetRun, entry: UUID, user: User, *, take: bool) -> bool:
    """Decide which of two readings of a tip stands.

    Parameters
    ----------
    wet_run : WetRun
        Of the person's branch.
    entry : UUID
        Of the second one.
    user : User
        Who decides.
    take : bool
        Whether the second one is to stand.

    Returns
    -------
    bool
        False if there is none to decide: somebody was quicker.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    with transaction.atomic():
        locked = WetRun.objects.select_for_update().get(pk=wet_run.pk)
        second = locked.second_readings.filter(pk=entry, decided_at=None).first()
        if second is None:
            return False
        if not locked.is_open:
            raise RunProven
        if take:
            keep_reading(locked, TypedReading(uuid.uuid4(), second.place, second.typed, second.at), user)
        second.decided_at, second.decided_by, second.is_taken = timezone.now(), user, take
        second.save()
        told(locked, f"tip {second.tip}: {second.typed if take else 'the first reading'} stands", user)
    return True
