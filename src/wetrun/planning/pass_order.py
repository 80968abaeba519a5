"""The order of a season's passes: the changeovers it needs, and a better order if dates and crops leave one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import combinations
from typing import Final

from wetrun.errors import NotProven
from wetrun.planning.changeovers_needed import Changeover, Need, changeovers_of_order, most_changeovers
from wetrun.planning.order_limits import places_before, start_days, starts_of, written_order
from wetrun.planning.order_search import OrderProblem, best_order
from wetrun.planning.passes import Pass
from wetrun.planning.residue import residues_on

METHOD: Final = "order of passes"
METHOD_NUMBER: Final = 1


class Outlook(StrEnum):
    """What the search for a better order came to."""

    NOTHING_TYPED = "nobody typed which crops a product is risky on"
    WRITTEN_IS_BEST = "no order that keeps to dates and crops needs fewer changeovers"
    BETTER = "another order needs fewer changeovers"
    ONLY_THIS_FITS = "the order as written does not fit its days; another does"
    NOTHING_FITS = "no order fits the days"
    NOT_SEARCHED = "too many ways to look at them all"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderedPasses:
    """One order of the passes, and what it needs.

    Attributes
    ----------
    passes : tuple of Pass
        In the order sprayed.
    changeovers : tuple of Changeover
        Before every pass but the first.
    most : int
        Clean-outs it needs if everything in doubt turns out to be risky.
    starts : tuple of date
        Earliest day each can begin; shorter than the passes if the next one would begin too late.
    """

    passes: tuple[Pass, ...]
    changeovers: tuple[Changeover, ...]
    most: int
    starts: tuple[date, ...]

    @property
    def needed(self) -> int:
        """Clean-outs needed by what was typed."""
        return sum(change.need is Need.NEEDED for change in self.changeovers)

    @property
    def late(self) -> Pass | None:
        """The first pass that would begin too late; None if the days fit."""
        return self.passes[len(self.starts)] if len(self.starts) < len(self.passes) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class PassOrder:
    """What a season's order of passes needs, and a better one if there is one.

    Attributes
    ----------
    written : OrderedPasses
        The order the plan goes by.
    better : OrderedPasses or None
        A suggestion; the plan itself stays as it is.
    exchanged : tuple of tuple of str
        Idents of pairs that change places, the one that would now go first ahead.
    outlook : Outlook
        What the search came to.
    method, method_number : str, int
        What made it.
    """

    written: OrderedPasses
    better: OrderedPasses | None
    exchanged: tuple[tuple[str, str], ...]
    outlook: Outlook
    method: str = METHOD
    method_number: int = METHOD_NUMBER


def pass_order(passes: Sequence[Pass]) -> PassOrder:
    """Return the changeovers a season's order of passes needs, and the order with the fewest.

    Parameters
    ----------
    passes : sequence of Pass
        All of one machine.

    Returns
    -------
    PassOrder
        The better order needs fewer clean-outs by what was typed; of several, the one with the fewest exchanges, then
        the earliest days.

    Raises
    ------
    NotDefined
        If passes come after each other in a circle.

    Notes
    -----
    Weather, ground, crop stage and the days a clean-out takes are left out. Days of work count where they were typed.

    References
    ----------
    held-karp-1962
    """
    order = written_order(passes)
    written = ordered_passes(order)
    if not any(is_typed(one) for one in order):
        return PassOrder(written=written, better=None, exchanged=(), outlook=Outlook.NOTHING_TYPED)
    try:
        found = best_order(order_problem(order), fewer_than=written.needed if written.late is None else None)
    except NotProven:
        return PassOrder(written=written, better=None, exchanged=(), outlook=Outlook.NOT_SEARCHED)
    if found is None:
        outlook = Outlook.WRITTEN_IS_BEST if written.late is None else Outlook.NOTHING_FITS
        return PassOrder(written=written, better=None, exchanged=(), outlook=outlook)
    return PassOrder(
        written=written,
        better=ordered_passes([order[place] for place in found.places]),
        exchanged=tuple(
            (order[ahead].ident, order[behind].ident)
            for ahead, behind in combinations(found.places, 2)
            if ahead > behind
        ),
        outlook=Outlook.BETTER if written.late is None else Outlook.ONLY_THIS_FITS,
    )


def is_typed(planned: Pass) -> bool:
    """Return whether anything was typed that a changeover after a pass can be judged by."""
    return any(product.risky_on is not None or product.clean_after for product in planned.products)


def order_problem(order: Sequence[Pass]) -> OrderProblem:
    """Return the passes of the written order as the search sees them.

    Parameters
    ----------
    order : sequence of Pass
        The written order.

    Returns
    -------
    OrderProblem
        Only what calls for a clean-out by what was typed counts as risky; doubts do not.
    """
    return OrderProblem(
        risky=_risky(order, passes_back=2),
        risky_next=_risky(order, passes_back=1),
        before=places_before(order),
        windows=tuple(start_days(planned) for planned in order),
    )


def _risky(order: Sequence[Pass], *, passes_back: int) -> tuple[int, ...]:
    """The passes on which each pass's residue is risky, as bits; further back than two is as two."""
    return tuple(
        sum(
            1 << at
            for at, later in enumerate(order)
            if any(found.reason.sure for found in residues_on(earlier, later, passes_back=passes_back))
        )
        for earlier in order
    )


def ordered_passes(order: Sequence[Pass]) -> OrderedPasses:
    """Return what one order of passes needs.

    Parameters
    ----------
    order : sequence of Pass
        In the order sprayed.

    Returns
    -------
    OrderedPasses
        With the changes between them and the days they can begin.
    """
    starts = starts_of([start_days(planned) for planned in order])
    return OrderedPasses(
        passes=tuple(order),
        changeovers=changeovers_of_order(order),
        most=most_changeovers(order),
        starts=tuple(date.fromordinal(start) for start in starts),
    )
