"""What a plumbing layout must be before anything is computed from it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.circuits import Circuit, CircuitKind, Exit, Layout, Line
from wetrun.units import CUBIC_METRE, CUBIC_METRE_PER_SECOND, FRACTION, RATIO, SECOND


def check_layout(layout: Layout) -> None:
    """Refuse a layout that cannot be computed, with the first thing wrong in it.

    Parameters
    ----------
    layout : Layout
        The plumbing.

    Raises
    ------
    OutOfRange
        A volume, share, time or flow outside what it can be.
    NotDefined
        Names that are missing, doubled or unknown; no tank or more than one; tips on something not a section.

    Notes
    -----
    A circuit that no line reaches is a finding (`wetrun.machine.flushing`), not an error.
    """
    _check_names(layout)
    for circuit in layout.circuits:
        _check_circuit(layout, circuit)
    for line in layout.lines:
        _check_line(layout, line)
    remedy = "Enter the pump's flow at working pressure."
    if not layout.pump_m3s > 0.0:
        raise OutOfRange(f"pump flow of {layout.name}", layout.pump_m3s, CUBIC_METRE_PER_SECOND, low=0.0, remedy=remedy)
    if not layout.rinse_tank_m3 >= 0.0:
        raise OutOfRange(
            f"rinse tank of {layout.name}",
            layout.rinse_tank_m3,
            CUBIC_METRE,
            low=0.0,
            remedy="Enter its size, or 0 if there is none.",
        )


def _check_names(layout: Layout) -> None:
    _check_once("circuit", (circuit.name for circuit in layout.circuits))
    _check_once("line", (line.name for line in layout.lines))
    _check_once("valve", (valve.name for valve in layout.valves))
    tanks = [circuit.name for circuit in layout.circuits if circuit.kind is CircuitKind.TANK]
    if len(tanks) != 1:
        raise NotDefined(
            f"spray tank of {layout.name}",
            reason=f"{len(tanks)} circuits are of kind tank",
            remedy="Enter exactly one; a nurse tank is a machine of its own.",
        )


def _check_once(what: str, names: Iterable[str]) -> None:
    twice = [name for name, times in Counter(names).items() if times > 1]
    if twice:
        raise NotDefined(f"{what} “{twice[0]}”", reason="two of them have this name", remedy="Give each its own name.")


def _check_circuit(layout: Layout, circuit: Circuit) -> None:
    name, volume = circuit.name, circuit.volume_m3
    if not 0.0 < volume < float("inf"):
        raise OutOfRange(
            f"volume of {name}",
            volume,
            CUBIC_METRE,
            low=0.0,
            remedy="Measure what it holds, keep the typical volume, or leave the circuit out if the machine has none.",
        )
    if not 0.0 <= circuit.dead_frac < 1.0:
        raise OutOfRange(
            f"dead share of {name}",
            circuit.dead_frac,
            FRACTION,
            low=0.0,
            high=1.0,
            remedy="A circuit that flow never sweeps is a dead end: enter what it hangs on instead.",
        )
    if not circuit.dead_m3 <= circuit.residue_m3 <= volume:
        raise OutOfRange(
            f"residue of {name}",
            circuit.residue_m3,
            CUBIC_METRE,
            low=circuit.dead_m3,
            high=volume,
            remedy="It holds at least its dead share after draining, and never more than its volume.",
        )
    if not circuit.exchange_s > 0.0:
        raise OutOfRange(f"exchange time of {name}", circuit.exchange_s, SECOND, low=0.0, remedy="Enter seconds.")
    if circuit.cells < 1:
        raise OutOfRange(f"cells of {name}", circuit.cells, RATIO, low=1.0, remedy="Enter 1 for a mixed circuit.")
    if circuit.beside is not None:
        layout.circuit(circuit.beside)


def _check_line(layout: Layout, line: Line) -> None:
    if not line.share_ratio > 0.0:
        raise OutOfRange(f"share of line {line.name}", line.share_ratio, RATIO, low=0.0, remedy="Enter its tips, or 1.")
    if not line.through:
        raise NotDefined(f"line {line.name}", reason="it passes no circuit", remedy="Enter the circuits it passes.")
    passed = [layout.circuit(name) for name in line.through]
    if len({circuit.name for circuit in passed}) < len(passed):
        raise NotDefined(f"line {line.name}", reason="it passes a circuit twice", remedy="Enter each circuit once.")
    if any(circuit.kind is CircuitKind.TANK for circuit in passed):
        raise NotDefined(f"line {line.name}", reason="it names the tank", remedy="Leave the tank to start and exit.")
    if line.exit is Exit.TIPS and passed[-1].kind is not CircuitKind.SECTION:
        raise NotDefined(
            f"line {line.name}",
            reason=f"it sprays from {passed[-1].name}, which is no boom section",
            remedy="End it on the section whose tips it feeds.",
        )
    layout.setting(dict(line.needs))
