"""Which rows are about a customer, or stand in a branch: read off the models, so that a new kind of record is in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from typing import Final

from django.apps import AppConfig, apps
from django.db import models
from django.db.models.functions import Cast

from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs.models import Job, JobPart
from wetrun.shop.records.models import BranchRecord, Customer, Trail

Rows = models.QuerySet[models.Model]
OF_THE_BRANCH: Final = frozenset({"Catalogue", "ColumnMap", "YardRules"})
"""Kinds of record that are about no customer."""


@cache
def way_to(model: type[models.Model], target: type[models.Model]) -> str | None:
    """Return how a record hangs on another: names of foreign keys, as a query writes them.

    Parameters
    ----------
    model : type of Model
        Where the way begins.
    target : type of Model
        Where it ends.

    Returns
    -------
    str or None
        The shortest way, over keys that are never empty if there is such; "pk" for the target itself, None for no way.

    Example
    -------
    >>> from wetrun.shop.records.models import Reading
    >>> way_to(Reading, Customer)
    'wet_run__machine__customer'
    """
    seen = {model}
    ways: list[tuple[type[models.Model], str]] = [(model, "pk")]
    while ways:
        here, way = ways.pop(0)
        if here is target:
            return way
        stem = "" if way == "pk" else f"{way}__"
        for name, there in _keys(here):
            if there not in seen:
                seen.add(there)
                ways.append((there, f"{stem}{name}"))
    return None


def _keys(model: type[models.Model]) -> list[tuple[str, type[models.Model]]]:
    keys = [field for field in model._meta.concrete_fields if isinstance(field, models.ForeignKey)]
    return [(key.name, key.related_model) for key in sorted(keys, key=lambda key: key.null)]


def kinds() -> tuple[type[models.Model], ...]:
    """Return every kind of record that belongs to a branch, by name; the trail is none of them."""
    every = [model for room in rooms() for model in room.get_models()]
    told = (model for model in every if model is not Trail and way_to(model, Branch) is not None)
    return tuple(sorted(told, key=lambda model: model.__name__))


def rooms() -> tuple[AppConfig, ...]:
    """Return every room of the shop that keeps records: its configuration says ``keeps_records``."""
    return tuple(room for room in apps.get_app_configs() if getattr(room, "keeps_records", False))


def records_of(customer: Customer) -> list[tuple[type[models.Model], Rows]]:
    """Return the records about a customer, kind by kind, the customer's own among them.

    Parameters
    ----------
    customer : Customer
        Saved.

    Returns
    -------
    list of (type, QuerySet)
        Also kinds without any row.
    """
    ways = [(model, way_to(model, Customer)) for model in kinds()]
    return [(model, model._default_manager.filter(**{way: customer.pk})) for model, way in ways if way is not None]


def rows_of(customer: Customer) -> list[tuple[type[models.Model], Rows]]:
    """Return everything about a customer: records, the jobs that worked on them, and their trail.

    Parameters
    ----------
    customer : Customer
        Saved.

    Returns
    -------
    list of (type, QuerySet)
        Kind by kind.
    """
    records = records_of(customer)
    jobs = jobs_about(records)
    trail = Trail.objects.filter(models.Q(machine__customer=customer) | _about("kind", "key", records))
    return [*records, (Job, jobs), (JobPart, JobPart.objects.filter(job__in=jobs)), (Trail, trail)]


def jobs_about(records: Iterable[tuple[type[models.Model], Rows]]) -> models.QuerySet[Job]:
    """Return the jobs about some records."""
    return Job.objects.filter(_about("subject", "subject_key", records))


def rows_in(branches: Iterable[Branch]) -> Iterator[tuple[type[models.Model], Rows]]:
    """Return every row of some branches, kind by kind, with jobs and trail.

    Parameters
    ----------
    branches : iterable of Branch
        Where to look.

    Yields
    ------
    tuple of type and QuerySet
        Also kinds without any row.
    """
    within = [branch.pk for branch in branches]
    every: tuple[type[models.Model], ...] = (*kinds(), Job, JobPart, Trail)
    for model in every:
        yield model, model._default_manager.filter(**{f"{way_to(model, Branch)}__in": within})


def _about(kind: str, key: str, records: Iterable[tuple[type[models.Model], Rows]]) -> models.Q:
    found = models.Q(pk__in=[])
    for model, rows in records:
        if issubclass(model, BranchRecord):
            keys = rows.order_by().annotate(as_text=Cast("pk", models.CharField())).values("as_text")
            # The trail writes a kind as its class is called, jobs as Django calls it.
            found |= models.Q(**{f"{kind}__iexact": model.__name__, f"{key}__in": keys})
    return found
