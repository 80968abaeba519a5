"""What is personal in handing over goes with its customer's data."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from wetrun.shop.handing.models import Photo
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.records.models import Customer


def let_go(sender: object, customer: Customer, **more: Any) -> None:  # noqa: ANN401 - a signal's own
    """Delete photos: a picture may show a person or a place, and no pseudonym can be put into it. Take links back.

    Parameters
    ----------
    sender : object
        Not looked at.
    customer : Customer
        Whose data is erased; their files are deleted with all other files of theirs.
    **more
        Of every signal.
    """
    del sender, more
    Photo.objects.filter(handover__machine__customer=customer).delete()
    links = Link.objects.filter(machine__customer=customer, purpose=Purpose.HANDOVER.value, revoked_at=None)
    links.update(revoked_at=timezone.now())
