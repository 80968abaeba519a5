"""Keeps records: a change, its place in the audit trail, and the version it was made from, all or nothing."""

from __future__ import annotations

from typing import Any, TypeVar

from django.db import transaction

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.records.differences import columns_of, moved
from wetrun.shop.records.models.base import BranchRecord
from wetrun.shop.records.trail import told

R = TypeVar("R", bound=BranchRecord)


def kept(
    record: R,
    desk: Desk,
    what: str,
    *,
    expected: int | None = None,
    before: Any = None,  # noqa: ANN401 - a document
    after: Any = None,  # noqa: ANN401
) -> R:
    """Save a record with its line in the trail.

    Parameters
    ----------
    record : BranchRecord
        New, or changed from what was read.
    desk : Desk
        Who does it, and in which branch.
    what : str
        What was done, for the trail: "phone changed".
    expected : int or None
        The version that was read; None takes the record's own. Not looked at for a new record.
    before, after : document
        What stood there and what stands there now; left out, the columns that differ.

    Returns
    -------
    BranchRecord
        The record, saved.

    Raises
    ------
    Changed
        If somebody else was quicker; then nothing is saved.
    """
    with transaction.atomic():
        if before is None and after is None:
            before, after = _columns(record)
        if record.pk is None:
            record.branch_id = desk.branch.pk if desk.branch is not None else record.branch_id
            record.made_by = desk.user
            record.save()
        else:
            record.save_over(record.version if expected is None else expected)
        told(record, what, desk.user, before=before, after=after)
    return record


def _columns(record: BranchRecord) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
    """Return the columns that differ from what stands in the database; of a new record none."""
    stood = type(record)._default_manager.filter(pk=record.pk).first()
    if stood is None:
        return None, None
    was, now = moved(columns_of(stood), columns_of(record))
    return was or None, now or None
