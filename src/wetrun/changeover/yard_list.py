"""The yard's list for one clean-out: the label first, then step by step until the record is signed.

The order is a synthesis of what extension papers say, each step with its source. Where a label differs, the label wins.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from wetrun.changeover.usual_steps import (
    DRAIN,
    EMPTY,
    LABELS,
    NO_BLEACH,
    NURSE,
    OUT_OPEN,
    OUTSIDE,
    PPE,
    RECORD,
    REFIT,
    SITE,
)
from wetrun.changeover.yard_job import CircuitFlush, YardJob, check_amounts, check_cleaners, circuit_key
from wetrun.changeover.yard_step import Signing, StepKind, YardStep
from wetrun.errors import ended
from wetrun.units import M3

METHOD: Final = "yard-list-1"
USUAL_RINSES: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class YardList:
    """The steps of one clean-out, in order.

    Attributes
    ----------
    job : YardJob
        What it was made from.
    steps : tuple of YardStep
        In the order to be done.
    gaps : tuple of str
        What nobody gave, in sentences; the list is only as good as what it was made from.
    method : str
        What made it.
    """

    job: YardJob
    steps: tuple[YardStep, ...]
    gaps: tuple[str, ...]
    method: str = METHOD

    @property
    def water_m3(self) -> M3:
        """Water of all steps that were given an amount [m3]."""
        return sum(step.water_m3 or 0.0 for step in self.steps)


def yard_list(job: YardJob) -> YardList:
    """Return the list of steps for one clean-out.

    Parameters
    ----------
    job : YardJob
        Products, label steps, circuits, cleaners and water.

    Returns
    -------
    YardList
        Labels first, record last.

    Raises
    ------
    NotDefined
        If chlorine bleach would meet ammonia, an amount is not above zero, or a circuit stands there twice.

    Notes
    -----
    With a cleaner there is a rinse before it, one with it, and one or more after it. The list says what to do; how far
    that dilutes is the rinse plan's to say, and only if nothing is bound.

    References
    ----------
    grdc-7-3, purdue-cleanout, sprayers101-cleaning, common-practice-cleanout

    Example
    -------
    >>> job = YardJob(machine="Number 7", crop_to="corn", products_from=("Grassline",), products_to=("Leafkeep",))
    >>> [step.ident for step in yard_list(job).steps][:3]
    ['labels', 'ppe', 'never-bleach-with-ammonia']
    """
    check_cleaners(job)
    check_amounts(job)
    return YardList(job=job, steps=tuple(_steps(job)), gaps=tuple(_gaps(job)))


def _steps(job: YardJob) -> Iterator[YardStep]:
    yield from (LABELS, PPE, NO_BLEACH, SITE, _rinsate(job))
    yield from _label_steps(job)
    yield from (EMPTY, OUTSIDE, _first_flush(job))
    rinses = max(len(job.rinses_m3), USUAL_RINSES if job.cleaners or not job.rinses_m3 else 1)
    for number in range(1, rinses + 1):
        yield from _rinse(job, number, opened=number == min(2, rinses))
    yield DRAIN
    yield from (NURSE,) if job.nurse else ()
    yield RECORD


def _rinsate(job: YardJob) -> YardStep:
    where = job.rinsate or "Find out and write it down: nobody typed it."
    return YardStep(
        ident="rinsate",
        kind=StepKind.CARE,
        do=f"Know where rinsate may go before there is any, by the label and local rules. {where}",
        why="Rinsate is product; the label and local rules say where it may go.",
        source_keys=("common-practice-cleanout",),
        signing=Signing.BEFORE,
        binding=True,
    )


def _label_steps(job: YardJob) -> Iterator[YardStep]:
    for number, step in enumerate(job.label_steps, start=1):
        yield YardStep(
            ident=f"label-{number}",
            kind=StepKind.LABEL,
            do=f"{step.product}, by its label: {step.words}",
            why="The label asks for it.",
            source_keys=("user",),
            water_m3=step.water_m3,
            stand_s=step.stand_s,
            signing=Signing.DONE if step.stand_s is None else Signing.STANDING,
            binding=True,
        )


def _first_flush(job: YardJob) -> YardStep:
    return YardStep(
        ident="first-flush",
        kind=StepKind.RINSE,
        do="Send a little clean water round pump and tank walls, and drain it again.",
        why="A little water first takes most of what is left with it, before the large rinses only thin it.",
        source_keys=("purdue-cleanout",),
        water_m3=job.first_flush_m3,
    )


def _rinse(job: YardJob, number: int, *, opened: bool) -> Iterator[YardStep]:
    """One rinse: water in, circuits valve by valve, out again; in the second come cleaner, screens and boom ends."""
    cleaned = opened and bool(job.cleaners)
    yield _fill(job, number)
    yield from (_cleaner(job),) if cleaned else ()
    yield from (_circuit(flush, number) for flush in job.circuits)
    yield from (_standing(job),) if cleaned else ()
    if opened:
        yield from (_parts_off(job), OUT_OPEN, REFIT)
    else:
        yield _spray_out(number)


def _fill(job: YardJob, number: int) -> YardStep:
    return YardStep(
        ident=f"rinse-{number}",
        kind=StepKind.RINSE,
        do=f"Rinse {number}: clean water in through the wash-down heads, tank walls and lid first; agitation on.",
        why="Several rinses dilute far more than the same water at once, and three of them are the usual advice.",
        source_keys=("purdue-cleanout",),
        water_m3=job.rinses_m3[number - 1] if number <= len(job.rinses_m3) else None,
    )


def _circuit(flush: CircuitFlush, number: int) -> YardStep:
    return YardStep(
        ident=f"rinse-{number}-{circuit_key(flush.circuit)}",
        kind=StepKind.CIRCUIT,
        do=f"{flush.circuit}: {flush.valves}. Let it flow, and move each valve to and fro while it does.",
        why="Nothing passes a closed valve, and valves themselves keep what is in them.",
        source_keys=("sprayers101-continuous", "common-practice-cleanout"),
        water_m3=flush.water_m3,
    )


def _cleaner(job: YardJob) -> YardStep:
    """The cleaner goes into the rinse's water before the circuits, so that it stands in every one of them."""
    said = " ".join(ended(f"{each.name}: {each.words or 'by its own label'}") for each in job.cleaners)
    return YardStep(
        ident="cleaner",
        kind=StepKind.CLEANER,
        do=f"Add the cleaner the label names, and circulate; never bleach with ammonia. {said}",
        why="The label decides which cleaner, if any; no cleaner stands in for enough water, three times.",
        source_keys=("user", "sprayers101-cleaning", "purdue-cleanout"),
        binding=True,
    )


