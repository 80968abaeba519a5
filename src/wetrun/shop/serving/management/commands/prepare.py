"""``python -m wetrun.shop prepare``: what has to be there before the first page."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    """Makes the tables and gathers the files of the pages."""

    help = "Bring the tables up to date and gather stylesheets, scripts and fonts. `wetrun serve` does this by itself."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take whether the demo is wanted."""
        parser.add_argument("--demo", action="store_true", help="fill an empty shop with an invented branch")

    def handle(self, *_: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own
        """Do it; done already, it changes nothing."""
        call_command("migrate", interactive=False, verbosity=0, skip_checks=True)
        call_command("collectstatic", interactive=False, verbosity=0, skip_checks=True)
        if options["demo"]:
            call_command("load_demo")
