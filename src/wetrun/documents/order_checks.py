"""Checks of what a season file says of the order of its passes: what comes after what, and the days of work."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from difflib import get_close_matches

from wetrun.documents.refusals import Document, Place, key_of_place, shown_value, typed_at
from wetrun.errors import Problem


def check_order(document: Document) -> Iterator[Problem]:
    """Yield what is wrong with ``after`` and ``days``: no such pass, a circle, days that cannot be kept.

    Parameters
    ----------
    document : Document
        What was typed.

    Yields
    ------
    Problem
        With its key.
    """
    typed = typed_at(document.raw, ("pass",))
    passes = [one if isinstance(one, dict) else {} for one in typed] if isinstance(typed, list) else []
    named = {_folded(one["name"]): at for at, one in enumerate(passes) if isinstance(one.get("name"), str)}
    followed: dict[int, set[int]] = {}
    for at, one in enumerate(passes):
        yield from _days_of_work(document, at)
        for place, name in _after(one, at):
            earlier = named.get(_folded(name))
            if earlier is None:
                yield _unknown(document, place, name, [str(other.get("name", "")) for other in passes])
                continue
            followed.setdefault(at, set()).add(earlier)
            yield from _too_early(document, place, one, passes[earlier])
    circle = _circle(followed)
    if circle:
        names = " after ".join(str(passes[at].get("name")) for at in (*circle, circle[0]))
        place = next(
            place for place, name in _after(passes[circle[0]], circle[0]) if named.get(_folded(name)) in circle
        )
        yield _problem(document, place, f"that is a circle: {names}", "Take one of them away.")


def _after(one: Mapping[str, object], at: int) -> list[tuple[Place, str]]:
    """Each name under ``after`` with its place; whatever else stands there is the field's own to refuse."""
    typed = one.get("after")
    if isinstance(typed, str):
        return [(("pass", at, "after"), typed)]
    names = typed if isinstance(typed, list) else []
    return [(("pass", at, "after", each), name) for each, name in enumerate(names) if isinstance(name, str)]


def _unknown(document: Document, place: Place, name: str, names: list[str]) -> Problem:
    near = get_close_matches(name, names, n=1, cutoff=0.5)
    meant = f"Did you mean “{near[0]}”? " if near else ""
    return _problem(document, place, "no pass has that name", f"{meant}Name a pass of this file.")


def _too_early(
    document: Document, place: Place, one: Mapping[str, object], earlier: Mapping[str, object]
) -> Iterator[Problem]:
    last, first = _day(one.get("last")), _day(earlier.get("first"))
    if last is not None and first is not None and last < first:
        limit = f"this pass must end by {last}, and the one before it begins only on {first}"
        yield _problem(document, place, limit, "Correct the days, or take after away.")


def _days_of_work(document: Document, at: int) -> Iterator[Problem]:
    days = typed_at(document.raw, ("pass", at, "days"))
    first, last = (_day(typed_at(document.raw, ("pass", at, key))) for key in ("first", "last"))
    if not isinstance(days, int) or isinstance(days, bool) or first is None or last is None or last < first:
        return
    there = (last - first) // timedelta(days=1) + 1
    if days > there:
        limit = f"there are only {there} days from first to last"
        yield _problem(document, ("pass", at, "days"), limit, "Correct the days of work, or first and last.")


def _circle(followed: Mapping[int, set[int]]) -> tuple[int, ...]:
    """Return one circle of passes that come after each other; empty if there is none."""
    left = {at: set(earlier) for at, earlier in followed.items()}
    while True:
        ends = [at for at, earlier in left.items() if not earlier & left.keys()]
        if not ends:
            break
        for at in ends:
            del left[at]
    if not left:
        return ()
    path = [min(left)]
    while path[-1] not in path[:-1]:
        path.append(min(left[path[-1]] & left.keys()))
    return tuple(path[path.index(path[-1]) : -1])


def _problem(document: Document, place: Place, limit: str, remedy: str) -> Problem:
    value = shown_value(typed_at(document.raw, place))
    return Problem(document.file, key_of_place(document.raw, place), value, limit, remedy)


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _day(typed: object) -> date | None:
    if isinstance(typed, str):
        try:
            return date.fromisoformat(typed)
        except ValueError:
            return None
    return typed if isinstance(typed, date) and not isinstance(typed, datetime) else None
