"""Takes down how far the order of tips is: to order, ordered, here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.records.models import TipPlan, Trail
from wetrun.shop.records.trail import line_of

DONE: Final = {
    "needed": gettext_noop("tips to be ordered after all"),
    "ordered": gettext_noop("tips ordered"),
    "here": gettext_noop("tips are here"),
}
"""What the trail says of each state."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What came of taking a state down.

    Attributes
    ----------
    done : tuple of TipPlan
        Plans whose tips are so far now, those that were before among them.
    left : tuple of TipPlan
        Plans left as they were: replaced, or changed by somebody else since they were looked at.
    """

    done: tuple[TipPlan, ...]
    left: tuple[TipPlan, ...]


def take_down(desk: Desk, versions: Mapping[int, int], state: str) -> Moved:
    """Take down how far the tips of plans are.

    Parameters
    ----------
    desk : Desk
        Who does it; plans of another branch are passed over.
    versions : mapping of int to int
        Version of each plan that was looked at, by its key.
    state : str
        A key of `DONE`.

    Returns
    -------
    Moved
        All in one transaction, each plan with its line in the trail.
    """
    with transaction.atomic():
        found = list(_plans(desk, versions))
        left = tuple(plan for plan in found if not _may_move(plan, versions[plan.pk], state))
        done = tuple(plan for plan in found if plan not in left)
        # Who pressed a button twice, or after somebody else did, finds it done.
        _move(desk, [plan for plan in done if plan.parts_state != state], state)
    return Moved(done, left)


def _plans(desk: Desk, versions: Mapping[int, int]) -> QuerySet[TipPlan]:
    found = TipPlan.objects.of(desk).filter(pk__in=versions).select_for_update(of=("self",))
    whole = found.select_related("branch", "season__machine")
    return whole.defer("in_us", "in_si", "inputs", "season__document", "season__machine__document")


def _may_move(plan: TipPlan, version: int, state: str) -> bool:
    return plan.replaced_at is None and (plan.parts_state == state or plan.version == version)


def _move(desk: Desk, plans: Sequence[TipPlan], state: str) -> None:
    """Write a state into plans nobody else can change now: a few queries, however many plans."""
    now = timezone.now()
    TipPlan.objects.filter(pk__in=[plan.pk for plan in plans]).update(
        parts_state=state, parts_at=now, parts_by=desk.user.pk, changed_at=now, version=F("version") + 1
    )
    after = {"parts_state": state}
    lines = (
        line_of(plan, _(DONE[state]), desk.user, before={"parts_state": plan.parts_state}, after=after)
        for plan in plans
    )
    Trail.objects.bulk_create(lines, batch_size=200)
