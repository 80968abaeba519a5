"""The same water used in three ways: one big rinse, equal rinses, and equal rinses with one circuit forgotten."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.changeover.next_crop import FirstAcres, area_above_m2
from wetrun.changeover.rinse import Rinse, Way
from wetrun.changeover.rinse_task import PreparedTask, acres_after
from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.circuits import CircuitKind, Layout, Start
from wetrun.spray.bounds import FloatArray
from wetrun.units import FRACTION, M2, M3, SQUARE_METRE, Frac

USUAL_RINSES: Final = 3
_OFTEN_FORGOTTEN: Final = (CircuitKind.EDUCTOR, CircuitKind.LOAD_LINE, CircuitKind.BOOM_END, CircuitKind.AGITATION)
"""Kinds in the order they are looked for; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOutcome:
    """What one way of using the water leaves for the next crop.

    Attributes
    ----------
    key : str
        ``one rinse``, ``equal rinses`` or ``one forgotten``.
    rinses : tuple of Rinse
        In order.
    without : tuple of str
        Circuits forgotten in every rinse; the next load still runs through them.
    level_frac : float
        Tolerated level as a share of the old tank mix [frac].
    acres : FirstAcres or None
        By section over the first load; None if it cannot be done.
    boom_frac : array
        Mean over the boom, section by section weighed by tips, shape (points,) [frac]; empty if it cannot be done.
    cannot : str
        Why it cannot be done; empty if it can.
    """

    key: str
    rinses: tuple[Rinse, ...]
    without: tuple[str, ...]
    level_frac: Frac
    acres: FirstAcres | None
    boom_frac: Annotated[FloatArray, FRACTION]
    cannot: str = ""

    @property
    def water_m3(self) -> M3:
        """Clean water in all [m3]."""
        return sum(rinse.water_m3 for rinse in self.rinses)

    @property
    def first_drop_frac(self) -> Frac | None:
        """Concentration in the first drop out of the worst section, as a share of the old tank mix [frac]."""
        return None if self.acres is None else float(self.acres.old_frac[0].max())

    @property
    def peak_frac(self) -> Frac | None:
        """Highest concentration out of any section at any moment [frac]."""
        return None if self.acres is None else self.acres.peak_frac

    @property
    def end_frac(self) -> Frac | None:
        """Highest concentration at the end of the load: what the rest of the field gets [frac]."""
        return None if self.acres is None else self.acres.end_frac

    @property
    def mean_frac(self) -> Frac | None:
        """Mean over boom and first load [frac]."""
        if self.acres is None:
            return None
        areas_m2 = self.acres.areas_m2
        return float(np.trapezoid(self.boom_frac, areas_m2) / areas_m2[-1])

    @property
    def worst_section(self) -> str | None:
        """Section with the highest concentration."""
        return None if self.acres is None else self.acres.worst_section

    @property
    def areas_m2(self) -> Annotated[FloatArray, SQUARE_METRE]:
        """Area sprayed so far, shape (points,) [m2]; empty if it cannot be done."""
        return np.zeros(0) if self.acres is None else self.acres.areas_m2

    @property
    def worst_curve_frac(self) -> Annotated[FloatArray, FRACTION]:
        """Concentration out of the worst section over `areas_m2`, shape (points,) [frac]."""
        if self.acres is None:
            return np.zeros(0)
        curve: FloatArray = self.acres.old_frac[:, self.acres.sections.index(self.acres.worst_section)]
        return curve

    @property
    def above_m2(self) -> M2 | None:
        """Area after which the whole boom stays at or below the level [m2]; None if not within the first load."""
        if self.acres is None:
            return None
        areas = area_above_m2(self.acres, self.level_frac).values()
        known = [area_m2 for area_m2 in areas if area_m2 is not None]
        return max(known) if len(known) == len(areas) else None


def same_water_outcomes(
    prepared: PreparedTask, water_m3: M3, section_tips: Sequence[int], *, times: int = USUAL_RINSES
) -> tuple[WayOutcome, ...]:
    """Return what the same water leaves as one batch, as equal batches, and as equal batches with a circuit forgotten.

    Parameters
    ----------
    prepared : PreparedTask
        Machine, start, next load and level.
    water_m3 : float
        Clean water in all [m3].
    section_tips : sequence of int
        Tips of each section, left to right.
    times : int
        How many equal batches.

    Returns
    -------
    tuple of WayOutcome
        One rinse, equal rinses, one forgotten; the last is left out if no circuit can be forgotten.
    """
    equal = (Rinse(Way.BATCH, water_m3 / times),) * times
    forgotten = forgotten_circuit(prepared.task.setup.network.layout)
    outcomes = [
        _outcome(prepared, "one rinse", (Rinse(Way.BATCH, water_m3),), section_tips),
        _outcome(prepared, "equal rinses", equal, section_tips),
    ]
    if forgotten is not None:
        outcomes.append(_outcome(prepared, "one forgotten", equal, section_tips, without=(forgotten,)))
    return tuple(outcomes)


def forgotten_circuit(layout: Layout) -> str | None:
    """Return the circuit that is forgotten most easily: the eductor where there is one.

    Parameters
    ----------
    layout : Layout
        The plumbing.

    Returns
    -------
    str or None
        None if the tank flushes none of the kinds that are forgotten.
    """
    passed = {name for line in layout.lines if line.start is Start.TANK for name in line.through}
    found = (c.name for kind in _OFTEN_FORGOTTEN for c in layout.circuits if c.kind is kind and c.name in passed)
    return next(found, None)


def _outcome(
    prepared: PreparedTask,
    key: str,
    rinses: tuple[Rinse, ...],
    section_tips: Sequence[int],
    *,
    without: tuple[str, ...] = (),
) -> WayOutcome:
    level_frac = prepared.task.level_frac
    try:
        acres = acres_after(prepared, rinses, without=without)
    except (OutOfRange, NotDefined) as refused:
        why = f"{refused.thing}: {refused.remedy}"
        return WayOutcome(
            key=key,
            rinses=rinses,
            without=without,
            level_frac=level_frac,
            acres=None,
            boom_frac=np.zeros(0),
            cannot=why,
        )
    tips = _tips_of(acres, prepared, section_tips)
    boom_frac: FloatArray = acres.old_frac @ tips / tips.sum()
    return WayOutcome(key=key, rinses=rinses, without=without, level_frac=level_frac, acres=acres, boom_frac=boom_frac)


def _tips_of(acres: FirstAcres, prepared: PreparedTask, section_tips: Sequence[int]) -> FloatArray:
    sections = [circuit.name for circuit in prepared.task.setup.network.layout.sections]
    by_name = dict(zip(sections, section_tips, strict=True))
    return np.array([float(by_name[name]) for name in acres.sections])
