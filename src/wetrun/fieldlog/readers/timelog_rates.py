"""The rates a time log carries: as volume per area, or worked out from a volume per time, the width on and the speed.

References
----------
iso-11783-11
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.readers.data_dictionary import RATE_UNITS, RATES_BY_MEANING, SET_FLOW, SPRAYED_FLOW
from wetrun.fieldlog.readers.held_values import MEASURED_HOLD_S
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable, speeds_of
from wetrun.fieldlog.trace import ColumnUse, Doubt, FloatArray
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, METRE, Mps

FLOWS: Final = {"target_rate": SET_FLOW, "applied_rate": SPRAYED_FLOW}
# Our own choice (no source): slower than this a flow over a speed tells nothing about the rate.
SLOWEST_MPS: Final[Mps] = 0.2


@dataclass(frozen=True, slots=True)
class LoggedRate:
    """One rate [records] [m3/m2], nan where it is not known, with what it was taken from and what stays open."""

    meaning: str
    rate_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    use: ColumnUse
    doubts: tuple[Doubt, ...]


def rates_of(
    table: TimeLogTable, elements: frozenset[str], width_on_m: Annotated[FloatArray, METRE]
) -> tuple[LoggedRate, ...]:
    """Return the target and the applied rate, each as far as the log tells it.

    Parameters
    ----------
    table
        The log.
    elements
        Parts of the machine whose values count.
    width_on_m
        Width of all sections that are on [records] [m].
    """
    found = (
        _stated(table, meaning, elements) or _worked_out(table, meaning, elements, width_on_m) for meaning in FLOWS
    )
    return tuple(one for one in found if one)


def _stated(table: TimeLogTable, meaning: str, elements: frozenset[str]) -> LoggedRate | None:
    for number in RATES_BY_MEANING[meaning]:
        indices = table.indices(number, elements)
        if indices:
            evidence = f"of element {table.header.values[indices[0]].element}, as the standard numbers it"
            use = ColumnUse(meaning, f"number {number}", RATE_UNITS[number], stated=True, evidence=evidence)
            return LoggedRate(meaning, table.value(indices[0], MEASURED_HOLD_S), use, _doubts(table, meaning, indices))
    return None


def _worked_out(
    table: TimeLogTable, meaning: str, elements: frozenset[str], width_on_m: FloatArray
) -> LoggedRate | None:
    """Return flow over width and speed, None where the log carries no flow or no speed of its own."""
    indices, speeds = table.indices(FLOWS[meaning], elements), speeds_of(table)
    if not indices or not speeds:
        return None
    flow_m3s, speed_mps = table.value(indices[0], MEASURED_HOLD_S), speeds[0].speed_mps
    told = (width_on_m > 0) & (speed_mps >= SLOWEST_MPS)
    area_m2ps = np.where(told, width_on_m * speed_mps, np.nan)
    evidence = (
        f"worked out: volume per time of element {table.header.values[indices[0]].element} over the width that is on "
        f"and the {speeds[0].source} speed, from {SLOWEST_MPS:g} m/s"
    )
    use = ColumnUse(meaning, f"number {FLOWS[meaning]}", "mm3/s", stated=False, evidence=evidence)
    return LoggedRate(meaning, flow_m3s / area_m2ps, use, _doubts(table, meaning, indices))


def _doubts(table: TimeLogTable, meaning: str, indices: list[int]) -> tuple[Doubt, ...]:
    if len(indices) == 1:
        return ()
    element = table.header.values[indices[0]].element
    words = f"The {meaning.replace('_', ' ')} is logged for {len(indices)} elements; {element} is used"
    return (Doubt(words, "Check that this is the tank that sprayed"),)
