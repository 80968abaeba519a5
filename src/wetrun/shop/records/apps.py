"""Tells Django of the records."""

from __future__ import annotations

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """The records a shop keeps."""

    name = "wetrun.shop.records"
    label = "records"
    keeps_records = True
