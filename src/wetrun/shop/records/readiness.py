"""Reads off the records what readiness asks of a machine: a fixed number of queries, however many machines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

from django.db.models import F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from wetrun.machine.proof_standing import ProofStanding, lapsed
from wetrun.planning.readiness import MachineFacts, Readiness, RunFacts, readiness_of
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.records.models import Booking, Handover, Machine, MonitorSettings, Season, TipPlan, WetRun
from wetrun.shop.records.upkeep import Upkeep, proven_by, rules_of

OfMachine = TypeVar("OfMachine", WetRun, MonitorSettings, Handover)


@dataclass(frozen=True, slots=True)
class MachineStand:
    """A machine with its season and how far it is.

    Attributes
    ----------
    machine : Machine
        With its customer at hand.
    season : Season or None
        The season it is made ready for.
    plan : TipPlan or None
        The standing plan of that season, without its data.
    run : WetRun or None
        The latest wet run that was not superseded, without its data.
    readiness : Readiness
        How far it is.
    proofs : tuple of ProofStanding
        How every proof stands.
    booked : tuple of Booking
        Tests put off to a day, the first day first.
    handed : Handover or None
        The latest one that is signed, without its walk.
    """

    machine: Machine
    season: Season | None
    plan: TipPlan | None
    run: WetRun | None
    readiness: Readiness
    proofs: tuple[ProofStanding, ...] = ()
    booked: tuple[Booking, ...] = ()
    handed: Handover | None = None

    @property
    def lapsed(self) -> tuple[ProofStanding, ...]:
        """Proofs that hold no longer."""
        return lapsed(self.proofs)


def machines_by_first_day(desk: Desk) -> QuerySet[Machine]:
    """Return the machines of a branch, the first to spray first, those without a day last.

    Parameters
    ----------
    desk : Desk
        Whose branch, and the day it is there.

    Returns
    -------
    QuerySet of Machine
        With ``season_now`` and ``first_day_now`` of the season each is made ready for: the next one that is not over,
        else the latest there is.
    """
    of_machine = Season.objects.filter(machine=OuterRef("pk"), put_away_at=None)
    coming = of_machine.filter(last_day__gte=desk.today).order_by("first_day", "pk")
    latest = of_machine.order_by(F("first_day").desc(nulls_last=True), "-pk")
    chosen = {
        key: Coalesce(Subquery(coming.values(column)[:1]), Subquery(latest.values(column)[:1]))
        for key, column in (("season_now", "pk"), ("first_day_now", "first_day"))
    }
    return (
        Machine.objects.of(desk)
        .filter(put_away_at=None)
        .select_related("customer")
        .defer("document")
        .annotate(**chosen)
        .order_by(F("first_day_now").asc(nulls_last=True), "customer__name", "name", "pk")
    )


def stands_of(machines: Iterable[Machine], today: date) -> tuple[MachineStand, ...]:
    """Return how far machines are.

    Parameters
    ----------
    machines : iterable of Machine
        As `machines_by_first_day` gives them.
    today : date
        The day it is.

    Returns
    -------
    tuple of MachineStand
        In the order given, all of one branch; ten queries in all.
    """
    found = list(machines)
    rules = rules_of(found[0].branch_id) if found else None
    keys = [machine.pk for machine in found]
    seasons = Season.objects.defer("document", "received").in_bulk({m.season_now for m in found if m.season_now})
    plans = {plan.season_id: plan for plan in _plans(list(seasons))}
    upkeep, booked = Upkeep(keys, rules), _booked(keys)
    every = list(_runs(keys)), list(_settings(keys)), list(_handed(keys))
    proven = proven_by(*every)
    runs, settings, handed = _latest(every[0]), _latest(every[1]), _latest(every[2])
    _fill_numbers(handed.values())
    stands = []
    for machine in found:
        season = seasons.get(machine.season_now or 0)
        plan = plans.get(machine.season_now or 0)
        last = handed.get(machine.pk)
        signed_at = None if last is None else last.signed_at
        proofs = upkeep.standing(machine.pk, proven.get(machine.pk, ()), today, signed_at=signed_at)
        facts = _facts(machine, season, plan, (runs.get(machine.pk), settings.get(machine.pk), handed.get(machine.pk)))
        readiness = readiness_of(replace(facts, lapsed=lapsed(proofs)), today)
        run, off = runs.get(machine.pk), booked.get(machine.pk, ())
        stands.append(MachineStand(machine, season, plan, run, readiness, proofs, off, last))
    return tuple(stands)


def stand_of(machine: Machine, desk: Desk) -> MachineStand:
    """Return how far one machine is."""
    (found,) = stands_of(machines_by_first_day(desk).filter(pk=machine.pk) or [_put_away(machine)], desk.today)
    return found


def stand_on(machine: Machine, today: date) -> MachineStand:
    """Return how far one machine is on a day, for a reader without an account; its season is the latest there is."""
    (found,) = stands_of([_put_away(machine)], today)
    return found


def _put_away(machine: Machine) -> Machine:
    latest = machine.seasons.order_by(F("first_day").desc(nulls_last=True), "-pk").first()
    machine.season_now = None if latest is None else latest.pk
    return machine


def _plans(seasons: Sequence[int]) -> QuerySet[TipPlan]:
    return TipPlan.objects.filter(season__in=seasons, replaced_at=None).defer("in_us", "in_si", "inputs")


def _runs(machines: Sequence[int]) -> QuerySet[WetRun]:
    rows = WetRun.objects.filter(machine__in=machines, superseded_by=None).order_by(F("on").asc(nulls_last=True), "pk")
    return rows.defer("document", "received", "machine_then", "in_us", "in_si")


def _settings(machines: Sequence[int]) -> QuerySet[MonitorSettings]:
    return MonitorSettings.objects.filter(machine__in=machines).order_by("on", "pk").defer("document")


def _handed(machines: Sequence[int]) -> QuerySet[Handover]:
    signed = Handover.objects.filter(machine__in=machines).exclude(signed_at=None)
    return signed.order_by("signed_at", "pk").defer("checks", "numbers")


def _fill_numbers(handed: Iterable[Handover]) -> None:
    """Read the numbers of the latest handovers alone: those of every season before are nobody's business here."""
    latest = {one.pk: one for one in handed}
    for key, numbers in Handover.objects.filter(pk__in=latest).values_list("pk", "numbers"):
        latest[key].numbers = numbers


