"""Tells Django of the jobs."""

from __future__ import annotations

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """Long work that outlives a page, a worker and a server."""

    name = "wetrun.shop.jobs"
    label = "jobs"
