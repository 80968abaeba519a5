"""A job under way, as its handler sees it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, Final, TypeAlias

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.document_field import document_of, document_text
from wetrun.shop.jobs.lease import Hold, Interrupted, finish, keep_part, look, renew
from wetrun.shop.jobs.models import Job
from wetrun.units import Frac

Result: TypeAlias = dict[str, Any] | None
"""What is kept of a job that is done: a small document, such as the key of the record it made."""

PAUSE: Final = timedelta(seconds=1)
"""Between two looks into the database, however often a handler asks or tells."""
LONGEST_KEY: Final = 200


class Stopped(Interrupted):
    """The worker was asked to end; another goes on with the job."""


class Running:
    """A job under way.

    Parameters
    ----------
    job : Job
        As it was claimed.
    hold : Hold
        The worker's hold on it.
    now : callable
        The clock.
    stopping : callable
        Whether the worker was asked to end.
    """

    def __init__(self, job: Job, hold: Hold, *, now: Callable[[], datetime], stopping: Callable[[], bool]) -> None:
        self.args: dict[str, Any] = job.args
        self.branch: Branch = job.branch
        self.asked_by: User | None = job.made_by
        self.is_finished = False
        self._hold = hold
        self._now = now
        self._stopping = stopping
        self._looked_at = now()
        self._parts: dict[str, Any] = {part.key: part.value for part in job.parts.all()}

    def part(self, key: str, compute: Callable[[], Any]) -> Any:  # noqa: ANN401 - a document
        """Return a part of the work: computed once, kept as soon as it is, and never computed again for this job.

        Parameters
        ----------
        key : str
            Tells it from the job's other parts.
        compute : callable
            Computes it; returns a document. What it changes elsewhere may happen twice, if the worker is killed between
            that and the keeping.

        Returns
        -------
        document
            As it is kept, the first time too: lists where `compute` gave tuples.

        Raises
        ------
        ValueError
            If the key is too long to be kept.
        Interrupted
            If the job is not to go on here.
        """
        if len(key) > LONGEST_KEY:
            raise ValueError(f"a part's key has {len(key)} characters, at most {LONGEST_KEY} can be kept: {key[:40]}…")
        if key not in self._parts:
            self.check()
            value = document_of(document_text(compute()))
            keep_part(self._hold, key, value)
            self._parts[key] = value
        return self._parts[key]

    def progress(self, done_frac: Frac, words: str = "") -> None:
        """Tell how far the work is; told oftener than once a second, only some of it is written.

        Parameters
        ----------
        done_frac : float
            Share of the work that is done, 0 to 1 [frac].
        words : str
            What is being done: "3 of 12 logs read".

        Raises
        ------
        Interrupted
            If the job is not to go on here.
        """
        if self._is_time():
            renew(self._hold, self._now(), progress=min(1.0, max(0.0, done_frac)), progress_words=words[:200])
            look(self._hold)

    def check(self) -> None:
        """Look whether the work is still to go on here: to be called every second or so of long work.

        Raises
        ------
        Interrupted
            If somebody cancelled it, another worker has it, or this worker is to end.
        """
        if self._is_time():
            look(self._hold)

    def finish(self, save: Callable[[], Result]) -> Result:
        """Save what the job was for and mark it done, both or neither.

        Parameters
        ----------
        save : callable
            Saves records; returns the job's result. Called inside the transaction: quick, and with nothing to compute.

        Returns
        -------
        document
            What `save` returned, for the handler to return in turn.

        Raises
        ------
        Interrupted
            If the job is another worker's or nobody wants it any more; then nothing is saved.
        """
        result: Result = finish(self._hold, save, self._now())
        self.is_finished = True
        return result

    def _is_time(self) -> bool:
        if self._stopping():
            raise Stopped
        now = self._now()
        if timedelta(0) <= now - self._looked_at < PAUSE:  # a clock that was put back does not silence us
            return False
        self._looked_at = now
        return True
