"""The shop's parts list: which tips to order for all machines together, and who they are for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from wetrun.planning.report import PlanReport
from wetrun.spray.droplets import Family
from wetrun.units import Cents


class Sold(Protocol):
    """What an order has to know of a tip; `wetrun.machine.tip.Tip` is one."""

    @property
    def ident(self) -> str:
        """Name in the catalogue."""

    @property
    def words(self) -> str:
        """What to call it."""

    @property
    def size(self) -> str:
        """Size as stamped on it."""

    @property
    def family(self) -> Family:
        """How it makes its drops."""

    @property
    def generic(self) -> bool:
        """Whether it stands in for a size and family and is no maker's tip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What one machine needs of one tip.

    Attributes
    ----------
    machine, customer : str
        Who it is for.
    tip : Sold
        Which one.
    count : int
        How many.
    cost_cents : int or None
        What they cost [cents]; None if no price is known.
    """

    machine: str
    customer: str
    tip: Sold
    count: int
    cost_cents: Cents | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsLine:
    """One tip over all machines.

    Attributes
    ----------
    ident, words, size : str
        The tip.
    family : Family
        How it makes its drops.
    count : int
        How many to order.
    cost_cents : int or None
        What they cost [cents]; None if the price is not known for every machine.
    orders : tuple of Order
        Who they are for, sorted by machine.
    """

    ident: str
    words: str
    size: str
    family: Family
    count: int
    cost_cents: Cents | None
    orders: tuple[Order, ...]


def orders_of(name: str, report: PlanReport) -> tuple[Order, ...]:
    """Return what a machine's proposed plan needs bought.

    Parameters
    ----------
    name : str
        The machine.
    report : PlanReport
        Its plan.

    Returns
    -------
    tuple of Order
        Sets that are owned need nothing.
    """
    return tuple(
        Order(
            machine=name,
            customer=report.plan.season.customer,
            tip=one.tip,
            count=one.needed,
            cost_cents=one.cost_cents,
        )
        for one in report.plan.proposed.tip_sets
        if one.needed
    )


def parts_list(orders: Iterable[Order]) -> tuple[PartsLine, ...]:
    """Return the parts list of a shop.

    Parameters
    ----------
    orders : iterable of Order
        What each machine needs, in any order.

    Returns
    -------
    tuple of PartsLine
        Sorted by family, size and tip. Tips of one name that differ in words, size or family stay apart: two shops'
        tip files may call different things the same.
    """
    lines: dict[tuple[str, str, str, str], list[Order]] = {}
    for order in orders:
        tip = order.tip
        lines.setdefault((tip.family.value, tip.size, tip.ident, tip.words), []).append(order)
    return tuple(_line(sorted(lines[key], key=lambda one: one.machine)) for key in sorted(lines))


def _line(orders: list[Order]) -> PartsLine:
    tip, costs = orders[0].tip, [one.cost_cents for one in orders]
    known = [cost for cost in costs if cost is not None]
    return PartsLine(
        ident=tip.ident,
        words=tip.words,
        size=tip.size,
        family=tip.family,
        count=sum(one.count for one in orders),
        cost_cents=sum(known) if len(known) == len(costs) else None,
        orders=tuple(orders),
    )
