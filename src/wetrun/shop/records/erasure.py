"""Erases a person's data: what is personal goes, what was proven stays under a pseudonym."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from axes.models import AccessAttempt, AccessLog
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import connection, models, transaction
from django.dispatch import Signal
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.machine.proofs import Event
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.jobs.models import OPEN, Job
from wetrun.shop.records.models import Customer, FieldLog, Handover, MachineEvent, Replay, Trail
from wetrun.shop.records.people import check_can_go, check_is_ones_own
from wetrun.shop.records.pseudonyms import Pseudonyms, pseudonyms
from wetrun.shop.records.reach import Rows, jobs_about, records_of, rows_in, rows_of
from wetrun.shop.records.rewriting import rewritten
from wetrun.shop.records.trail import told

customer_being_erased: Final = Signal()
"""Sent inside the transaction that erases a customer, with ``customer``: rooms above blank what is theirs."""
PERSONAL: Final = ("person", "phone", "email", "place", "remarks")
"""Columns of a customer that are blanked."""
GOES: Final = frozenset({"Customer", "Replay", "Photo"})
"""Kinds of record of which nothing stays but the customer's own row."""
STORED: Final = "stored"
"""Column of a record that names a file below the uploads."""
_ERASED: Final = "(erased)"


@dataclass(frozen=True, slots=True)
class Erasing:
    """What will happen, counted before anybody says yes.

    Attributes
    ----------
    pseudonym : str
        What the name becomes.
    kept : tuple of (str, int)
        Records that stay under the pseudonym, by kind.
    files : int
        Files that are deleted.
    """

    pseudonym: str
    kept: tuple[tuple[str, int], ...]
    files: int


def customer_erasing(customer: Customer) -> Erasing:
    """Return what erasing a customer's data will do.

    Parameters
    ----------
    customer : Customer
        Saved.

    Returns
    -------
    Erasing
        Nothing is done yet.
    """
    counted = [(model, rows.count()) for model, rows in rows_of(customer) if model.__name__ not in GOES]
    kept = tuple((_kind_words(model), count) for model, count in counted if count)
    return Erasing(customer_pseudonym(customer), kept, len(_files_of(customer)))


def _kind_words(model: type[models.Model]) -> str:
    return _("lines of the trail") if model is Trail else str(model._meta.verbose_name_plural)


def customer_pseudonym(customer: Customer) -> str:
    """Return what a customer is called once erased; never what another one of the branch is called."""
    taken = set(Customer.objects.filter(branch=customer.branch).exclude(pk=customer.pk).values_list("name", flat=True))
    first = f"Customer {customer.pk}"
    more = (f"{first}-{number}" for number in range(2, len(taken) + 3))
    return next(name for name in (first, *more) if name not in taken)


def customer_erased(desk: Desk, customer: Customer, also: Iterable[str] = ()) -> int:
    """Erase what is personal of a customer, everywhere.

    Parameters
    ----------
    desk : Desk
        Of a manager.
    customer : Customer
        Whose data.
    also : iterable of str
        Other ways the name was written.

    Returns
    -------
    int
        How many rows held a name.

    Raises
    ------
    ValidationError
        If work on the customer's records is still under way: it would write the name back.
    """
    with _for_good():
        _check_nothing_under_way(jobs_about(records_of(customer)))
        files, names = _files_of(customer), _customer_names(customer, also)
        # Work for the whole branch tells of every customer in it.
        for_all = Job.objects.filter(branch=customer.branch, subject="")
        everything: list[tuple[type[models.Model], Rows]] = [*rows_of(customer), (Job, for_all)]
        count = sum(rewritten(model, rows, names) for model, rows in everything)
        customer_being_erased.send(Customer, customer=customer)
        _blank(customer)
        told(customer, "personal data erased", desk.user)
        transaction.on_commit(lambda: _deleted(files))
    return count


def _customer_names(customer: Customer, also: Iterable[str]) -> Pseudonyms:
    pseudonym = customer_pseudonym(customer)
    handed = Handover.objects.filter(machine__customer=customer).order_by("pk").values_list("operator", "signed_name")
    came = MachineEvent.objects.filter(machine__customer=customer, kind=Event.NEW_OPERATOR.name).order_by("pk")
    every = [*(name for pair in handed for name in pair), *came.values_list("who", flat=True)]
    operators = dict.fromkeys(name for name in every if name)
    return pseudonyms(
        [
            *((name, f"operator {number} of {pseudonym}") for number, name in enumerate(operators, start=1)),
            *((name, pseudonym) for name in also),
            (customer.person, f"person of {pseudonym}"),
            (customer.phone, _ERASED),
            (customer.email, _ERASED),
            (customer.name, pseudonym),
        ]
    )


