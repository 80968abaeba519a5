"""Writes the audit trail. Every action that changes a record calls this inside its own transaction."""

from __future__ import annotations

from typing import Any

from django.db import models

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.records.models.machine import Machine
from wetrun.shop.records.models.trail import Trail


def told(
    record: models.Model,
    what: str,
    by: User | None,
    *,
    before: Any = None,  # noqa: ANN401 - a document
    after: Any = None,  # noqa: ANN401
    branch: Branch | None = None,
) -> Trail:
    """Write one line of the trail and return it.

    Parameters
    ----------
    record : Model
        A record of a branch, saved; a branch counts too, and with `branch` a person.
    what : str
        What was done, in the past, as it will be read: "rate of Burndown changed".
    by : User or None
        Who; None for the worker.
    before, after : document
        What stood there and what stands there now, where that can be shown.
    branch : Branch or None
        Whose trail it belongs in; None for the record's own.

    Returns
    -------
    Trail
        Saved.
    """
    line = line_of(record, what, by, before=before, after=after, branch=branch)
    line.save()
    return line


def line_of(
    record: models.Model,
    what: str,
    by: User | None,
    *,
    before: Any = None,  # noqa: ANN401 - a document
    after: Any = None,  # noqa: ANN401
    branch: Branch | None = None,
) -> Trail:
    """Return a line of the trail, not saved: for many at once; see `told`."""
    return Trail(
        branch=branch or _branch_of(record),
        machine=_machine_of(record),
        # Who is signed in stands behind a proxy, whose class has a name of its own.
        kind=record._meta.object_name or "",
        key=str(record.pk),
        name=str(record)[:200],
        what=what[:300],
        by=by,
        before=before,
        after=after,
    )


def _branch_of(record: models.Model) -> Branch:
    branch: Branch = record if isinstance(record, Branch) else record.branch  # type: ignore[attr-defined]
    return branch


def _machine_of(record: models.Model) -> Machine | None:
    """Return the machine a record hangs on, its own or that of its season."""
    if isinstance(record, Machine):
        return record
    machine: Machine | None = getattr(record, "machine", None) or getattr(
        getattr(record, "season", None), "machine", None
    )
    return machine
