"""Readiness: what still stands between a machine and its first spray day, station by station.

A rule here looks only at facts it is given. What a fact is worth (a verdict, a plan that is out of date) was settled
where it was made; nothing is judged again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from wetrun.machine.proof_standing import ProofStanding
from wetrun.machine.proofs import Proof

WET_RUN_DAYS: Final = 365
"""How long before the first spray day a wet run may lie. Once before every season: common practice, no source."""


class Station(StrEnum):
    """What a machine goes through on its way to the field, in order."""

    INTAKE = "intake"
    TIP_PLAN = "tip plan"
    PARTS = "parts"
    WET_RUN = "wet run"
    CROSS_CHECK = "cross-check"
    SETTINGS = "monitor settings"
    HANDOVER = "handover"


_WON_AT: Final = {Proof.SETTINGS: Station.SETTINGS, Proof.OPERATOR: Station.HANDOVER}
"""Where a proof is won, if not by a wet run."""


class Standing(StrEnum):
    """How far a station is."""

    DONE = "done"
    BEGUN = "begun"
    OPEN = "open"
    STOPS = "stops"
    """Something was found that stands in the way: problems in the season, a wet run that fails."""


@dataclass(frozen=True, slots=True)
class Reached:
    """How far one station is, and what it still lacks.

    Attributes
    ----------
    station : Station
        Which.
    standing : Standing
        How far.
    lacks : str
        What is to be done next there, as a sentence; empty if nothing is.
    told : str
        What is known of it, in a few words.
    on : date or None
        The day of what is known.
    """

    station: Station
    standing: Standing
    lacks: str = ""
    told: str = ""
    on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFacts:
    """What is known of a machine's latest wet run.

    Attributes
    ----------
    on : date or None
        Its day.
    proven : bool
        Whether it was closed and signed.
    verdict : str
        Over all that counts: pass, fail, undecided, or empty.
    agrees : bool or None
        Whether its readings agree with each other; None where they were too few to be held together.
    """

    on: date | None
    proven: bool
    verdict: str
    agrees: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineFacts:
    """What is known of a machine and its season.

    Attributes
    ----------
    season : str
        Title of the season; empty without one.
    first_day : date or None
        First spray day.
    problems : int
        What stands in the way of planning the season.
    planned : bool
        Whether a tip plan stands.
    plan_is_old : bool
        Whether something it rests on was changed since.
    agreed : bool
        Whether the plan was agreed with the customer.
    to_buy : int
        Tips to buy for it.
    parts : str
        needed, ordered or here.
    run : RunFacts or None
        The latest wet run.
    settings_on : date or None
        When the monitor's numbers were last written down.
    handed_on : date or None
        When it was last handed over.
    handed_to : str
        To whom.
    handed_over_link : bool
        Whether the operator did it alone, over a link.
    handed_differing : tuple of str
        The monitor's numbers that differed then, each with what that does to the rate.
    lapsed : tuple of ProofStanding
        Proofs that hold no longer.
    """

    season: str = ""
    first_day: date | None = None
    problems: int = 0
    planned: bool = False
    plan_is_old: bool = False
    agreed: bool = False
    to_buy: int = 0
    parts: str = "needed"
    run: RunFacts | None = None
    settings_on: date | None = None
    handed_on: date | None = None
    handed_to: str = ""
    handed_over_link: bool = False
    handed_differing: tuple[str, ...] = ()
    lapsed: tuple[ProofStanding, ...] = ()


@dataclass(frozen=True, slots=True)
class Readiness:
    """How far a machine is.

    Attributes
    ----------
    stations : tuple of Reached
        Each station once, in order.
    first_day : date or None
        First spray day.
    days_left : int or None
        Days until then; under 0 once it is past.
    """

    stations: tuple[Reached, ...]
    first_day: date | None
    days_left: int | None

    @property
    def ready(self) -> bool:
        """Whether nothing is left to do."""
        return all(one.standing is Standing.DONE for one in self.stations)

    @property
    def next(self) -> Reached | None:
        """The first station that stops, else the first that is not done; None if ready."""
        left = [one for one in self.stations if one.standing is not Standing.DONE]
        stops = [one for one in left if one.standing is Standing.STOPS]
        return next(iter((*stops, *left)), None)


def readiness_of(facts: MachineFacts, today: date) -> Readiness:
    """Return how far a machine is on its way to the first spray day.

    Parameters
    ----------
    facts : MachineFacts
        What is known of it.
    today : date
        The day it is.

    Returns
    -------
    Readiness
        Stations in order. A plan counts as done when it is up to date and agreed, a wet run when it was proven, passes
        and lies within `WET_RUN_DAYS` before the first spray day; what is older than the wet run before it is open
        again: settings and handover have to follow the wet run they rest on. A proof that lapsed opens the station it
        was won at: one that an event cancelled stops there, one that only lasted its time is begun again.

    Example
    -------
    >>> told = readiness_of(MachineFacts(season="Season 2027", first_day=date(2027, 4, 15)), date(2027, 4, 1))
    >>> told.days_left, told.next.station.value, told.next.lacks
    (14, 'tip plan', 'Make the tip plan.')
    """
    stations = tuple(look(facts) for look in (_intake, _plan, _parts, _run, _check, _settings, _handover))
    left = None if facts.first_day is None else (facts.first_day - today).days
    return Readiness(stations, facts.first_day, left)


def _intake(facts: MachineFacts) -> Reached:
    if not facts.season:
        return Reached(Station.INTAKE, Standing.OPEN, "Ask for the season: crops, products, rates, speeds, dates.")
    if facts.problems:
        words = "One thing is" if facts.problems == 1 else f"{facts.problems} things are"
        return Reached(Station.INTAKE, Standing.STOPS, f"{words} not right in the season.", facts.season)
    return Reached(Station.INTAKE, Standing.DONE, told=facts.season)


def _plan(facts: MachineFacts) -> Reached:
    if not facts.planned:
        return Reached(Station.TIP_PLAN, Standing.OPEN, "Make the tip plan.")
    if facts.plan_is_old:
        return Reached(Station.TIP_PLAN, Standing.BEGUN, "Make the tip plan again: what it rests on was changed.")
    if not facts.agreed:
        return Reached(Station.TIP_PLAN, Standing.BEGUN, "Go through the tip plan with the customer.")
    return Reached(Station.TIP_PLAN, Standing.DONE, told="agreed")


def _parts(facts: MachineFacts) -> Reached:
    if not facts.planned:
        return Reached(Station.PARTS, Standing.OPEN, "The tip plan says what is needed.")
    if not facts.to_buy or facts.parts == "here":
        return Reached(Station.PARTS, Standing.DONE, told="here" if facts.to_buy else "nothing to buy")
    tips = "1 tip" if facts.to_buy == 1 else f"{facts.to_buy} tips"
    if facts.parts == "ordered":
        return Reached(Station.PARTS, Standing.BEGUN, f"Wait for {tips} that were ordered.")
    return Reached(Station.PARTS, Standing.OPEN, f"Order {tips}.")


def _run(facts: MachineFacts) -> Reached:
    run = facts.run
    if run is None or (run.on is not None and _is_old(run.on, facts.first_day)):
        return Reached(Station.WET_RUN, Standing.OPEN, "Run it with water before the season.")
    if not run.proven:
        return Reached(Station.WET_RUN, Standing.BEGUN, "Finish the wet run and prove it.", on=run.on)
    if run.verdict == "fail":
        return Reached(
            Station.WET_RUN, Standing.STOPS, "The wet run fails: mend what it names and run again.", on=run.on
        )
    if run.verdict != "pass":
        return Reached(Station.WET_RUN, Standing.BEGUN, "The wet run does not decide: repeat what it names.", on=run.on)
    return _still_proven(Reached(Station.WET_RUN, Standing.DONE, on=run.on), facts)


def _check(facts: MachineFacts) -> Reached:
    run = facts.run
    if run is None or (run.on is not None and _is_old(run.on, facts.first_day)):
        return Reached(Station.CROSS_CHECK, Standing.OPEN, "The wet run's readings are held against each other.")
    if run.agrees is None:
        words = "Read one thing in two ways: meter and jugs, or cab and gauge, so that readings can be compared."
        return Reached(Station.CROSS_CHECK, Standing.OPEN, words)
    if not run.agrees:
        return Reached(Station.CROSS_CHECK, Standing.STOPS, "Readings contradict each other: see which one is off.")
    return Reached(Station.CROSS_CHECK, Standing.DONE, told="readings agree")


def _settings(facts: MachineFacts) -> Reached:
    if facts.settings_on is None:
        return Reached(Station.SETTINGS, Standing.OPEN, "Write down the numbers in the monitor.")
    on = facts.settings_on
    if _is_old(on, facts.first_day) or _before_run(on, facts):
        return Reached(Station.SETTINGS, Standing.BEGUN, "Write down the numbers again: the wet run is newer.", on=on)
    return _still_proven(Reached(Station.SETTINGS, Standing.DONE, on=on), facts)


def _handover(facts: MachineFacts) -> Reached:
    if facts.handed_on is None:
        return Reached(Station.HANDOVER, Standing.OPEN, "Hand it over: walk round, compare numbers, sign.")
    on = facts.handed_on
    if _is_old(on, facts.first_day) or _before_run(on, facts):
        return Reached(Station.HANDOVER, Standing.BEGUN, "Hand it over again: the wet run is newer.", on=on)
    told = f"{facts.handed_to}, over a link" if facts.handed_over_link else facts.handed_to
    done = _still_proven(Reached(Station.HANDOVER, Standing.DONE, told=told, on=on), facts)
    if done.standing is not Standing.DONE or not facts.handed_differing:
        return done
    lacks = f"Signed with numbers that differ: {'; '.join(facts.handed_differing)}. Set them, then hand it over again."
    return Reached(Station.HANDOVER, Standing.BEGUN, lacks, told, on)


def _still_proven(done: Reached, facts: MachineFacts) -> Reached:
    """Return a station that is done, or opened again by a proof that lapsed since."""
    gone = [one for one in facts.lapsed if _WON_AT.get(one.proof, Station.WET_RUN) is done.station]
    if not gone:
        return done
    cancelled = any(cause.happened is not None for one in gone for cause in one.causes)
    why = ", ".join(f"{one.proof.value} ({one.causes[0].words})" for one in gone)
    lacks = f"No longer proven: {why}. {gone[0].again}"
    return Reached(done.station, Standing.STOPS if cancelled else Standing.BEGUN, lacks, done.told, done.on)


def _is_old(on: date, first_day: date | None) -> bool:
    return first_day is not None and on < first_day - timedelta(days=WET_RUN_DAYS)


def _before_run(on: date, facts: MachineFacts) -> bool:
    return facts.run is not None and facts.run.on is not None and on < facts.run.on
