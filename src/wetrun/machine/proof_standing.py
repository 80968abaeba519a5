"""What is still proven on a machine, what has lapsed, why, since when, and what is to be done again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from wetrun.machine.proofs import AGAIN, SPEED_SOURCES, USUAL, Happened, Lasts, Proof, Proven, cancelled_by
from wetrun.machine.work_done import Span, Work

_NO_WORK: Final = Work()


class State(StrEnum):
    """Whether a proof still holds."""

    HOLDS = "holds"
    LAPSED = "lapsed"
    NEVER = "not proven yet"


class Because(StrEnum):
    """What a proof lapsed by, where it was no event."""

    AREA = "acres since"
    HOURS = "hours since"
    DAYS = "days since"


@dataclass(frozen=True, slots=True)
class Cause:
    """One reason why a proof no longer holds.

    Attributes
    ----------
    since : date
        From when.
    happened : Happened or None
        The event; None if it lasted no longer.
    because : Because or None
        The limit that was passed; None if an event cancelled it.
    """

    since: date
    happened: Happened | None = None
    because: Because | None = None

    @property
    def words(self) -> str:
        """The reason in a few words."""
        if self.happened is not None:
            return self.happened.event.value
        return "" if self.because is None else self.because.value


@dataclass(frozen=True, slots=True)
class ProofStanding:
    """How one proof stands.

    Attributes
    ----------
    proof : Proof
        Which.
    state : State
        Whether it holds.
    on : date or None
        Day of the newest test; None if there is none.
    causes : tuple of Cause
        Why it lapsed, the earliest first; empty if it holds.
    unread : tuple of Because
        Limits that cannot be told kept or passed: a counter was not read, or not near enough to the test.
    """

    proof: Proof
    state: State
    on: date | None = None
    causes: tuple[Cause, ...] = ()
    unread: tuple[Because, ...] = ()

    @property
    def since(self) -> date | None:
        """Since when it no longer holds."""
        return self.causes[0].since if self.causes else None

    @property
    def again(self) -> str:
        """What is to be done; empty while it holds."""
        return "" if self.state is State.HOLDS else AGAIN[self.proof]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lapsing:
    """By what proofs lapse on one machine.

    Attributes
    ----------
    lasts : mapping of Proof to Lasts
        The shop's limits.
    work : Work
        What the machine did.
    """

    lasts: Mapping[Proof, Lasts]
    work: Work = _NO_WORK


USUAL_LAPSING: Final = Lapsing(lasts=USUAL)


def proofs_standing(
    proven: Iterable[Proven], happened: Iterable[Happened], today: date, by: Lapsing = USUAL_LAPSING
) -> tuple[ProofStanding, ...]:
    """Return how every proof of a machine stands.

    Parameters
    ----------
    proven : iterable of Proven
        Tests that passed, in any order.
    happened : iterable of Happened
        Events, in any order; what comes later than today does not count yet.
    today : date
        The day it is.
    by : Lapsing
        Limits, and the work done.

    Returns
    -------
    tuple of ProofStanding
        One for each of `Proof`, in that order. Only the newest test of each counts.

    Example
    -------
    >>> from wetrun.machine.proofs import Event
    >>> course = Proven(Proof.WHEEL, date(2027, 3, 12))
    >>> tires = Happened(event=Event.NEW_TIRES, on=date(2027, 5, 2))
    >>> wheel = proofs_standing([course], [tires], date(2027, 5, 3))[0]
    >>> wheel.state.value, wheel.causes[0].words, wheel.since.isoformat()
    ('lapsed', 'new tires', '2027-05-02')
    """
    newest: dict[Proof, Proven] = {}
    for one in proven:
        if one.on <= today and (one.proof not in newest or one.on > newest[one.proof].on):
            newest[one.proof] = one
    events = sorted({one for one in happened if one.on <= today}, key=lambda one: (one.on, one.event))
    return tuple(
        _standing(newest[proof], _cancelling(newest[proof], events), today, by)
        if proof in newest
        else ProofStanding(proof, State.NEVER)
        for proof in Proof
    )


def held(standing: Iterable[ProofStanding]) -> tuple[Proof, ...]:
    """Return what may be leaned on.

    Parameters
    ----------
    standing : iterable of ProofStanding
        How every proof stands.

    Returns
    -------
    tuple of Proof
        Those that hold; of the speed sources none once one of them lapsed, for nobody says here which one steers.
    """
    found = tuple(standing)
    gone = {one.proof for one in lapsed(found)}
    shaken = frozenset(SPEED_SOURCES) if gone & set(SPEED_SOURCES) else frozenset()
    return tuple(one.proof for one in found if one.state is State.HOLDS and one.proof not in shaken)


def lapsed(standing: Iterable[ProofStanding]) -> tuple[ProofStanding, ...]:
    """Return the proofs that have lapsed."""
    return tuple(one for one in standing if one.state is State.LAPSED)


def _standing(proven: Proven, cancelling: Iterable[Cause], today: date, by: Lapsing) -> ProofStanding:
    worn, unread = _worn(proven, by.lasts.get(proven.proof, Lasts()), by.work.until(today), today)
    causes = tuple(sorted((*cancelling, *worn), key=lambda cause: cause.since))
    state = State.LAPSED if causes else State.HOLDS
    return ProofStanding(proven.proof, state, proven.on, causes, unread)


def _cancelling(proven: Proven, events: Iterable[Happened]) -> Iterator[Cause]:
    for one in events:
        if proven.proof in cancelled_by(one) and one.comes_after(proven):
            yield Cause(one.on, one)


def _worn(proven: Proven, lasts: Lasts, work: Work, today: date) -> tuple[list[Cause], tuple[Because, ...]]:
    found: list[Cause] = []
    unread: list[Because] = []
    if lasts.days is not None and today > proven.on + timedelta(lasts.days):
        found.append(Cause(proven.on + timedelta(lasts.days + 1), because=Because.DAYS))
    limited: tuple[tuple[Because, float | None, Callable[[Work], Span]], ...] = (
        (Because.AREA, lasts.area_m2, lambda known: known.area_since(proven.on)),
        (Because.HOURS, lasts.spraying_s, lambda known: known.hours_since(proven.on)),
    )
    for because, limit, since in limited:
        if limit is None:
            continue
        passed = next((day for day in _days(work, proven) if since(work.until(day)).least > limit), None)
        if passed is not None:
            found.append(Cause(passed, because=because))
        elif since(work).most > limit:
            unread.append(because)
    return found, tuple(unread)


def _days(work: Work, proven: Proven) -> Iterator[date]:
    return (day for day in work.days if day > proven.on)
