"""Sections on dry ground: each switch opens its own, none drips, and tips and widths are those in the monitor."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.errors import NotDefined
from wetrun.proving.uncertainty import Budget, Component, Judged, judged, rectangular
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.units import METRE, SECOND, M, Ratio, S

DRIP_LIMIT_S: Final[S] = 5.0
"""No tip drips any more this long after its spray has collapsed."""

WATCH_HALF_WIDTH_S: Final[S] = 0.5
"""How far a drip seen by eye may be off in time."""

WIDTH_TYPED_HALF_STEP_M: Final[M] = 0.005
"""Half of the step a tape over a section is read to."""


class Opened(StrEnum):
    """What a switch did."""

    OWN = "opens its own section"
    NONE = "opens nothing"
    CROSSED = "is crossed with another switch"
    WRONG = "opens another section"
    MORE = "opens its own section and others"


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionSeen:
    """One section as looked at, left to right.

    Attributes
    ----------
    opened : tuple of int
        Sections that sprayed when this one's switch was put on, 1 at the left end.
    tips, typed_tips : int
        Tips counted, and tips the monitor believes.
    width_m, typed_width_m : float
        Width as taped and as typed into the monitor [m].
    drips_until_s : float or None
        Time after its spray collapsed at which a tip still dripped [s]; None if none dripped.
    """

    opened: tuple[int, ...]
    tips: int
    typed_tips: int
    width_m: M
    typed_width_m: M
    drips_until_s: S | None = None

    def __post_init__(self) -> None:
        remedy = "Enter it in the unit of the tape."
        check_positive("width of a section", self.width_m, METRE, remedy=remedy)
        check_positive("width in the monitor", self.typed_width_m, METRE, remedy=remedy)
        if self.drips_until_s is not None:
            check_not_negative("time of the last drip", self.drips_until_s, SECOND, remedy="Count from the collapse.")
        if self.tips < 1:
            raise NotDefined("section", reason="no tip was counted on it", remedy="Count the tips")


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionResult:
    """One section judged.

    Attributes
    ----------
    section : int
        Number, 1 at the left end.
    opened : Opened
        What its switch did.
    others : tuple of int
        Sections that opened and should not have.
    drip : Judged or None
        Last drip against 5 s; None if none dripped.
    tips_differ : bool
        True if the monitor believes another number of tips.
    width_ratio : float
        Width in the monitor over width as taped [ratio]: the rate applied is off by it.
    width_standard_ratio : float
        Standard uncertainty of that by the tape alone [ratio].
    """

    section: int
    opened: Opened
    others: tuple[int, ...]
    drip: Judged | None
    tips_differ: bool
    width_ratio: Ratio
    width_standard_ratio: Ratio


def section_results(seen: Sequence[SectionSeen]) -> tuple[SectionResult, ...]:
    """Return what was found of each section.

    Parameters
    ----------
    seen : sequence of SectionSeen
        All sections, left to right.

    Returns
    -------
    tuple of SectionResult
        In the same order.

    Raises
    ------
    NotDefined
        A switch is said to open a section the boom does not have.

    Notes
    -----
    The monitor asks for flow over the width it was given, so a width typed 2 % too wide puts on 2 % too much.

    References
    ----------
    drip-after-shut-off, rate-identity

    Example
    -------
    >>> left = SectionSeen(opened=(2,), tips=6, typed_tips=6, width_m=3.0, typed_width_m=3.0)
    >>> right = SectionSeen(opened=(1,), tips=6, typed_tips=6, width_m=3.0, typed_width_m=3.06)
    >>> [(found.opened.name, round(found.width_ratio, 2)) for found in section_results([left, right])]
    [('CROSSED', 1.0), ('CROSSED', 1.02)]
    """
    for number, section in enumerate(seen, 1):
        strange = [other for other in section.opened if not 1 <= other <= len(seen)]
        if strange:
            reason = f"it is said to open section {strange[0]}, and the boom has {len(seen)}"
            raise NotDefined(f"switch {number}", reason=reason, remedy="Count sections from the left, from 1")
    return tuple(_results(seen))


def rate_ratio(results: Sequence[SectionResult], seen: Sequence[SectionSeen]) -> Ratio:
    """Return what the typed widths do to the rate of the whole boom.

    Parameters
    ----------
    results, seen : sequence
        As judged and as looked at, in the same order.

    Returns
    -------
    float
        Applied over target rate with every section on [ratio].

    References
    ----------
    rate-identity

    Example
    -------
    >>> one = SectionSeen(opened=(1,), tips=6, typed_tips=6, width_m=3.0, typed_width_m=3.03)
    >>> rate_ratio(section_results([one]), [one])
    1.01
    """
    width_m = sum(section.width_m for section in seen)
    parts = zip(results, seen, strict=True)
    return sum(found.width_ratio * section.width_m for found, section in parts) / width_m


def _results(seen: Sequence[SectionSeen]) -> Iterator[SectionResult]:
    for number, section in enumerate(seen, 1):
        yield SectionResult(
            section=number,
            opened=_opened(number, seen),
            others=tuple(sorted(set(section.opened) - {number})),
            drip=_drip(section.drips_until_s),
            tips_differ=section.tips != section.typed_tips,
            width_ratio=section.typed_width_m / section.width_m,
            width_standard_ratio=rectangular(WIDTH_TYPED_HALF_STEP_M) * section.typed_width_m / section.width_m**2,
        )


def _opened(number: int, seen: Sequence[SectionSeen]) -> Opened:
    """What a switch did; crossed if what it opened belongs to a switch that opens this one instead."""
    opened = set(seen[number - 1].opened)
    if not opened:
        return Opened.NONE
    if number in opened:
        return Opened.OWN if opened == {number} else Opened.MORE
    swapped = len(opened) == 1 and set(seen[next(iter(opened)) - 1].opened) == {number}
    return Opened.CROSSED if swapped else Opened.WRONG


def _drip(until_s: S | None) -> Judged | None:
    if until_s is None:
        return None
    doubt = Budget((Component("time by eye", rectangular(WATCH_HALF_WIDTH_S), source_key="common-practice-eye"),))
    return judged(until_s, doubt, high=DRIP_LIMIT_S)
