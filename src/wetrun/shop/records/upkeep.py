"""Reads off the records what is proven on machines and what happened to them: a few queries, however many machines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any, Final

from django.db.models import QuerySet
from django.utils import timezone

from wetrun.machine.proof_standing import Lapsing, ProofStanding, proofs_standing
from wetrun.machine.proofs import USUAL, Event, Happened, Lasts, Proof, Proven
from wetrun.machine.work_done import Counted, Work, Worked
from wetrun.quantity import Kind, read
from wetrun.shop.records.models import (
    FilledLoad,
    Handover,
    MachineEvent,
    MonitorSettings,
    WetRun,
    YardRules,
)
from wetrun.shop.records.models.upkeep import COUNTERS

LIMITS: Final[Mapping[str, tuple[str, Kind | None]]] = {
    "area": ("area_m2", Kind.AREA),
    "hours": ("spraying_s", Kind.TIME),
    "days": ("days", None),
}
"""Limits of a proof by the name they are kept under: attribute of `Lasts`, and kind of quantity."""


def standing_events(machines: Iterable[int]) -> QuerySet[MachineEvent]:
    """Return the events of machines that were not corrected and not taken back, the newest first."""
    return MachineEvent.objects.filter(machine__in=machines, corrected_by=None, void=False)


def standing_loads(machines: Iterable[int]) -> QuerySet[FilledLoad]:
    """Return the loads of machines that were not corrected and not taken back, the first first."""
    return FilledLoad.objects.filter(machine__in=machines, corrected_by=None, void=False)


def lasts_of(rules: YardRules | None) -> dict[Proof, Lasts]:
    """Return how long proofs last in a branch.

    Parameters
    ----------
    rules : YardRules or None
        What the branch typed; None takes the usual.

    Returns
    -------
    dict
        Of each proof. A proof the branch typed anything for has the limits typed and no others.
    """
    typed = {} if rules is None else rules.lasts
    return {proof: _lasts(typed[proof.name]) if proof.name in typed else USUAL[proof] for proof in Proof}


def _lasts(typed: Mapping[str, Any]) -> Lasts:
    given = {key: str(typed.get(key, "")) for key in LIMITS}
    found: dict[str, Any] = {}
    for key, (name, kind) in LIMITS.items():
        if given[key]:
            found[name] = int(given[key]) if kind is None else read(given[key], kind).si_value
    return Lasts(**found)


def rules_of(branch_id: int) -> YardRules | None:
    """Return what a branch reckons with; None if it never typed anything."""
    return YardRules.objects.filter(branch=branch_id).first()


def happened_of(event: MachineEvent, signed_at: datetime | None = None) -> Happened | None:
    """Return an event as the core knows it; None for counters that were only read.

    Parameters
    ----------
    event : MachineEvent
        As entered.
    signed_at : datetime or None
        When the machine was last handed over: a new operator who was entered before that came before that check.

    Returns
    -------
    Happened or None
        The event.
    """
    if event.kind == COUNTERS:
        return None
    checked = event.kind == Event.NEW_OPERATOR.name and signed_at is not None and signed_at > event.made_at
    return Happened(
        event=Event[event.kind],
        on=event.on,
        before_tests=event.before_tests or checked,
        was_kgpm3=event.was_kgpm3,
        now_kgpm3=event.now_kgpm3,
        density_in_monitor=event.density_in_monitor,
    )


class Upkeep:
    """What is known of the proofs of some machines.

    Parameters
    ----------
    machines : sequence of int
        Their keys, all of one branch.
    rules : YardRules or None
        What their branch reckons with.

    Notes
    -----
    Two queries; runs, settings and handovers are handed in by whoever read them already.
    """

    def __init__(self, machines: Sequence[int], rules: YardRules | None) -> None:
        self.lasts = lasts_of(rules)
        self.events: dict[int, list[MachineEvent]] = {}
        for event in standing_events(machines):
            self.events.setdefault(event.machine_id, []).append(event)
        self.loads: dict[int, list[FilledLoad]] = {}
        for load in standing_loads(machines).defer("document"):
            self.loads.setdefault(load.machine_id, []).append(load)

    def standing(
        self, machine: int, proven: Iterable[Proven], today: date, *, signed_at: datetime | None = None
    ) -> tuple[ProofStanding, ...]:
        """Return how the proofs of one machine stand, last handed over at a moment."""
        events = self.events.get(machine, [])
        happened = [found for event in events if (found := happened_of(event, signed_at)) is not None]
        return proofs_standing(proven, happened, today, Lapsing(lasts=self.lasts, work=self._work(machine)))

    def _work(self, machine: int) -> Work:
        read_on = [one for one in self.events.get(machine, []) if one.area_m2 is not None or one.spraying_s is not None]
        return Work(
            tuple(Counted(one.on, one.area_m2, one.spraying_s) for one in read_on),
            tuple(Worked(one.on, one.area_m2 or 0.0) for one in self.loads.get(machine, [])),
        )


def proven_by(
    runs: Iterable[WetRun], settings: Iterable[MonitorSettings], handed: Iterable[Handover]
) -> dict[int, list[Proven]]:
    """Return what records prove, by key of the machine.

    Parameters
    ----------
    runs : iterable of WetRun
        Those open or without a day prove nothing.
    settings : iterable of MonitorSettings
        Each proves the settings of its day.
    handed : iterable of Handover
        Signed ones prove the operator's check.

    Returns
    -------
    dict
        Lists of what is proven.
    """
    found: dict[int, list[Proven]] = {}
    for run in runs:
        if not run.is_open and run.on is not None:
            found.setdefault(run.machine_id, []).extend(Proven(Proof[name], run.on) for name in run.proofs)
    for one in settings:
        found.setdefault(one.machine_id, []).append(Proven(Proof.SETTINGS, one.on))
    for each in handed:
        if each.signed_at is not None:
            day = timezone.localdate(each.signed_at)
            found.setdefault(each.machine_id, []).append(Proven(Proof.OPERATOR, day))
    return found