def _booked(machines: Sequence[int]) -> dict[int, tuple[Booking, ...]]:
    found: dict[int, tuple[Booking, ...]] = {}
    for one in Booking.objects.filter(machine__in=machines, closed_at=None):
        found[one.machine_id] = (*found.get(one.machine_id, ()), one)
    return found


def _latest(rows: Iterable[OfMachine]) -> dict[int, OfMachine]:
    return {row.machine_id: row for row in rows}


def _facts(
    machine: Machine,
    season: Season | None,
    plan: TipPlan | None,
    proofs: tuple[WetRun | None, MonitorSettings | None, Handover | None],
) -> MachineFacts:
    run, settings, handed = proofs
    told = None if run is None else RunFacts(on=run.on, proven=not run.is_open, verdict=run.verdict, agrees=run.agrees)
    return MachineFacts(
        season="" if season is None else season.title,
        first_day=None if season is None else season.first_day,
        problems=0 if season is None else season.problems,
        planned=plan is not None,
        plan_is_old=plan is not None and season is not None and _is_old(plan, season, machine),
        agreed=plan is not None and plan.agreed_at is not None,
        to_buy=0 if plan is None else sum(int(row["count"]) for row in plan.parts),
        parts="needed" if plan is None else plan.parts_state,
        run=told,
        settings_on=None if settings is None else settings.on,
        handed_on=None if handed is None or handed.signed_at is None else timezone.localdate(handed.signed_at),
        handed_to="" if handed is None else handed.operator,
        handed_over_link=handed is not None and handed.over_link,
        handed_differing=() if handed is None else tuple(f"{r['name']} ({r['words']})" for r in handed.differing),
    )


def _is_old(plan: TipPlan, season: Season, machine: Machine) -> bool:
    """Whether season or machine were saved after the plan; the plan's own page says exactly what changed."""
    return max(season.changed_at, machine.changed_at) > plan.made_at