def _blank(customer: Customer) -> None:
    lines = Trail.objects.filter(branch=customer.branch, kind="Customer", key=str(customer.pk))
    # What a customer's own lines hold before and after is nothing but these columns.
    lines.update(before=None, after=None)
    FieldLog.objects.filter(machine__customer=customer, taken_away_at=None).update(taken_away_at=timezone.now())
    # Its map and its worst places say whose field it is better than any name.
    Replay.objects.filter(log__machine__customer=customer).delete()
    customer.name = customer_pseudonym(customer)
    for column in PERSONAL:
        setattr(customer, column, "")
    customer.erased_at = timezone.now()
    customer.save_over(Customer.objects.get(pk=customer.pk).version)


def person_pseudonym(person: User) -> str:
    """Return what somebody is called once erased."""
    return f"Person {person.pk}"


def branches_of(person: User) -> list[Branch]:
    """Return every branch in whose records somebody's name may stand: where they are, were, or did something."""
    told_of = Trail.objects.filter(models.Q(by=person) | models.Q(kind="User", key=str(person.pk)))
    keys = {*told_of.values_list("branch", flat=True), *person.memberships.values_list("branch", flat=True)}
    return list(Branch.objects.filter(pk__in=keys))


def check_person_erasable(desk: Desk, person: User) -> None:
    """Refuse to erase somebody who is not this branch's alone, or whom nobody could stand in for.

    Parameters
    ----------
    desk : Desk
        Of a manager.
    person : User
        Whose data.

    Raises
    ------
    ValidationError
        With what to do first.
    """
    check_is_ones_own(desk, person)
    if person.pk == desk.user.pk:
        raise ValidationError(_("You cannot erase yourself: another manager has to do it, and to answer for it."))
    check_can_go(person)


def person_erased(desk: Desk, person: User, also: Iterable[str] = ()) -> int:
    """Erase what is personal of somebody who worked in the shop; what they measured and proved stays.

    Parameters
    ----------
    desk : Desk
        Of a manager.
    person : User
        Whose data.
    also : iterable of str
        Other ways the name was written.

    Returns
    -------
    int
        How many rows held the name.

    Raises
    ------
    ValidationError
        If somebody must take their place first.
    """
    pseudonym = person_pseudonym(person)
    names = pseudonyms([(person.name, pseudonym), *((name, pseudonym) for name in also)])
    with _for_good():
        check_person_erasable(desk, person)
        count = sum(rewritten(model, rows, names) for model, rows in rows_in(branches_of(person)))
        Trail.objects.filter(kind="User", key=str(person.pk)).update(name=pseudonym, before=None, after=None)
        AccessAttempt.objects.filter(username=person.login).delete()
        AccessLog.objects.filter(username=person.login).delete()
        _put_out(person, pseudonym)
        told(person, "personal data erased", desk.user, branch=desk.branch)
    return count


def _put_out(person: User, pseudonym: str) -> None:
    Membership.objects.filter(user=person).delete()
    person.name, person.login = pseudonym, f"person-{person.pk}"
    person.units, person.theme, person.last_login = "", "", None
    person.is_active = person.is_group = False
    person.set_unusable_password()
    person.save()


def _check_nothing_under_way(jobs: models.QuerySet[Job]) -> None:
    if (job := jobs.filter(state__in=OPEN).first()) is not None:
        raise ValidationError(
            _("“%(words)s” is still under way and would write the name again. Wait for its end, or cancel it.")
            % {"words": job.words}
        )


def _files_of(customer: Customer) -> list[Path]:
    """Return the files that records of a customer name, of whatever kind."""
    records = records_of(customer)
    holding = [rows for kind, rows in records if STORED in {field.name for field in kind._meta.concrete_fields}]
    root = Path(settings.UPLOADS).resolve()
    files = [(root / name).resolve() for rows in holding for name in rows.values_list(STORED, flat=True) if name]
    return [file for file in files if file.is_relative_to(root) and file.is_file()]


def _deleted(files: list[Path]) -> None:
    for file in files:
        file.unlink(missing_ok=True)


def _for_good() -> Any:  # noqa: ANN401 - Django's own context
    """Return a transaction after which SQLite keeps nothing of what was there in its free pages."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete = ON")
    return transaction.atomic()
