"""Tells Django of handing over."""

from __future__ import annotations

from django.apps import AppConfig


class HandingConfig(AppConfig):
    """Handing over."""

    name = "wetrun.shop.handing"
    label = "handing"
    keeps_records = True

    def ready(self) -> None:
        """Erase photos together with the customer's data."""
        from wetrun.shop.handing.erasure import let_go
        from wetrun.shop.records.erasure import customer_being_erased

        customer_being_erased.connect(let_go, dispatch_uid="handing")
