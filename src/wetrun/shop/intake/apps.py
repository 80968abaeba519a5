"""Tells Django of the intake."""

from __future__ import annotations

from django.apps import AppConfig


class IntakeConfig(AppConfig):
    """The intake."""

    name = "wetrun.shop.intake"
    label = "intake"
    keeps_records = True

    def ready(self) -> None:
        """Erase what is personal in intakes together with their customer's data."""
        from wetrun.shop.intake.erasure import blank_intakes
        from wetrun.shop.records.erasure import customer_being_erased

        customer_being_erased.connect(blank_intakes, dispatch_uid="intake")
