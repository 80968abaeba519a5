"""The order of passes with the fewest clean-outs, found exactly: every set of passes already done is looked at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from wetrun.errors import NotProven
from wetrun.planning.order_limits import StartDays

MOST_PART_ORDERS: Final = 3_000_000
"""Part orders looked at before the search gives up; fourteen passes on fourteen crops took up to 2.2 million."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderProblem:
    """Passes in their written order, and what binds them; bit `n` of a number stands for the pass at place `n`.

    Attributes
    ----------
    risky : tuple of int
        The passes on which what this one leaves is risky, until there has been a clean-out.
    risky_next : tuple of int
        The passes on which it is risky if they come directly after; nothing of it counts once another came between.
    before : tuple of int
        The passes that have to be done before this one.
    windows : tuple of StartDays
        The days it may begin.
    """

    risky: tuple[int, ...]
    risky_next: tuple[int, ...]
    before: tuple[int, ...]
    windows: tuple[StartDays, ...]


@dataclass(frozen=True, slots=True)
class FoundOrder:
    """An order with its worth.

    Attributes
    ----------
    places : tuple of int
        Places in the written order, in the order to spray.
    clean_outs : int
        Clean-outs it needs.
    exchanges : int
        Pairs of passes that change places with each other.
    starts : tuple of int
        Earliest day each can begin, as ordinals of the calendar.
    """

    places: tuple[int, ...]
    clean_outs: int
    exchanges: int
    starts: tuple[int, ...]


class _Label(NamedTuple):
    """A part order: what it cost, the passes it bars without a clean-out (for good, and next), when it is free."""

    clean_outs: int
    exchanges: int
    start_sum: int
    free: int
    barred: int
    barred_next: int
    places: tuple[int, ...]
    starts: tuple[int, ...]


def best_order(problem: OrderProblem, *, fewer_than: int | None = None) -> FoundOrder | None:
    """Return the order with the fewest clean-outs; then the fewest exchanges, then the earliest days.

    Parameters
    ----------
    problem : OrderProblem
        The passes.
    fewer_than : int or None
        Only an order with fewer clean-outs than this is of use; None takes any.

    Returns
    -------
    FoundOrder or None
        None if no order keeps to the days and to what comes after what, or none needs fewer.

    Raises
    ------
    NotProven
        If there are too many ways to look at; nothing is then said of the best one.

    Notes
    -----
    Dynamic programming over the sets of passes done (after Held and Karp), with part orders kept that are worse in no
    respect: clean-outs, exchanges, sum of the days they begin, the day the machine is free, and the passes that what
    is in it bars. A clean-out is made only before a pass that needs it, which is never worse than making it sooner.

    References
    ----------
    held-karp-1962

    Example
    -------
    >>> any_day = (StartDays(1, 9, 0),) * 3
    >>> none = (0, 0, 0)
    >>> best_order(OrderProblem(risky=(0b010, 0, 0), risky_next=none, before=none, windows=any_day)).places
    (1, 0, 2)
    """
    most = len(problem.windows) if fewer_than is None else fewer_than
    none = (0,) * len(problem.windows)
    found, seen = _best_within(replace(problem, risky=none, risky_next=none), 0, seen=0)
    if found is None:  # no order fits, whatever it needs
        return None
    for allowed in range(most):
        found, seen = _best_within(problem, allowed, seen=seen)
        if found is not None:
            return found
    return None


def _best_within(problem: OrderProblem, allowed: int, *, seen: int) -> tuple[FoundOrder | None, int]:
    """The best order with no more clean-outs than allowed, where none has fewer; and the part orders seen so far."""
    layer: dict[int, list[_Label]] = {0: [_Label(0, 0, 0, 0, 0, 0, (), ())]}
    for _ in problem.windows:
        following: defaultdict[int, list[_Label]] = defaultdict(list)
        for done in sorted(layer):
            for place, label in _steps(problem, done, layer[done]):
                seen += 1
                if label.clean_outs <= allowed:
                    _keep(following[done | 1 << place], label)
            if seen > MOST_PART_ORDERS:
                raise NotProven(f"the order of {len(problem.windows)} passes leaves too many ways to look at them all")
        layer = following
    ends = [label for labels in layer.values() for label in labels]
    if not ends:
        return None, seen
    best = min(ends, key=lambda label: (label.clean_outs, label.exchanges, label.start_sum, label.places))
    return FoundOrder(best.places, best.clean_outs, best.exchanges, best.starts), seen


def _steps(problem: OrderProblem, done: int, labels: Sequence[_Label]) -> Iterator[tuple[int, _Label]]:
    """Every part order that is one pass longer and keeps to days and order."""
    for place, window in enumerate(problem.windows):
        if done >> place & 1 or problem.before[place] & ~done:
            continue
        after = done | 1 << place
        overtaken = (done >> place).bit_count()
        for label in labels:
            start = max(label.free, window.first)
            if start > window.last or _too_late(problem, after, start + window.work_days):
                continue
            cleaned = label.barred_next >> place & 1
            barred = (problem.risky[place] if cleaned else label.barred | problem.risky[place]) & ~after
            yield (
                place,
                _Label(
                    label.clean_outs + cleaned,
                    label.exchanges + overtaken,
                    label.start_sum + start,
                    start + window.work_days,
                    barred,
                    (barred | problem.risky_next[place]) & ~after,
                    (*label.places, place),
                    (*label.starts, start),
                ),
            )


def _too_late(problem: OrderProblem, done: int, free: int) -> bool:
    return any(window.last < free for place, window in enumerate(problem.windows) if not done >> place & 1)


def _keep(labels: list[_Label], new: _Label) -> None:
    """Enter a part order unless another is nowhere worse; drop those it makes needless."""
    if any(_nowhere_worse(label, new) for label in labels):
        return
    labels[:] = [label for label in labels if not _nowhere_worse(new, label)]
    labels.append(new)


def _nowhere_worse(one: _Label, other: _Label) -> bool:
    """A clean-out less outweighs whatever is still inside: it could be made at once."""
    if one.exchanges > other.exchanges or one.start_sum > other.start_sum or one.free > other.free:
        return False
    if one.clean_outs != other.clean_outs:
        return one.clean_outs < other.clean_outs
    return not (one.barred & ~other.barred or one.barred_next & ~other.barred_next)
