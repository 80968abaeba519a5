"""``python -m wetrun.shop work``: a worker. Several may run; on several computers, where the database is PostgreSQL."""

from __future__ import annotations

import argparse
import signal
from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from wetrun.shop.jobs.worker import LEASE, Worker


def seconds(text: str) -> float:
    """Return a length of time from the command line.

    Raises
    ------
    ArgumentTypeError
        If it is none.
    """
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0 < value <= 86_400:
        raise argparse.ArgumentTypeError(f"“{text}” is no number of seconds from more than 0 to 86400")
    return value


class Command(BaseCommand):
    """Do the long work that pages ask for."""

    help = "Do the long work that pages ask for: plans, logs, replays. Ends on SIGTERM, giving back what is not done."

    # They look at every page and all it loads; a worker shows none.
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the options."""
        parser.add_argument("--once", action="store_true", help="end when there is nothing left to do")
        parser.add_argument("--idle", type=seconds, default=2.0, metavar="S", help="seconds between two looks (2)")
        parser.add_argument(
            "--lease",
            type=seconds,
            default=LEASE.total_seconds(),
            metavar="S",
            help="seconds of silence after which another worker takes this one's job over (60)",
        )

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own
        """Work until asked to end."""
        del args
        worker = Worker(lease=timedelta(seconds=options["lease"]))
        for asked_to_end in (signal.SIGTERM, signal.SIGINT):
            signal.signal(asked_to_end, lambda *_: worker.stop())
        worker.run(options["idle"], once=options["once"])
