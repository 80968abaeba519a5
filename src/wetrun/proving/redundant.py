"""The readings of a wet run that know more than one way to the same number, and the machine they are held against.

Everything is taken in **logarithms**: a factor is then a shift, the orifice law a straight line, and a relative
uncertainty a standard deviation. A reading's budget is in the reading's own unit, as everywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite

import numpy as np

from wetrun.errors import NotDefined
from wetrun.machine.boom import Boom
from wetrun.proving.budget import Budget, Component
from wetrun.proving.covariance import FloatArray
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.controller import Loop
from wetrun.spray.losses import SensorLoss
from wetrun.spray.orifice import FlowLaw
from wetrun.units import Kgpm3, Pa


class Kind(StrEnum):
    """What a reading tells."""

    COURSE = "timed course"
    SPEED = "speed source"
    METER = "flow meter"
    CATCH = "catches of the sections"
    CAB = "cab pressure"
    GAUGE = "gauge at a tip"
    TANK = "tank over time"
    CHART = "tips' flow by their chart"
    HOSE = "loss from cab sensor to tip"


class Tool(StrEnum):
    """What several readings may share, and so be wrong together."""

    STOPWATCH = "stopwatch"
    TAPE = "course tape"
    SCALE = "scale or jug"
    TANK_SCALE = "tank scale or marks"


TOOLS_OF: dict[Kind, tuple[Tool, ...]] = {
    Kind.COURSE: (Tool.STOPWATCH, Tool.TAPE),
    Kind.CATCH: (Tool.STOPWATCH, Tool.SCALE),
    Kind.TANK: (Tool.STOPWATCH, Tool.TANK_SCALE),
}
"""What a reading is usually taken with; a reading says otherwise where it was."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: what it tells, where, how much and how sure.

    Attributes
    ----------
    kind : Kind
        What it tells.
    value : float
        In SI: a speed, a flow or a pressure; for a chart the share of the chart's flow that the tips are taken to have,
        for the hose its loss over the machine's own figure; both are 1 unless they were measured.
    budget : Budget
        Its causes of doubt, in the unit of the value.
    point : int
        Which steady pressure it belongs to; 0 for one that belongs to none.
    section : int
        Which section, 1 at the left; 0 for the whole boom.
    name : str
        Which speed source.
    tools : tuple of Tool or None
        What it was taken with; None for the usual.
    """

    kind: Kind
    value: float
    budget: Budget
    point: int = 0
    section: int = 0
    name: str = ""
    tools: tuple[Tool, ...] | None = None

    def __post_init__(self) -> None:
        if not (isfinite(self.value) and self.value > 0.0):
            raise NotDefined(
                self.words,
                reason=f"a reading of {self.value} has no logarithm",
                remedy="Enter a value above zero, or leave the reading out.",
            )
        if not self.budget.combined > 0.0:
            remedy = "Enter how sure it is; nothing that was measured is exact."
            raise NotDefined(self.words, reason="the reading has no uncertainty", remedy=remedy)

    @property
    def taken_with(self) -> tuple[Tool, ...]:
        """What it was taken with."""
        return TOOLS_OF.get(self.kind, ()) if self.tools is None else self.tools

    @property
    def words(self) -> str:
        """What to call it."""
        if self.section:
            kind, n = self.kind.value.removesuffix(" of the sections"), self.section
            said = f"{kind} of section {n}" if self.kind is Kind.CATCH else f"{kind}, section {n}"
        else:
            said = f"{self.kind.value} {self.name}".rstrip()
        return f"{said} at pressure {self.point}" if self.point else said

    @property
    def place(self) -> tuple[Kind, int, int, str]:
        """What makes it one of a kind."""
        return self.kind, self.point, self.section, self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """The machine as the cross-check sees it.

    Attributes
    ----------
    boom : Boom
        Tips per section; all sections on.
    law : FlowLaw
        Flow of one tip by its chart, new.
    loss : SensorLoss
        Between cab sensor and tip, on water.
    loop : Loop
        What the controller steers by.
    density_kgpm3 : float
        Liquid of the wet run [kg/m3].
    low_pa, high_pa : float
        Pressures at the tip that tips and machine stand [Pa]; nobody is sent beyond them for one more reading.
    """

    boom: Boom
    law: FlowLaw
    loss: SensorLoss = SensorLoss()
    loop: Loop = Loop.METER
    density_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3
    low_pa: Pa = 0.0
    high_pa: Pa = inf

    @property
    def sections(self) -> tuple[int, ...]:
        """Tips per section, left to right."""
        return self.boom.section_tips


def log_values(readings: Sequence[Reading]) -> FloatArray:
    """Return the logarithm of each reading.

    Parameters
    ----------
    readings : sequence of Reading
        Of one wet run.

    Returns
    -------
    array, (readings,)
        Natural logarithms of SI values.
    """
    return np.log([reading.value for reading in readings])


@dataclass(frozen=True, slots=True)
class CauseTable:
    """Every cause of error, what it does to the logarithm of each reading, and how well that is known.

    Attributes
    ----------
    effects : array, (readings, causes)
        Shift per standard deviation of the cause.
    freedoms : array, (causes,)
        Degrees of freedom.
    """

    effects: FloatArray
    freedoms: FloatArray

    @property
    def covariance(self) -> FloatArray:
        """Covariance of the logarithms; causes that readings share stand off the diagonal."""
        return self.effects @ self.effects.T


def cause_table(readings: Sequence[Reading]) -> CauseTable:
    """Return the causes of all readings, each shared one once.

    Parameters
    ----------
    readings : sequence of Reading
        Of one wet run.

    Returns
    -------
    CauseTable
        Effects and freedoms.

    Raises
    ------
    ValueError
        If a shared cause has different degrees of freedom in two readings.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> watch = Component("watch", 0.01, cause="the stopwatch")
    >>> two = [Reading(Kind.SPEED, 1.0, Budget((watch, Component("own", 0.02))), name=n) for n in ("one", "two")]
    >>> cause_table(two).covariance.round(6).tolist()
    [[0.0005, 0.0001], [0.0001, 0.0005]]
    """
    columns: dict[tuple[int, str], int] = {}
    freedoms: list[float] = []
    entries: list[tuple[int, int, float]] = []
    for row, reading in enumerate(readings):
        for n, part in enumerate(reading.budget.components):
            key = (0, part.cause) if part.cause else (row + 1, str(n))
            column = columns.setdefault(key, len(columns))
            if column == len(freedoms):
                freedoms.append(part.freedom)
            _check_same(part, freedoms[column])
            entries.append((row, column, part.standard / reading.value))
    effects = np.zeros((len(readings), len(columns)))
    for row, column, effect in entries:
        effects[row, column] += effect
    return CauseTable(effects, np.array(freedoms))


def _check_same(part: Component, freedom: float) -> None:
    if part.freedom != freedom:
        raise ValueError(f"{part.cause} is one cause: {freedom} and {part.freedom} degrees of freedom differ")
