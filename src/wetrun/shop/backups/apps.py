"""Tells Django of the backups."""

from __future__ import annotations

from django.apps import AppConfig


class BackupsConfig(AppConfig):
    """Backups of a shop."""

    name = "wetrun.shop.backups"
    label = "backups"
