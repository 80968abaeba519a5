"""Steady readings that cannot be as typed: each pressure's meter, tank, cab and gauge against one another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import asdict, dataclass
from math import exp, log, sqrt
from statistics import median
from typing import Any, Final

from wetrun.proving.session_steady import SteadyRead
from wetrun.proving.slips import (
    FLOW_SLIPS,
    PRESSURE_SLIPS,
    TIME_SLIPS,
    VOLUME_SLIPS,
    Offer,
    Question,
    SlipKind,
    UnitSlip,
)
from wetrun.proving.typed_slips import TURNED_WITHIN, Cell, cell_questions
from wetrun.units import M3s, Pa

COLUMNS: Final = {"meter": "meter_m3s", "tank": "tank_m3s", "cab": "cab_pa", "gauge": "gauge_pa"}
"""What the sheet calls a reading, and its field."""
_SLIPS: Final[dict[str, tuple[UnitSlip, ...]]] = {
    "meter": FLOW_SLIPS,
    "tank": (*VOLUME_SLIPS, *TIME_SLIPS),
    "cab": PRESSURE_SLIPS,
    "gauge": PRESSURE_SLIPS,
}


@dataclass(frozen=True, slots=True)
class BoomFlow:
    """What the whole boom gives when new.

    Attributes
    ----------
    flow_m3s : float
        Boom flow [m3/s].
    pressure_pa : float
        At this pressure [Pa].
    """

    flow_m3s: M3s
    pressure_pa: Pa

    def implied_m3s(self, column: str, value: float) -> M3s:
        """Return the boom flow a reading stands for [m3/s], pressures by the square root; loss and wear left out."""
        return self.flow_m3s * sqrt(value / self.pressure_pa) if column in {"cab", "gauge"} else value

    def reading(self, column: str, flow_m3s: M3s) -> float:
        """Return what a column reads at a boom flow [m3/s], SI."""
        return self.pressure_pa * (flow_m3s / self.flow_m3s) ** 2 if column in {"cab", "gauge"} else flow_m3s


def steady_questions(steady: Sequence[SteadyRead], boom: BoomFlow) -> tuple[Question, ...]:
    """Return every question the steady readings raise.

    Parameters
    ----------
    steady : sequence of SteadyRead
        As typed.
    boom : BoomFlow
        The boom when new.

    Returns
    -------
    tuple of Question
        Rows are named as the sheet names them.

    Notes
    -----
    A reading is held against the median of its row, each turned into a boom flow, so one wrong reading of three or
    more is found. Of two that disagree both are asked about. A row with one reading says nothing.

    References
    ----------
    orifice-law
    """
    turned = tuple(question for row in steady for question in _turned(row, steady))
    done = {question.row for question in turned}
    return (*turned, *cell_questions([cell for row in steady if row.name not in done for cell in _cells(row, boom)]))


def _turned(row: SteadyRead, steady: Sequence[SteadyRead]) -> Iterator[Question]:
    """Cab and gauge in each other's places: the cab is below the gauge by as much as it is above it elsewhere."""
    others = [other for other in steady if other is not row]
    usual = [log(other.cab_pa / other.gauge_pa) for other in others if other.cab_pa and other.gauge_pa]
    if not (row.cab_pa and row.gauge_pa and usual and median(usual) > TURNED_WITHIN):
        return
    off = log(row.cab_pa / row.gauge_pa)
    if abs(off + median(usual)) <= TURNED_WITHIN:
        for column, value, other in (("cab", row.cab_pa, row.gauge_pa), ("gauge", row.gauge_pa, row.cab_pa)):
            offer = Offer(SlipKind.SWAPPED, column, other, "the cab and the gauge, each in the other's place")
            yield Question(row.name, column, SlipKind.SWAPPED, value, (offer,), other / value - 1.0)


def _cells(row: SteadyRead, boom: BoomFlow) -> Iterator[Cell]:
    read = {column: getattr(row, field) for column, field in COLUMNS.items() if getattr(row, field) is not None}
    flows = {column: log(boom.implied_m3s(column, value)) for column, value in read.items() if value > 0.0}
    for column, value in read.items():
        others = [flow for name, flow in flows.items() if name != column]
        if others:
            centre = median(flows.values()) if len(flows) > 2 else others[0]
            yield Cell(row.name, column, value, boom.reading(column, exp(centre)), _SLIPS[column])
        elif value <= 0.0:
            yield Cell(row.name, column, value, 1.0)


def sound_steady(steady: Sequence[SteadyRead], asked: Sequence[Question]) -> tuple[SteadyRead, ...]:
    """Return the steady readings without those that are asked about.

    Parameters
    ----------
    steady : sequence of SteadyRead
        As typed.
    asked : sequence of Question
        Of `steady_questions`.

    Returns
    -------
    tuple of SteadyRead
        A reading in question counts as not read until it is answered.
    """
    fields = {(question.row, COLUMNS[question.column]) for question in asked}
    return tuple(_without(row, {field for name, field in fields if name == row.name}) for row in steady)


def _without(row: SteadyRead, fields: AbstractSet[str]) -> SteadyRead:
    values: dict[str, Any] = asdict(row)
    return SteadyRead(**(values | dict.fromkeys(fields)))
