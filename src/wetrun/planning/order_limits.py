"""What an order of passes has to keep to: what comes after what, and the days each pass may begin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wetrun.errors import NotDefined
from wetrun.planning.crop_names import CropMatch, crop_match
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import Pass


@dataclass(frozen=True, slots=True)
class StartDays:
    """The days on which a pass may begin, so that it ends in time.

    Attributes
    ----------
    first, last : int
        First and last day to begin, as ordinals of the calendar.
    work_days : int
        Days after which the next pass may begin.
    """

    first: int
    last: int
    work_days: int


def written_order(passes: Sequence[Pass]) -> tuple[Pass, ...]:
    """Return the order of passes a plan goes by: by first day, with what has to come after kept.

    Parameters
    ----------
    passes : sequence of Pass
        In any order.

    Returns
    -------
    tuple of Pass
        Passes with the same first day by their name.

    Raises
    ------
    NotDefined
        If passes come after each other in a circle.

    Notes
    -----
    A season may be looked at in part: coming after a pass that is not there binds nothing.
    """
    before = _typed_before(passes)
    ordered: list[Pass] = []
    done: set[str] = set()
    while len(ordered) < len(passes):
        ready = [one for one in passes if one.ident not in done and before[one.ident] <= done]
        if not ready:
            names = ", ".join(one.ident for one in passes if one.ident not in done)
            raise NotDefined(
                "the order of passes",
                reason=f"each of these comes after another of them: {names}",
                remedy="Take one `after` away.",
            )
        ordered.append(min(ready, key=lambda one: (one.first_day, one.ident)))
        done.add(ordered[-1].ident)
    return tuple(ordered)


def places_before(order: Sequence[Pass]) -> tuple[int, ...]:
    """Return, for every pass of the written order, which places have to be done before it, as bits.

    Parameters
    ----------
    order : sequence of Pass
        The written order.

    Returns
    -------
    tuple of int
        Bit `n` stands for the pass at place `n`.

    Notes
    -----
    What was typed as `after`, and passes on one crop in the order they are written: what a crop gets, and when, is
    agronomy and not ours to change. Crops whose names may mean one crop count as one here.
    """
    typed = _typed_before(order)
    return tuple(
        sum(
            1 << place
            for place, earlier in enumerate(order)
            if earlier.ident in typed[later.ident]
            or (place < at and crop_match(earlier.crop, later.crop) is not CropMatch.OTHER)
        )
        for at, later in enumerate(order)
    )


def start_days(planned: Pass) -> StartDays:
    """Return the days on which a pass may begin.

    Parameters
    ----------
    planned : Pass
        The pass.

    Returns
    -------
    StartDays
        Inside the customer's days and the labels'; where those leave nothing, the customer's alone. A pass whose days
        of work were not typed takes none of the next one's.
    """
    limits = combined_limits(planned)
    met = limits.first_day <= limits.last_day
    first, last = (limits.first_day, limits.last_day) if met else (planned.first_day, planned.last_day)
    days = planned.work_days
    return StartDays(first.toordinal(), last.toordinal() - max(days - 1, 0), days)


def starts_of(windows: Sequence[StartDays]) -> tuple[int, ...]:
    """Return the earliest day each pass of an order can begin.

    Parameters
    ----------
    windows : sequence of StartDays
        In the order sprayed.

    Returns
    -------
    tuple of int
        Ordinals of the calendar, as far as the days go: shorter than the order if a pass would begin too late.

    Example
    -------
    >>> starts_of([StartDays(10, 20, 3), StartDays(11, 12, 1)])
    (10,)
    """
    free, starts = 0, []
    for window in windows:
        start = max(free, window.first)
        if start > window.last:
            break
        starts.append(start)
        free = start + window.work_days
    return tuple(starts)


def _typed_before(passes: Sequence[Pass]) -> dict[str, set[str]]:
    """Idents each pass was typed to come after."""
    known = {_folded(one.ident): one.ident for one in passes}
    return {one.ident: {known[_folded(name)] for name in one.after if _folded(name) in known} for one in passes}


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())
