"""Tells Django of what runs the shop."""

from __future__ import annotations

from django.apps import AppConfig


class ServingConfig(AppConfig):
    """Runs the shop."""

    name = "wetrun.shop.serving"
    label = "serving"
