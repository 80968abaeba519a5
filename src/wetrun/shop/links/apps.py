"""Tells Django of the links."""

from __future__ import annotations

from django.apps import AppConfig


class LinksConfig(AppConfig):
    """The links."""

    name = "wetrun.shop.links"
    label = "links"
    keeps_records = True
