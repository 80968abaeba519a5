"""The cab card an operator sees over a link: the same data the paper is set from, with what is not proven by now."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from wetrun.errors import NotDefined
from wetrun.papers.papers import Paper
from wetrun.quantity import System
from wetrun.shop.answers.papers import Print, card_of
from wetrun.shop.answers.unproven import unproven_words
from wetrun.shop.handing.models import Offer
from wetrun.shop.records.models import TipPlan
from wetrun.shop.records.readiness import stand_on


def card_shown(offer: Offer) -> dict[str, Any] | None:
    """Return the card of an offered machine.

    Parameters
    ----------
    offer : Offer
        With its plan.

    Returns
    -------
    dict or None
        As `wetrun.papers.card_data` makes it; None where no plan was made, or it has no card of the pass.
    """
    if offer.plan is None:
        return None
    try:
        return card_of(offer.plan, printed(offer))[1]
    except NotDefined:
        return None


def printed(offer: Offer, *, code: dict[str, str] | None = None) -> Print:
    """Return how the card of an offer is wanted, with the code of its link where that is known."""
    stand = stand_on(offer.machine, timezone.localdate())
    return Print(
        system=System(offer.units),
        paper=Paper(offer.branch.paper),
        shop=offer.branch.name,
        of_pass=offer.pass_name,
        unproven=unproven_words(stand),
        code=code,
    )


def passes_with_card(plan: TipPlan | None) -> list[str]:
    """Return the names of the passes of a plan that have a cab card, in its order."""
    if plan is None or plan.in_us is None:
        return []
    return [one["name"] for one, card in zip(plan.in_us["passes"], plan.in_us["cards"], strict=True) if card]
