"""Keeps what was read at a wet run. What was acknowledged is there, once, whatever was cut off or sent again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Max

from wetrun.shop.accounts.models import User
from wetrun.shop.records.models import Reading, WetRun


class ReadingRefused(Exception):  # noqa: N818 - named as a reader would say it
    """A reading that cannot be kept."""


class RunProven(ReadingRefused):
    """The wet run is proven: another one supersedes it, nothing is added to it."""


class EntryTaken(ReadingRefused):
    """Another reading was kept under the same entry; ``kept`` is that one."""

    def __init__(self, kept: Reading) -> None:
        self.kept = kept
        super().__init__(f"{kept.entry} was kept as {kept}")


class Standing(Protocol):
    """What is kept of a reading: its run, its place, its text."""

    @property
    def wet_run_id(self) -> int:
        """Key of its run."""

    @property
    def place(self) -> str:
        """Where it stands in the wet-run file."""

    @property
    def typed(self) -> str:
        """What was typed."""


@dataclass(frozen=True, slots=True)
class TypedReading:
    """A reading as it was typed.

    Attributes
    ----------
    entry : UUID
        Made where it was typed; sending a reading again sends the same one.
    place : str
        Where it stands in the wet-run file.
    typed : str
        What was typed.
    at : datetime
        When, by the clock of the device.
    """

    entry: UUID
    place: str
    typed: str
    at: datetime

    def is_sent_again(self, kept: Standing, wet_run: WetRun) -> bool:
        """Whether what is kept under this entry is this very reading."""
        return (kept.wet_run_id, kept.place, kept.typed) == (wet_run.pk, self.place, self.typed)


@dataclass(frozen=True, slots=True)
class KeptReading:
    """A reading that is kept, and whether it was kept before."""

    reading: Reading
    again: bool


def keep_reading(wet_run: WetRun, typed: TypedReading, user: User) -> KeptReading:
    """Keep a reading: at once, whole, and once however often it is sent.

    Parameters
    ----------
    wet_run : WetRun
        Of the person's branch.
    typed : TypedReading
        The reading.
    user : User
        Who typed it.

    Returns
    -------
    KeptReading
        The one kept first, if it was sent before. On the disk when this returns, or as soon as the transaction ends
        that the caller is in.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    EntryTaken
        If its entry stands for another reading.
    """
    try:
        with transaction.atomic():
            return _kept(wet_run, typed, user)
    except IntegrityError:
        # The same entry came in at the same time, at another wet run: that one was quicker, so it is there now.
        quicker = Reading.objects.filter(pk=typed.entry).first()
        if quicker is None:
            raise
        return KeptReading(_same(quicker, wet_run, typed), again=True)


def _kept(wet_run: WetRun, typed: TypedReading, user: User) -> KeptReading:
    # Locked, so that readings of one run are numbered one after another and none slips in while it is being proven.
    locked = WetRun.objects.select_for_update().get(pk=wet_run.pk)
    before = Reading.objects.filter(pk=typed.entry).first()
    if before is not None:
        return KeptReading(_same(before, wet_run, typed), again=True)
    if not locked.is_open:
        raise RunProven
    last = locked.readings.aggregate(last=Max("number"))["last"] or 0
    reading = Reading(
        entry=typed.entry,
        wet_run=locked,
        place=typed.place,
        typed=typed.typed,
        by=user,
        at=typed.at,
        number=last + 1,
    )
    reading.save(force_insert=True)
    return KeptReading(reading, again=False)


def _same(kept: Reading, wet_run: WetRun, typed: TypedReading) -> Reading:
    if not typed.is_sent_again(kept, wet_run):
        raise EntryTaken(kept)
    return kept
