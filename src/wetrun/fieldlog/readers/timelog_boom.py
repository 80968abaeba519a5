"""The boom in a time log: its sections, their widths, when each was on, and the rates.

Sections and widths come from the machine's own description; states from the packed state values, from each section's
work state, or from that of the whole machine, in that order.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.data_dictionary import (
    CONDENSED,
    LARGEST_WIDTH,
    MM_M,
    OFFSET_Y,
    RATES_BY_MEANING,
    SECTIONS_PER_WORD,
    SET_FLOW,
    SPRAYED_FLOW,
    STATE_ABSENT,
    STATE_ERROR,
    STATE_ON,
    WORK_STATE,
    WORKING_WIDTH,
)
from wetrun.fieldlog.readers.task_data import SECTION_ELEMENT, UNKNOWN_KIND, Element, Machine, TaskData
from wetrun.fieldlog.readers.timelog_columns import STATE_HOLD_S, TimeLogTable
from wetrun.fieldlog.readers.timelog_rates import rates_of
from wetrun.fieldlog.trace import ColumnUse, Doubt, FloatArray, IntArray
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, METRE, M

RATES: Final = tuple(number for numbers in RATES_BY_MEANING.values() for number in numbers)
WORTH: Final = {
    **dict.fromkeys(RATES, 4), CONDENSED[0]: 3, SET_FLOW: 2, SPRAYED_FLOW: 2, WORK_STATE: 1, WORKING_WIDTH: 1,
}  # fmt: skip
SPRAYER: Final = "sprayer"
WORTH_OF_A_SPRAYER: Final = 5


@dataclass(frozen=True, slots=True)
class BoomSection:
    """One section [records]: its width [m], nan where unknown, and where it was on."""

    name: str
    width_m: Annotated[FloatArray, METRE]
    on: npt.NDArray[np.bool_]


@dataclass(slots=True)
class Boom:
    """What the log tells of the boom. ``sections`` is one without a name where sections are not told apart."""

    kind: str
    sections: list[BoomSection] = field(default_factory=list)
    missing: str = ""
    rates: dict[str, Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]] = field(default_factory=dict)
    uses: list[ColumnUse] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def boom_of(table: TimeLogTable, task: TaskData) -> Boom:
    """Return the boom of the machine whose values say most about spraying."""
    machine = _working_machine(table, task)
    boom = Boom(machine.kind if machine else "machine not described")
    elements = frozenset(element.ident for element in machine.elements) if machine else frozenset()
    elements |= _undescribed(table, task)
    elements = _add_sections(boom, table, machine, elements)
    for rate in rates_of(table, elements, _width_on_m(boom, table.records.count)):
        boom.rates[rate.meaning] = rate.rate_m3pm2
        boom.uses.append(rate.use)
        boom.doubts += rate.doubts
    if machine is not None and machine.kind not in (SPRAYER, UNKNOWN_KIND):
        words = f"The machine describes itself as: {machine.kind}; it is no sprayer"
        boom.doubts.append(Doubt(words, "Take from it how fast the ground can be driven, and nothing of a boom"))
    return boom


def _width_on_m(boom: Boom, records: int) -> Annotated[FloatArray, METRE]:
    """Return the width of all sections that are on [records] [m]."""
    width_on_m = np.zeros(records)
    for section in boom.sections:
        width_on_m += np.where(section.on, np.nan_to_num(section.width_m), 0.0)
    return width_on_m


def _working_machine(table: TimeLogTable, task: TaskData) -> Machine | None:
    def worth(machine: Machine) -> int:
        elements = frozenset(element.ident for element in machine.elements)
        points = sum(points for number, points in WORTH.items() if table.indices(number, elements))
        return points + WORTH_OF_A_SPRAYER if points and machine.kind == SPRAYER else points

    return max(task.machines, key=worth, default=None)


def _undescribed(table: TimeLogTable, task: TaskData) -> frozenset[str]:
    described = {element.ident for machine in task.machines for element in machine.elements}
    return frozenset(value.element for value in table.header.values) - described


def _add_sections(boom: Boom, table: TimeLogTable, machine: Machine | None, elements: frozenset[str]) -> frozenset[str]:
    """Put in the sections; return the elements that belong to the boom that was taken."""
    packed = [index for number in CONDENSED for index in table.indices(number, elements)]
    if packed and machine:
        _add_packed(boom, table, machine, packed)
    return elements if boom.sections else _add_whole(boom, table, machine, elements)


def _add_packed(boom: Boom, table: TimeLogTable, machine: Machine, packed: list[int]) -> None:
    carriers = list(dict.fromkeys(table.header.values[index].element for index in packed))
    for nth, carrier in enumerate(carriers, start=1):
        indices = {table.header.values[index].number: index for index in packed if _is_of(table, index, carrier)}
        states = np.concatenate(
            [_states(table, indices.get(number)) for number in CONDENSED[: _words(indices)]], axis=1
        )
        _doubt_errors(boom, carrier, int((states == STATE_ERROR).any(axis=1).sum()))
        there = sum(int(table.survey.sections_there(index).sum()) for index in indices.values())
        widths = _widths(boom, table, machine, (_sections_under(machine, carrier), there))
        for place, width_m in enumerate(widths[: states.shape[1]]):
            name = f"{place + 1}" if len(carriers) == 1 else f"{nth}.{place + 1}"
            boom.sections.append(BoomSection(name, width_m, states[:, place] == STATE_ON))
    evidence = "packed states of 16 sections each, leftmost in the lowest bits"
    boom.uses.append(ColumnUse("section", "numbers 161 to 176", "", stated=True, evidence=evidence))


def _words(indices: dict[int, int]) -> int:
    return max(indices) - CONDENSED[0] + 1


def _states(table: TimeLogTable, index: int | None) -> IntArray:
    nothing: IntArray = np.full((table.records.count, SECTIONS_PER_WORD), STATE_ABSENT, dtype=np.int64)
    return nothing if index is None else table.states(index)


def _doubt_errors(boom: Boom, carrier: str, records: int) -> None:
    if records:
        words = f"Sections of {carrier} report an error on {records:,} records; they count as off there"
        boom.doubts.append(Doubt(words, "Look at the section valves and their feedback"))


def _is_of(table: TimeLogTable, index: int, element: str) -> bool:
    return table.header.values[index].element == element


def _sections_under(machine: Machine, ident: str) -> list[Element]:
    """Return the sections below an element from left to right; the offset sideways tells, else the order stated."""
    carrier = next((element for element in machine.elements if element.ident == ident), None)
    below = [one for one in machine.under(carrier) if one.kind == SECTION_ELEMENT] if carrier else []
    return sorted(below, key=lambda one: (one.values.get(OFFSET_Y, 0), one.order))


def _widths(
    boom: Boom, table: TimeLogTable, machine: Machine, described: tuple[list[Element], int]
) -> list[FloatArray]:
    """Return the width of each section [records] [m]: its own, else its share of the whole boom."""
    parts, count = described
    if parts:
        return [_width_of(table, part) for part in parts]
    widest_m = _widest(table, machine, frozenset(element.ident for element in machine.elements))
    if count and np.isfinite(widest_m):
        words = f"No section is described: {count} equal ones of the stated boom were taken"
        boom.doubts.append(Doubt(words, "Check the widths of the sections in the monitor"))
        return [np.full(table.records.count, widest_m / count)] * count
    return []


def _width_of(table: TimeLogTable, part: Element) -> FloatArray:
    logged = table.indices(WORKING_WIDTH, frozenset((part.ident,)))
    if logged:
        return table.value(logged[0], STATE_HOLD_S)
    stated = part.values.get(WORKING_WIDTH) or part.values.get(LARGEST_WIDTH)
    return np.full(table.records.count, _metres(stated))


def _metres(stated_mm: int | None) -> M:
    return stated_mm * MM_M if stated_mm else float("nan")


def _whole_width(table: TimeLogTable, machine: Machine | None, elements: frozenset[str]) -> FloatArray:
    logged = table.indices(WORKING_WIDTH, elements)
    if logged:
        return table.value(logged[0], STATE_HOLD_S)
    return np.full(table.records.count, _widest(table, machine, elements))


def _widest(table: TimeLogTable, machine: Machine | None, elements: frozenset[str]) -> M:
    """Return the greatest width of the whole boom that the log writes, else the one its machine states; nan if none."""
    logged = table.indices(WORKING_WIDTH, elements)
    if logged:
        return float(table.survey.greatest[logged[0]]) * MM_M
    parts = machine.elements if machine else ()
    stated = [
        part.values[number] for number in (WORKING_WIDTH, LARGEST_WIDTH) for part in parts if number in part.values
    ]
    return _metres(max(stated, default=None))


def _add_whole(boom: Boom, table: TimeLogTable, machine: Machine | None, elements: frozenset[str]) -> frozenset[str]:
    """Put in the machine, or its boom most written about, as one section that its work state turns on and off."""
    if not _widest(table, machine, elements) > 0:  # nan too
        boom.missing = "no working width (numbers 67 and 70) and no section with a width"
        return elements
    carriers = [table.header.values[index].element for index in table.indices(WORKING_WIDTH, elements)]
    if len(carriers) > 1:
        words = (
            f"Working widths are logged for {len(carriers)} parts of the machine; {carriers[0]} is taken as the boom"
        )
        boom.doubts.append(Doubt(words, "Check the full width against the boom"))
    own = _belonging(machine, carriers[0]) if carriers and machine else elements
    on = _working(boom, table, [*table.indices(WORK_STATE, own), *table.indices(WORK_STATE, elements)])
    boom.uses.append(ColumnUse("width", "number 67", "mm", stated=True, evidence="working width of the machine"))
    boom.sections.append(BoomSection("", _whole_width(table, machine, elements), on))
    return own if any(table.indices(number, own) for number in (*RATES, SET_FLOW, SPRAYED_FLOW)) else elements


def _belonging(machine: Machine, ident: str) -> frozenset[str]:
    """Return an element and all below it."""
    part = next((element for element in machine.elements if element.ident == ident), None)
    return frozenset([ident, *(element.ident for element in (machine.under(part) if part else ()))])


def _working(boom: Boom, table: TimeLogTable, states: list[int]) -> npt.NDArray[np.bool_]:
    if not states:
        words = "No work state and no section states are logged: the machine counts as working all the time"
        boom.doubts.append(Doubt(words, "Leave road runs out by hand, or log the work state"))
        return np.ones(table.records.count, dtype=bool)
    raw, known = table.raw(states[0], STATE_HOLD_S)
    element = table.header.values[states[0]].element
    boom.uses.append(ColumnUse("section", "number 141", "", stated=True, evidence=f"work state of {element}"))
    working: npt.NDArray[np.bool_] = known & (raw == STATE_ON)
    return working
