"""The parts list: tips to order over the machines of a branch, who they are for, and how far each order is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from django.db.models import F, Q, QuerySet

from wetrun.fleet.parts import Order, PartsLine, parts_list
from wetrun.machine.catalogue import catalogue
from wetrun.papers.reader import money
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.records.models import Machine, TipPlan
from wetrun.shop.records.readiness import machines_by_first_day
from wetrun.spray.droplets import Family
from wetrun.units import Cents

NOT_COUNTED = "The tips at odd positions are not in the list; spares are not counted."
"""As the paper of the tip plan says it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptTip:
    """A tip as a plan keeps it for its parts list; see `wetrun.fleet.parts.Sold`."""

    ident: str
    words: str
    size: str
    family: Family

    @property
    def generic(self) -> bool:
        """Whether it is a built-in one: no maker's tip may bear such a name."""
        return self.ident in _generic_idents()


@cache
def _generic_idents() -> frozenset[str]:
    return frozenset(tip.ident for tip in catalogue())


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanParts:
    """What has to be bought for one tip plan.

    Attributes
    ----------
    plan : TipPlan
        The plan that stands, with season, machine and customer at hand and without its answers.
    orders : tuple of Order
        Its tips; none where every set is owned.
    before : TipPlan or None
        The latest earlier plan of the season whose tips were ordered, if there is one.
    """

    plan: TipPlan
    orders: tuple[Order, ...]
    before: TipPlan | None = None

    @property
    def machine(self) -> Machine:
        """Whose tips they are."""
        return self.plan.season.machine

    @property
    def lines(self) -> tuple[PartsLine, ...]:
        """Its tips, by family, size and name."""
        return parts_list(self.orders)

    @property
    def count(self) -> int:
        """How many tips."""
        return sum(order.count for order in self.orders)

    @property
    def cost(self) -> Cost:
        """What they cost."""
        return cost_of(self.orders)

    @property
    def is_generic(self) -> bool:
        """Whether one of them is generic."""
        return any(order.tip.generic for order in self.orders)

    @property
    def is_old(self) -> bool:
        """Whether season or machine were changed after the plan was made; the plan's own page says what changed."""
        return max(self.plan.season.changed_at, self.machine.changed_at) > self.plan.made_at

    @property
    def ordered_before(self) -> str:
        """What was ordered for the earlier plan, in words; empty if nothing was."""
        rows = [] if self.before is None else self.before.parts
        return ", ".join(f"{row['count']} × {row['ident']}" for row in rows)


def branch_parts(desk: Desk) -> tuple[tuple[PlanParts, ...], int]:
    """Return what has to be bought for the machines of a branch, and how many machines have no plan to say so.

    Parameters
    ----------
    desk : Desk
        Whose branch.

    Returns
    -------
    tuple of PlanParts, int
        Of each machine the plan of the season it is made ready for, if that is not over; who sprays first comes
        first. Three queries, however many machines.
    """
    machines = machines_by_first_day(desk)
    to_come = Q(season__last_day=None) | Q(season__last_day__gte=desk.today)
    seasons = machines.values("season_now")  # type: ignore[misc]  # a column of that query, none of the table
    plans = _plans(TipPlan.objects.of(desk).filter(to_come, season__in=seasons))
    found = parts_of_plans(plans)
    return tuple(one for one in found if one.orders), machines.count() - len(found)


def machine_parts(machine: Machine) -> tuple[PlanParts, ...]:
    """Return what has to be bought for a machine, season by season, those that were put away left out.

    Parameters
    ----------
    machine : Machine
        The machine.

    Returns
    -------
    tuple of PlanParts
        The season to come first; two queries.
    """
    return parts_of_plans(_plans(TipPlan.objects.filter(season__machine=machine, season__put_away_at=None)))


def parts_of_plans(plans: Iterable[TipPlan]) -> tuple[PlanParts, ...]:
    """Return what has to be bought for plans, in their order; one query."""
    found = list(plans)
    seasons = {plan.season_id for plan in found}
    earlier = TipPlan.objects.filter(season__in=seasons, replaced_at__isnull=False).exclude(parts_state="needed")
    bare = earlier.select_related("parts_by").defer("in_us", "in_si", "inputs").order_by("replaced_at", "pk")
    before = {plan.season_id: plan for plan in bare}
    return tuple(PlanParts(plan=plan, orders=tuple(_orders(plan)), before=before.get(plan.season_id)) for plan in found)


@dataclass(frozen=True, slots=True)
class Cost:
    """What tips cost.

    Attributes
    ----------
    known : str
        Money of those whose price is known; empty if there are none.
    unknown : int
        How many tips have no known price.
    """

    known: str
    unknown: int


def cost_of(orders: Sequence[Order]) -> Cost:
    """Return what tips cost, as far as it is known.

    Example
    -------
    >>> tip = KeptTip(ident="a", words="A", size="04", family=Family.FLAT_FAN)
    >>> known, unknown = (Order(machine="7", customer="", tip=tip, count=70, cost_cents=c) for c in (65800, None))
    >>> cost_of([known, unknown]), cost_of([unknown])
    (Cost(known='658.00', unknown=70), Cost(known='', unknown=70))
    """
    known: list[Cents] = [order.cost_cents for order in orders if order.cost_cents is not None]
    unknown = sum(order.count for order in orders if order.cost_cents is None)
    return Cost(money(sum(known)) if known or not unknown else "", unknown)


def _plans(found: QuerySet[TipPlan]) -> QuerySet[TipPlan]:
    whole = found.filter(replaced_at=None).select_related("season__machine__customer", "parts_by")
    bare = whole.defer("in_us", "in_si", "inputs", "season__document", "season__received", "season__machine__document")
    first = F("season__first_day").asc(nulls_last=True)
    return bare.order_by(first, "season__machine__customer__name", "season__machine__name", "pk")


def _orders(plan: TipPlan) -> Iterable[Order]:
    machine = plan.season.machine
    for row in plan.parts:
        tip = KeptTip(ident=row["ident"], words=row["words"], size=row["size"], family=Family(row["family"]))
        yield Order(
            machine=machine.name,
            customer=machine.customer.name,
            tip=tip,
            count=row["count"],
            cost_cents=row["cost_cents"],
        )
