"""Tells Django of the demo."""

from __future__ import annotations

from django.apps import AppConfig


class DemoConfig(AppConfig):
    """The demo."""

    name = "wetrun.shop.demo"
    label = "demo"
