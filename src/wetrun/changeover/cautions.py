"""What has to be said beside every clean-out, and beside this one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetrun.changeover.tolerated import LevelKind, Tolerated
from wetrun.machine.circuits import Layout
from wetrun.machine.flushing import never_rinsed

ALWAYS: Final = (
    "The label is the law: its steps, its cleaner and its limits come before everything here.",
    "Every figure is “diluted to this if nothing is bound”. What soaked in or dried on comes loose with adjuvants.",
    "A used sprayer's plumbing is contaminated. Wear what the label says. Keep clear of boom folding and moving parts.",
    "Rinsate is product: it goes where the label and local rules allow, and nowhere else.",
    "Never let chlorine bleach meet ammonia, an ammonium salt or nitrogen fertiliser.",
)


def cautions_of(layout: Layout, tolerated: Tolerated) -> tuple[str, ...]:
    """Return what has to be said of this machine and this level, then what always has to be said.

    Parameters
    ----------
    layout : Layout
        The plumbing.
    tolerated : Tolerated
        The level.

    Returns
    -------
    tuple of str
        In sentences.

    References
    ----------
    osu-adjuvants-strip, common-practice-plumbing
    """
    return (*_of_layout(layout), *_of_level(tolerated), *ALWAYS)


def _of_layout(layout: Layout) -> Iterator[str]:
    yield from (f"{str(each)[:1].upper()}{str(each)[1:]}" for each in never_rinsed(layout))
    typical = sum(not circuit.measured for circuit in layout.circuits)
    if typical:
        yield (
            f"{typical} of {len(layout.circuits)} circuits stand here with a typical volume or residue, not with this "
            "machine's. Measure those that hold the plan up."
        )


def _of_level(tolerated: Tolerated) -> Iterator[str]:
    if tolerated.harms_at_level:
        yield "The crop showed something at this level: it is no level to aim at, only one to stay well below."
    if tolerated.kind in {LevelKind.LAW, LevelKind.STANDARD}:
        yield (
            "A limit in law or standard is not made for the next crop. A sensitive one can show symptoms at a small "
            "part of it: ask the product's label what that crop stands."
        )
    if tolerated.status in {"second-hand", "from memory"}:
        yield "The source of this level was not read itself; see its status before it decides anything."
