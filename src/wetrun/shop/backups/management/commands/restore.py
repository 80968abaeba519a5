"""``python -m wetrun.shop restore FILE``: puts a backup back."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from wetrun.shop.backups.restoring import restore
from wetrun.shop.backups.words import told_of


class Command(BaseCommand):
    """Puts a backup back."""

    help = "Put a backup into an empty shop. The shop must not be running."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file."""
        parser.add_argument("file", type=Path, help="what `backup` wrote")
        parser.add_argument("--force", action="store_true", help="replace the shop that is there, which is moved aside")

    def handle(self, *_: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own
        """Put it back and say what stands there now."""
        done = restore(options["file"], force=options["force"])
        self.stdout.write(f"Put back: {told_of(done.manifest)}")
        if done.aside is not None:
            self.stdout.write(f"What stood there before is in {done.aside}; delete it when it is not needed any more.")
        self.stdout.write("Start the shop: it brings older tables up to date by itself.")
