"""Tells Django of the work, and the jobs of their handlers."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

from django.apps import AppConfig


class WorkConfig(AppConfig):
    """What the worker does: the handlers of jobs."""

    name = "wetrun.shop.work"
    label = "work"

    def ready(self) -> None:
        """Import every module of this room: each enters its handlers as it is imported."""
        from wetrun.shop import work

        for module in iter_modules(work.__path__):
            import_module(f"{work.__name__}.{module.name}")
