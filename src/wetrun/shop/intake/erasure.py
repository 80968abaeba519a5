"""What is personal in an intake goes with its customer's data."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from wetrun.shop.intake.models import Intake
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.records.models import Customer


def blank_intakes(sender: object, customer: Customer, **more: Any) -> None:  # noqa: ANN401 - a signal's own
    """Blank who filled intakes in and what they remarked, and take back the links to them.

    Parameters
    ----------
    sender : object
        Not looked at.
    customer : Customer
        Whose data is erased.
    **more
        Of every signal.
    """
    del sender, more
    Intake.objects.filter(machine__customer=customer).update(filled_in_by="", remarks="", mailed_to="")
    links = Link.objects.filter(machine__customer=customer, purpose=Purpose.INTAKE.value, revoked_at=None)
    links.update(revoked_at=timezone.now())
