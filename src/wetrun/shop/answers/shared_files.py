"""Files the seasons of a branch share by name, tip files and maps of log columns: read, replaced, and who uses them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from hashlib import sha256
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet, TextField, Value
from django.db.models.functions import Cast, StrIndex
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.documents.catalogue_file import tips_of_text
from wetrun.fieldlog.readers.mapping import ColumnMapping, mapping_from
from wetrun.machine.tip import Tip
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.file_names import name_at
from wetrun.shop.document_field import document_text
from wetrun.shop.jobs.asking import asked
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Catalogue, ColumnMap, FieldLog, Season
from wetrun.shop.records.models.base import Changed

RECOUNT: Final = "recount"
"""Kind of the job that counts again what is not right in seasons after a file they share was replaced."""
Shared = Catalogue | ColumnMap


class TakesAPlace(Exception):  # noqa: N818 - named as a reader would say it
    """A file of that name stands already; ``stands`` is it."""

    def __init__(self, stands: Shared) -> None:
        self.stands = stands
        super().__init__(f"{stands} stands already")


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What came of a file that was handed in.

    Attributes
    ----------
    record : Catalogue or ColumnMap
        As it stands now.
    before : Catalogue or ColumnMap or None
        The one whose place it took; the record itself if the very same text stood there already.
    seasons : tuple of Season
        Who names a file like that.
    """

    record: Shared
    before: Shared | None
    seasons: tuple[Season, ...] = ()


def tips_of(catalogue: Catalogue) -> tuple[Tip, ...]:
    """Return the tips of a tip file that was taken in."""
    return _tips(catalogue.name, catalogue.text)


def mapping_of(column_map: ColumnMap) -> ColumnMapping:
    """Return the columns of a map that was taken in."""
    return mapping_from(column_map.text, file=column_map.name)


# Pages of one file follow each other; reading a maker's whole table again for each would be felt.
@lru_cache(maxsize=8)
def _tips(name: str, text: str) -> tuple[Tip, ...]:
    return tips_of_text(name, text)


def standing(kind: type[Shared], branch_id: int, name: str) -> Shared | None:
    """Return the file of a name that stands in a branch."""
    found: Shared | None = kind._default_manager.filter(branch_id=branch_id, name=name, replaced_at=None).first()
    return found


def taken_in(desk: Desk, record: Shared, over: int | None) -> TakenIn:
    """Keep a file; one of the same name that stands is kept as an earlier one.

    Parameters
    ----------
    desk : Desk
        Who hands it in.
    record : Catalogue or ColumnMap
        New, of the desk's branch, with name and text that were read without a problem.
    over : int or None
        Key of the record whose place it is meant to take; None for none.

    Returns
    -------
    TakenIn
        With the seasons that rest on it.

    Raises
    ------
    TakesAPlace
        If another record of that name stands; nothing is kept then.
    """
    try:
        with transaction.atomic():
            before = standing(type(record), record.branch_id, record.name)
            if before is not None and before.sha256 == sha256(record.text.encode()).hexdigest():
                return TakenIn(before, before)
            if before is not None and before.pk != over:
                raise TakesAPlace(before)
            return _kept_over(desk, record, before)
    except (IntegrityError, Changed):  # somebody else handed in the same name in this very moment
        now = standing(type(record), record.branch_id, record.name)
        if now is None:
            raise
        raise TakesAPlace(now) from None


def _kept_over(desk: Desk, record: Shared, before: Shared | None) -> TakenIn:
    if before is not None:
        before.replaced_at = timezone.now()
        kept(before, desk, _("replaced by a newer file of that name"))
    kept(record, desk, _("handed in") if before is None else _("handed in, in place of the one before"))
    users = seasons_using(record)
    if users:
        machines = sorted({one.machine_id for one in users})
        words = _("Seasons that use %(name)s") % {"name": record.name}
        asked(record.branch, RECOUNT, by=desk.user, words=words, args={"machines": machines}, subject=record)
    return TakenIn(record, before, users)


def taken_away(desk: Desk, record: Shared) -> tuple[str, ...]:
    """Take a file out of use, unless a season or a log rests on it; it is kept as an earlier one.

    Parameters
    ----------
    desk : Desk
        Who does it.
    record : Catalogue or ColumnMap
        One that stands.

    Returns
    -------
    tuple of str
        What rests on it, by name; nothing was done unless this is empty.
    """
    with transaction.atomic():
        users = (*(f"{one.machine} ({one})" for one in seasons_using(record)), *map(str, _logs(record)))
        if not users and record.replaced_at is None:
            record.replaced_at = timezone.now()
            kept(record, desk, _("taken out of use"))
    return users


def seasons_using(record: Shared) -> tuple[Season, ...]:
    """Return the seasons that name a file, those that were put away left out.

    Parameters
    ----------
    record : Catalogue or ColumnMap
        The file.

    Returns
    -------
    tuple of Season
        With machine and customer, mostly without documents; the last to begin comes first.
    """
    # A thousand documents are not read for one name: the database looks for it in their text.
    key = "catalogue" if isinstance(record, Catalogue) else "log_map"
    text, named = Cast("document", TextField()), document_text(record.name)
    found = Season.objects.filter(branch_id=record.branch_id, put_away_at=None).select_related("machine__customer")
    sought = found.defer("received", "machine__document").alias(
        as_typed=StrIndex(text, Value(f'"{key}": {named}')), somewhere=StrIndex(text, Value(named[1:-1]))
    )
    machines = set(_logs(record).values_list("machine_id", flat=True))
    sure = sought.filter(Q(as_typed__gt=0) | Q(machine__in=machines)).defer("document")
    unsure = sought.filter(as_typed=0, somewhere__gt=0).exclude(machine__in=machines)
    users = (*sure, *(one for one in unsure if _names(one, record)))
    return tuple(sorted(users, key=lambda one: (one.first_day or date.min, one.pk), reverse=True))


def _names(season: Season, record: Shared) -> bool:
    """Whether a season names a file after all, such as with a blank in front."""
    if isinstance(record, Catalogue):
        return name_at(season.document, ("plan", "catalogue")) == record.name
    typed: Any = season.document.get("pass")
    passes = range(len(typed) if isinstance(typed, list) else 0)
    return any(name_at(season.document, ("pass", at, "log_map")) == record.name for at in passes)


def _logs(record: Shared) -> QuerySet[FieldLog]:
    """The field logs that are read by a map of columns."""
    if isinstance(record, Catalogue):
        return FieldLog.objects.none()
    found = FieldLog.objects.filter(branch_id=record.branch_id, column_map=record.name, taken_away_at=None)
    return found.defer("in_us", "in_si")
