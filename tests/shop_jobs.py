"""What the tests of jobs share: a clock that goes when told, and workers without a thread beside them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from datetime import UTC, datetime, timedelta
from typing import Any

from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs import handlers
from wetrun.shop.jobs.asking import asked
from wetrun.shop.jobs.handlers import Handler
from wetrun.shop.jobs.models import Job
from wetrun.shop.jobs.worker import Worker

NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


class Clock:
    """Stands still until told to go on."""

    def __init__(self, at: datetime = NOON) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def go(self, seconds: float) -> datetime:
        self.at += timedelta(seconds=seconds)
        return self.at


@contextmanager
def handling(**kinds: Handler) -> Iterator[None]:
    """Kinds of jobs that are handled for the length of a test."""
    handlers._HANDLERS.update(kinds)
    try:
        yield
    finally:
        for kind in kinds:
            del handlers._HANDLERS[kind]


def make_worker(now: Callable[[], datetime], lease: timedelta = MINUTE) -> Worker:
    """A worker whose lease nobody renews but its jobs' own words."""
    return Worker(lease=lease, now=now, heart=lambda *_: nullcontext())


def ask(branch: Branch, kind: str = "sum", **args: Any) -> Job:
    return asked(branch, kind, by=None, words=f"A {kind} of numbers", args=args)
