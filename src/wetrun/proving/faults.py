"""What may be wrong with a machine, its instruments, the tools of the wet run and the settings of the monitor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from wetrun.proving.redundant import Kind, Reading, Rig, Tool
from wetrun.units import PASCAL, RATIO, Pa, Unit


class FaultKind(StrEnum):
    """What may be wrong."""

    METER = "flow meter's number"
    SPEED = "speed source"
    TIPS = "tips against their chart"
    STRAINER = "plugged section strainer"
    SENSOR = "offset of the cab pressure sensor"
    GAUGE = "gauge at the tip"
    TOOL = "shared tool"
    WIDTH = "width or spacing in the monitor"
    DENSITY = "density in the monitor"
    COUNT = "number of tips in the monitor"


SETTINGS = (FaultKind.WIDTH, FaultKind.DENSITY, FaultKind.COUNT)
"""Numbers in the monitor: none of them moves a single instrument while water runs."""

RATIO_STEP = 1e-4
PRESSURE_STEP_PA: Pa = 20.0


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that may be wrong.

    Attributes
    ----------
    kind : FaultKind
        What.
    section : int
        Which section's strainer; 0 otherwise.
    name : str
        Which speed source; empty otherwise.
    tool : Tool or None
        Which tool.
    """

    kind: FaultKind
    section: int = 0
    name: str = ""
    tool: Tool | None = None

    @property
    def words(self) -> str:
        """What to call it."""
        if self.tool is not None:
            return self.tool.value
        parts = (self.kind.value, self.name, f"{self.section}" if self.section else "")
        return " ".join(part for part in parts if part)

    @property
    def unit(self) -> Unit:
        """Unit of its size: a share of the reading, or a pressure."""
        return PASCAL if self.kind is FaultKind.SENSOR else RATIO

    @property
    def sign(self) -> int:
        """Which way it can go: a plugged strainer only lets less through."""
        return -1 if self.kind is FaultKind.STRAINER else 0

    @property
    def step(self) -> float:
        """A small size, for slopes."""
        return PRESSURE_STEP_PA if self.kind is FaultKind.SENSOR else RATIO_STEP


def has_fault(kind: Kind, name: str, tools: Sequence[Tool], fault: Fault) -> bool:
    """Return whether a fault would be one of this instrument, or of a tool it was read with.

    Parameters
    ----------
    kind : Kind
        What the instrument tells.
    name : str
        Which speed source.
    tools : sequence of Tool
        What it was read with.
    fault : Fault
        What is wrong.

    Returns
    -------
    bool
        False for faults of the machine and settings of the monitor.

    Example
    -------
    >>> has_fault(Kind.SPEED, "GPS", (), Fault(FaultKind.SPEED, name="wheel"))
    False
    """
    if fault.tool is not None:
        return fault.tool in tools
    own = {FaultKind.METER: Kind.METER, FaultKind.GAUGE: Kind.GAUGE, FaultKind.SENSOR: Kind.CAB}
    return kind is own.get(fault.kind) or (fault.kind is FaultKind.SPEED and kind is Kind.SPEED and name == fault.name)


def misread(value: float, fault: Fault, size: float) -> float:
    """Return what a reading becomes when its instrument, or a tool it was read with, has a fault.

    Parameters
    ----------
    value : float
        What a good instrument shows, in SI.
    fault : Fault
        What is wrong.
    size : float
        How much.

    Returns
    -------
    float
        What it shows, in SI.

    Example
    -------
    A stopwatch that runs 1 % fast makes too long a time, and too low a speed, of every course.

    >>> round(misread(5.0, Fault(FaultKind.TOOL, tool=Tool.STOPWATCH), 0.01), 4)
    4.9505
    """
    if fault.kind is FaultKind.SENSOR:
        return value + size
    # Time stands below the line of a speed or a flow; whatever else was measured stands above it.
    return value / (1.0 + size) if fault.tool is Tool.STOPWATCH else value * (1.0 + size)


def possible_faults(rig: Rig, readings: Sequence[Reading]) -> tuple[Fault, ...]:
    """Return everything that may be wrong with this machine and these instruments, seen by them or not.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Of one wet run.

    Returns
    -------
    tuple of Fault
        Instruments that were read, tools that were used, tips and strainers of the machine, settings of its monitor.
    """
    kinds = {reading.kind for reading in readings}
    tools = {tool for reading in readings for tool in reading.taken_with}
    found = [Fault(FaultKind.METER)] if Kind.METER in kinds else []
    found += [Fault(FaultKind.SPEED, name=reading.name) for reading in readings if reading.kind is Kind.SPEED]
    if kinds - {Kind.COURSE, Kind.SPEED}:
        found += [Fault(FaultKind.TIPS)]
        found += [Fault(FaultKind.STRAINER, section=n) for n, _ in enumerate(rig.sections, 1)]
    found += [Fault(FaultKind.SENSOR)] if Kind.CAB in kinds else []
    found += [Fault(FaultKind.GAUGE)] if Kind.GAUGE in kinds else []
    found += [Fault(FaultKind.TOOL, tool=tool) for tool in Tool if tool in tools]
    return (*found, *(Fault(kind) for kind in SETTINGS))
