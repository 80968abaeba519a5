"""Tells Django of what comes in from the yard."""

from __future__ import annotations

from django.apps import AppConfig


class YardConfig(AppConfig):
    """Entries from the yard."""

    name = "wetrun.shop.yard"
    label = "yard"
    keeps_records = True