def _standing(job: YardJob) -> YardStep:
    times = [each.stand_s for each in job.cleaners if each.stand_s is not None]
    return YardStep(
        ident="standing",
        kind=StepKind.CLEANER,
        do="Let it stand in every circuit for the time the label gives, the longest if there are several.",
        why="What has bound to tank and hose comes off with time, and the label says how much.",
        source_keys=("user", "sprayers101-cleaning"),
        stand_s=max(times, default=None),
        signing=Signing.STANDING,
        binding=True,
    )


def _parts_off(job: YardJob) -> YardStep:
    bucket = "a bucket of the cleaner" if job.cleaners else "a bucket of clean water"
    return YardStep(
        ident="parts-off",
        kind=StepKind.PARTS,
        do=f"Pump off, pressure let out. Take off tips, screens, strainers, the ends' caps; brush them in {bucket}.",
        why="Strainers and boom ends keep far more than comes out of the tips.",
        source_keys=("sprayers101-cleaning", "sprayers101-continuous"),
    )


def _spray_out(number: int) -> YardStep:
    return YardStep(
        ident=f"spray-out-{number}",
        kind=StepKind.RINSE,
        do="Spray out through ALL sections, tips on, where the label allows the product; open the boom ends last.",
        why="A section that stays shut keeps the first mix, and the boom ends lie beyond the last tip.",
        source_keys=("purdue-cleanout", "memory-boom-ends-last"),
    )


def _gaps(job: YardJob) -> Iterator[str]:
    """What nobody gave."""
    if not job.label_steps:
        yield "No step of a label was typed: read the labels, theirs come first."
    if not job.rinsate:
        yield "Where rinsate may go was not typed: see the label and local rules before there is any."
    if not job.rinses_m3:
        yield "No water was given for the rinses, so nothing can be said of how far they dilute."
    elif job.cleaners and len(job.rinses_m3) < USUAL_RINSES:
        given = f"Water was given for {len(job.rinses_m3)} of {USUAL_RINSES} rinses"
        yield f"{given}: one before the cleaner, one with it, one after."
    if not job.circuits:
        yield "No circuit was named: a line nobody names is a line nobody rinses."
    yield from (f"No standing time was typed for {c.name}: see the label." for c in job.cleaners if c.stand_s is None)
