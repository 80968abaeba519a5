"""Typical volumes of plumbing by class of machine, for lack of measured ones.

What stays behind after draining was measured on three sprayers and published by part; each group below adds up to the
published part. How a part divides among its circuits, and what circuits hold in work, has no source: see
`wetrun.machine.circuits.TYPICAL`. Boom sections and ends are scaled to the boom in `wetrun.machine.typical_plumbing`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from wetrun.machine.circuits import TYPICAL, Circuit, CircuitKind
from wetrun.units import M3, Frac, M3s


class MachineClass(StrEnum):
    """Class of machine a typical layout is for."""

    SELF_PROPELLED = "self-propelled"
    TRAILED = "trailed"
    MOUNTED = "mounted"


@dataclass(frozen=True, slots=True)
class TypicalVolume:
    """One row of a class: a circuit before it is put into a machine.

    Attributes
    ----------
    name : str
        Name of the circuit.
    kind : CircuitKind
        What it is.
    volume_m3 : float
        What it holds in work [m3].
    residue_m3 : float
        What stays after draining [m3].
    dead_frac : float
        Share that flow does not sweep [frac].
    """

    name: str
    kind: CircuitKind
    volume_m3: M3
    residue_m3: M3
    dead_frac: Frac = 0.0


@dataclass(frozen=True, slots=True)
class TypicalMachine:
    """Typical figures of a class.

    Attributes
    ----------
    rows : tuple of TypicalVolume
        Circuits other than tank and boom.
    tank_residue_m3 : float
        What stays in the tank itself [m3].
    boom_drains_to_frac : float
        Share of the boom that stays after draining; 1 if it does not drain [frac].
    end_m3 : float
        Held beyond the last tips of one section [m3].
    pump_m3s : float
        Pump flow at work [m3/s].
    residue_source : str
        Key of the source of the residues.
    """

    rows: tuple[TypicalVolume, ...]
    tank_residue_m3: M3
    boom_drains_to_frac: Frac
    end_m3: M3
    pump_m3s: M3s
    residue_source: str


def typical_circuit(row: TypicalVolume, residue_source: str) -> Circuit:
    """Return the circuit of one row.

    Parameters
    ----------
    row : TypicalVolume
        Name, kind, volumes.
    residue_source : str
        Key of the source of what stays after draining.

    Returns
    -------
    Circuit
        Marked as typical.
    """
    return Circuit(
        name=row.name,
        kind=row.kind,
        volume_m3=row.volume_m3,
        residue_m3=row.residue_m3,
        dead_frac=row.dead_frac,
        holds_mix=row.kind not in _OTHER_LIQUIDS,
        volume_source=TYPICAL,
        residue_source=residue_source,
    )


_OTHER_LIQUIDS: Final = frozenset({CircuitKind.FOAM_MARKER, CircuitKind.WINTER_FLUID, CircuitKind.WASH_DOWN})

# 20 US gal in all, divided like the remnants of the trailed machine below.
_SELF_PROPELLED: Final = TypicalMachine(
    rows=(
        TypicalVolume("sump", CircuitKind.SUMP, 0.0200, 0.0200),
        TypicalVolume("suction strainer", CircuitKind.STRAINER, 0.0030, 0.0012, 0.25),
        TypicalVolume("pump", CircuitKind.PUMP, 0.0140, 0.0100),
        TypicalVolume("bypass line", CircuitKind.BYPASS, 0.0040, 0.0012),
        TypicalVolume("agitation line", CircuitKind.AGITATION, 0.0080, 0.0027),
        TypicalVolume("eductor line", CircuitKind.EDUCTOR_LINE, 0.0060, 0.0020),
        TypicalVolume("eductor", CircuitKind.EDUCTOR, 0.0100, 0.0030),
        TypicalVolume("load line", CircuitKind.LOAD_LINE, 0.0120, 0.0060),
        TypicalVolume("pressure strainer", CircuitKind.STRAINER, 0.0030, 0.0011, 0.25),
        TypicalVolume("boom valve body", CircuitKind.VALVE, 0.0020, 0.0010, 0.30),
        TypicalVolume("boom feed", CircuitKind.BOOM_FEED, 0.0200, 0.0017),
        TypicalVolume("wash-down line", CircuitKind.WASH_DOWN, 0.0040, 0.0010),
    ),
    tank_residue_m3=0.0258,
    boom_drains_to_frac=1.0,
    end_m3=0.0003,
    pump_m3s=0.0105,
    residue_source="omafra-empty-sprayer",
)

_TRAILED: Final = TypicalMachine(
    rows=(
        TypicalVolume("sump", CircuitKind.SUMP, 0.0080, 0.0080),
        TypicalVolume("suction strainer", CircuitKind.STRAINER, 0.0017, 0.00045, 0.25),
        TypicalVolume("pump", CircuitKind.PUMP, 0.0060, 0.0040),
        TypicalVolume("bypass line", CircuitKind.BYPASS, 0.0020, 0.0004),
        TypicalVolume("agitation line", CircuitKind.AGITATION, 0.0040, 0.00102),
        TypicalVolume("eductor line", CircuitKind.EDUCTOR_LINE, 0.0040, 0.0010),
        TypicalVolume("eductor", CircuitKind.EDUCTOR, 0.0080, 0.0010),
        TypicalVolume("load line", CircuitKind.LOAD_LINE, 0.0080, 0.0020),
        TypicalVolume("pressure strainer", CircuitKind.STRAINER, 0.0015, 0.00042, 0.25),
        TypicalVolume("boom valve body", CircuitKind.VALVE, 0.0010, 0.0004, 0.30),
        TypicalVolume("boom feed", CircuitKind.BOOM_FEED, 0.0080, 0.00062),
        TypicalVolume("wash-down line", CircuitKind.WASH_DOWN, 0.0020, 0.0005),
    ),
    tank_residue_m3=0.0093,
    boom_drains_to_frac=1.0,
    end_m3=0.0002,
    pump_m3s=0.0060,
    residue_source="cornell-remnants",
)

_MOUNTED: Final = TypicalMachine(
    rows=(
        TypicalVolume("suction strainer", CircuitKind.STRAINER, 0.0010, 0.00041, 0.25),
        TypicalVolume("pump", CircuitKind.PUMP, 0.0015, 0.0009),
        TypicalVolume("bypass line", CircuitKind.BYPASS, 0.0005, 0.0002),
        TypicalVolume("agitation line", CircuitKind.AGITATION, 0.0010, 0.000076),
        TypicalVolume("eductor", CircuitKind.EDUCTOR, 0.0088, 0.00439),
        TypicalVolume("boom valve body", CircuitKind.VALVE, 0.0002, 0.00006, 0.30),
        TypicalVolume("boom feed", CircuitKind.BOOM_FEED, 0.0015, 0.00009),
    ),
    tank_residue_m3=0.00189,
    boom_drains_to_frac=0.05698,
    end_m3=0.0001,
    pump_m3s=0.0015,
    residue_source="cornell-remnants",
)

TYPICAL_MACHINES: Final[Mapping[MachineClass, TypicalMachine]] = MappingProxyType(
    {
        MachineClass.SELF_PROPELLED: _SELF_PROPELLED,
        MachineClass.TRAILED: _TRAILED,
        MachineClass.MOUNTED: _MOUNTED,
    }
)

EXTRA_VOLUMES: Final[Mapping[CircuitKind, TypicalVolume]] = MappingProxyType(
    {
        kind: TypicalVolume(kind.value, kind, volume_m3, residue_m3)
        for kind, volume_m3, residue_m3 in (
            (CircuitKind.CHEMICAL_HOSE, 0.0050, 0.0010),
            (CircuitKind.INJECTION, 0.0030, 0.0030),
            (CircuitKind.FOAM_MARKER, 0.0020, 0.0020),
            (CircuitKind.WINTER_FLUID, 0.0020, 0.0020),
        )
    }
)
"""What some machines carry besides; no line of the tank reaches it unless one is entered."""
