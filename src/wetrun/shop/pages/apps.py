"""Tells Django of the pages."""

from __future__ import annotations

from django.apps import AppConfig


class PagesConfig(AppConfig):
    """One page, one view, one template."""

    name = "wetrun.shop.pages"
    label = "pages"
