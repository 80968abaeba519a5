"""``python -m wetrun.shop check_backup FILE``: reads a backup to the last byte."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from wetrun.shop.backups.archive import checked
from wetrun.shop.backups.words import told_of


class Command(BaseCommand):
    """Reads a backup to the last byte."""

    help = "Say what is in a backup, and whether it is as it was written. Nothing is changed."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file."""
        parser.add_argument("file", type=Path, help="what `backup` wrote")

    def handle(self, *_: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own
        """Read it and say what is in it."""
        self.stdout.write(f"As it was written: {told_of(checked(options['file']))}")
