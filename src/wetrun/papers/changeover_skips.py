"""What skipping each circuit does, and what priming takes, as rows of a paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.skipping import Skipped
from wetrun.papers.carry_view import in_basis
from wetrun.papers.reader import Reader, listed
from wetrun.papers.small_amounts import share_text, small_area
from wetrun.quantity import Kind
from wetrun.units import M2

NOT_WITHIN: Final = "all of the first load"
"""Said where a way stays above the level to the end of the load."""


def skip_data(answer: ChangeoverAnswer, reader: Reader) -> dict[str, Any]:
    """Return what skipping each circuit does, the worst first.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        ``rows``, the plan itself on top; ``never``, the circuits every line passes, in words; ``lower``, in sentences,
        where a skip looks better in the first drop than the plan and is worse for the field.
    """
    possible = [skip for skip in answer.skips if skip.possible]
    never = [skip.circuit for skip in answer.skips if not skip.possible]
    return {
        "rows": [_plan_row(answer, reader), *(_row(alike, answer, reader) for alike in _alike(possible))],
        "never": listed(never),
        "lower": list(_lower(possible, answer)),
    }


def above_text(above_m2: M2 | None, reader: Reader) -> str:
    """Return over what area [m2] the level is passed.

    Example
    -------
    >>> from wetrun.quantity import System
    >>> above_text(None, Reader(System.US)), above_text(0.0, Reader(System.US)), above_text(20234.3, Reader(System.SI))
    ('all of the first load', 'none', '2.0 ha')
    """
    return NOT_WITHIN if above_m2 is None else small_area(above_m2, reader)


def priming_words(answer: ChangeoverAnswer, reader: Reader) -> list[str]:
    """Return in sentences what it takes until the new mix is at the last tip, and how thin it is at first.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.

    Returns
    -------
    list of str
        Two sentences or three.
    """
    primed, strength = answer.priming, answer.strength
    last = primed.last
    seconds = reader.text(last.seconds_s, Kind.TIME)
    if primed.circulates:
        round_by = reader.text(primed.circulated_m3, Kind.VOLUME)
        first = (
            f"This boom circulates: {round_by} goes round in {seconds} and the new mix is at the last tip, unsprayed."
        )
    else:
        first = (
            f"Until the new mix is at the last tip ({last.section}): {reader.text(last.volume_m3, Kind.VOLUME)} out of "
            f"the boom, {seconds}, {reader.text(last.distance_m, Kind.LENGTH)} of ground at the speed of the pass. The "
            "first tips have it much sooner."
        )
    full = (
        "it does not reach full strength within the first load"
        if strength.full_after_m2 is None
        else f"full after {small_area(strength.full_after_m2, reader)}"
        if strength.full_after_m2
        else "full from the first drop"
    )
    thin = f"The first drop holds {share_text(strength.first_drop_frac)} of the new mix's strength; {full}."
    end = f"At the end of the load it is {share_text(strength.end_frac)}: the water left in the machine thins it."
    return [first, thin, end]


def _plan_row(answer: ChangeoverAnswer, reader: Reader) -> dict[str, str | bool]:
    plan = answer.plan
    areas = plan.above_m2.values()
    known = [area for area in areas if area is not None]
    return {
        "what": "nothing: the plan as it stands",
        "first": share_text(in_basis(answer, plan.left_frac)),
        "end": share_text(in_basis(answer, plan.acres.end_frac)),
        "above": above_text(max(known) if len(known) == len(areas) else None, reader),
        "section": plan.acres.worst_section,
        "plan": True,
    }


def _row(alike: Sequence[Skipped], answer: ChangeoverAnswer, reader: Reader) -> dict[str, str | bool]:
    first = alike[0]
    return {
        "what": _together(alike, answer),
        "first": share_text(in_basis(answer, first.left_frac or 0.0)),
        "end": share_text(in_basis(answer, first.load_frac or 0.0)),
        "above": above_text(first.above_m2, reader),
        "section": (first.worst_section or "") if len({one.worst_section for one in alike}) == 1 else "that section",
        "plan": False,
    }


def _alike(skips: Sequence[Skipped]) -> Iterator[list[Skipped]]:
    """Circuits on the same lines, or like sections and ends with the same outcome, share a row."""
    groups: dict[tuple[object, ...], list[Skipped]] = {}
    for skip in skips:
        stem = skip.circuit.rstrip("0123456789 ")
        same = (share_text(skip.left_frac or 0.0), share_text(skip.load_frac or 0.0), skip.above_m2 is None)
        numbered = (stem, *same) if stem != skip.circuit else (id(skip.acres),)
        groups.setdefault(numbered, []).append(skip)
    yield from groups.values()


def _together(alike: Sequence[Skipped], answer: ChangeoverAnswer) -> str:
    names = [skip.circuit for skip in alike]
    if len(names) == 1:
        return names[0]
    if len({skip.worst_section for skip in alike}) > 1 or len(alike) > 3:
        order = [circuit.name for circuit in answer.circuits]
        ranked = sorted(names, key=order.index)
        return f"any one of {ranked[0]} to {ranked[-1]}" if len(names) > 2 else " or ".join(ranked)
    return f"{listed(names)} (on the same lines)"


def _lower(possible: Sequence[Skipped], answer: ChangeoverAnswer) -> Iterator[str]:
    """A lower first drop with more in the field: the trap of judging a rinse by what first comes out."""
    plan = answer.plan
    end_frac = plan.acres.end_frac
    traps = [
        skip
        for skip in possible
        if (skip.left_frac or 0.0) < plan.left_frac and (skip.load_frac or 0.0) > 2.0 * end_frac > 0.0
    ]
    if not traps:
        return
    worst = max(traps, key=lambda skip: skip.load_frac or 0.0)
    drops = (share_text(in_basis(answer, share)) for share in (worst.left_frac or 0.0, plan.left_frac))
    ends = (share_text(in_basis(answer, share)) for share in (worst.load_frac or 0.0, end_frac))
    times = (worst.load_frac or 0.0) / end_frac
    yield (
        f"A low first drop proves little. With {worst.circuit} skipped the first drop is lower "
        f"({' against '.join(drops)}), since more of the water goes through the boom. What stayed behind is picked up "
        f"by the next load, and the rest of the field gets {times:.1f} times as much ({' against '.join(ends)})."
    )
