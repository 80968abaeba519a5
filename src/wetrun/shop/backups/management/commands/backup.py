"""``python -m wetrun.shop backup FILE``: the whole shop in one file, while people work."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from wetrun.shop.backups.making import make_backup
from wetrun.shop.backups.manifest import FOLDERS
from wetrun.shop.backups.words import told_of


class Command(BaseCommand):
    """Writes a backup."""

    help = "Write database, uploads and ledgers into one file, while people work. The secret key is not in it."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file and what to leave out."""
        parser.add_argument("file", type=Path, help="where to, such as shop.wetrun")
        parser.add_argument("--force", action="store_true", help="write over a file that is there")
        for folder in FOLDERS:
            parser.add_argument(f"--without-{folder}", action="append_const", dest="leave_out", const=folder)

    def handle(self, *_: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own
        """Write it and say what is in it."""
        manifest = make_backup(options["file"], leave_out=tuple(options["leave_out"] or ()), force=options["force"])
        self.stdout.write(f"Written and read back: {options['file']} – {told_of(manifest)}")
