"""Everything kept of a customer or of somebody in the shop, as one document to hand over."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Any, Final

from django.apps import apps
from django.db import models
from django.utils import timezone

from wetrun.shop.accounts.models import User
from wetrun.shop.records.models import Customer, Trail
from wetrun.shop.records.reach import Rows, kinds, rows_of

FORMAT_VERSION: Final = 1
_NEVER: Final = frozenset({"password"})


def customer_data(customer: Customer) -> dict[str, Any]:
    """Return everything kept of a customer.

    Parameters
    ----------
    customer : Customer
        Saved.

    Returns
    -------
    dict
        Plain JSON: ``format_version``, ``about``, ``made_at``, and under ``kept`` the rows by kind.
    """
    return _document(f"customer {customer.pk}", rows_of(customer))


def person_data(person: User) -> dict[str, Any]:
    """Return everything kept of somebody who signs in: the account, and every row that names them.

    Parameters
    ----------
    person : User
        Saved.

    Returns
    -------
    dict
        As `customer_data`; of records that only say who made or proved them, key and name, not what is in them.
    """
    document = _document(f"person {person.pk}", _about_person(person))
    document["kept"]["named in"] = [line for model in _naming() for line in _named_in(model, person)]
    return document


def _about_person(person: User) -> list[tuple[type[models.Model], Rows]]:
    reading, note = apps.get_model("records", "Reading"), apps.get_model("records", "ChangeoverNote")
    trail = Trail.objects.filter(models.Q(by=person) | models.Q(kind="User", key=str(person.pk)))
    return [
        (User, User.objects.filter(pk=person.pk)),
        (type(person.memberships.model()), person.memberships.all()),
        (reading, reading._default_manager.filter(by=person)),
        (note, note._default_manager.filter(user=person)),
        (Trail, trail),
    ]


def _naming() -> list[type[models.Model]]:
    jobs = apps.get_app_config("jobs").get_models()
    return [*kinds(), *jobs]


def _named_in(model: type[models.Model], person: User) -> Iterable[dict[str, Any]]:
    for field in model._meta.concrete_fields:
        if field.related_model is User:
            for row in model._default_manager.filter(**{field.name: person}).order_by("pk"):
                yield {"kind": model.__name__, "key": str(row.pk), "name": str(row), "as": field.name}


def _document(about: str, rows: Iterable[tuple[type[models.Model], Rows]]) -> dict[str, Any]:
    kept = {model.__name__: [_row(row) for row in _with_people(model, found)] for model, found in rows}
    return {
        "format_version": FORMAT_VERSION,
        "about": about,
        "made_at": timezone.now().isoformat(),
        "kept": {name: each for name, each in kept.items() if each},
    }


def _with_people(model: type[models.Model], rows: Rows) -> Rows:
    people = [field.name for field in model._meta.concrete_fields if field.related_model is User]
    return rows.select_related(*people).order_by("pk") if people else rows.order_by("pk")


def _row(row: models.Model) -> dict[str, Any]:
    columns = (field for field in row._meta.concrete_fields if field.name not in _NEVER)
    return {field.name: _plain(_told(row, field)) for field in columns}


def _told(row: models.Model, field: models.Field[Any, Any]) -> Any:  # noqa: ANN401
    """Return a column's value; people by their name, other records by their key."""
    key = getattr(row, field.attname)
    if field.related_model is User and key is not None:
        return str(getattr(row, field.name))
    return key


def _plain(value: Any) -> Any:  # noqa: ANN401
    if isinstance(value, dict):
        return {str(key): _plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    return value if value is None or isinstance(value, (bool, int, float, str)) else str(value)
