"""A layout as numbered cells: what each holds when full, what stays when drained, and where liquid leaves.

The state of a machine is two vectors over the same cells: liquid held, and *old mix* held. Old mix is counted as the
volume of the tank mix before the rinse that would carry the same product, so that a concentration is a share of the
old tank mix. Exits are cells too: they add up what left, so that nothing can get lost.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.machine.circuit_checks import check_layout
from wetrun.machine.circuits import Circuit, CircuitKind, Exit, Layout
from wetrun.spray.bounds import FloatArray
from wetrun.units import CUBIC_METRE, M3, Frac

DRAIN: Final = "drain"
"""Name of the exit that drained liquid leaves by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """The numbered cells of one layout.

    Attributes
    ----------
    layout : Layout
        The plumbing.
    cells : mapping of str to tuple of int
        Swept cells of each circuit, in the order of flow.
    dead : mapping of str to int
        The cell flow does not sweep, of each circuit that has one.
    exits : mapping of str to int
        The cell that counts what left: by the circuit it left from, or drained.
    full_m3, floor_m3 : array
        Liquid in each cell in work, and after draining, shape (cells,) [m3]; exits have no bound.
    """

    layout: Layout
    cells: Mapping[str, tuple[int, ...]]
    dead: Mapping[str, int]
    exits: Mapping[str, int]
    full_m3: Annotated[FloatArray, CUBIC_METRE]
    floor_m3: Annotated[FloatArray, CUBIC_METRE]

    @property
    def size(self) -> int:
        """Number of cells, exits with them."""
        return len(self.full_m3)

    @property
    def tank(self) -> int:
        """The cell of the spray tank."""
        return self.cells[self.layout.tank.name][0]

    def held_by(self, name: str) -> tuple[int, ...]:
        """Return every cell of a circuit, the dead one with them."""
        own = self.layout.circuit(name)
        return (*self.cells[own.name], *((self.dead[name],) if name in self.dead else ()))


@dataclass(frozen=True, slots=True)
class State:
    """What a machine holds at one moment.

    Attributes
    ----------
    volumes_m3 : array
        Liquid in each cell, shape (cells,) [m3].
    old_m3 : array
        Old mix in each cell, shape (cells,) [m3].
    """

    volumes_m3: Annotated[FloatArray, CUBIC_METRE]
    old_m3: Annotated[FloatArray, CUBIC_METRE]


def network_of(layout: Layout) -> Network:
    """Return the numbered cells of a layout.

    Parameters
    ----------
    layout : Layout
        The plumbing.

    Returns
    -------
    Network
        Swept cells circuit by circuit, then the dead ones, then the exits.

    Raises
    ------
    OutOfRange, NotDefined
        A layout that cannot be computed.
    """
    check_layout(layout)
    _check_tank(layout.tank)
    cells: dict[str, tuple[int, ...]] = {}
    full: list[float] = []
    floor: list[float] = []
    for circuit in layout.circuits:
        cells[circuit.name] = tuple(range(len(full), len(full) + circuit.cells))
        full += [(circuit.volume_m3 - circuit.dead_m3) / circuit.cells] * circuit.cells
        floor += [(circuit.residue_m3 - circuit.dead_m3) / circuit.cells] * circuit.cells
    with_dead = [circuit for circuit in layout.circuits if circuit.dead_m3 > 0.0]
    dead = {circuit.name: len(full) + n for n, circuit in enumerate(with_dead)}
    full += [circuit.dead_m3 for circuit in with_dead]
    floor += [circuit.dead_m3 for circuit in with_dead]
    ends = list(dict.fromkeys(line.through[-1] for line in layout.lines if line.exit is not Exit.TANK))
    exits = {name: len(full) + n for n, name in enumerate((*ends, DRAIN))}
    unbound = [float("inf")] * len(exits)
    return Network(
        layout=layout,
        cells=cells,
        dead=dead,
        exits=exits,
        full_m3=np.array(full + unbound),
        floor_m3=np.array(floor + [0.0] * len(exits)),
    )


def loaded_state(network: Network, *, tank_m3: M3 | None = None) -> State:
    """Return the machine as it stands after spraying: plumbing full of tank mix, the tank sprayed down.

    Parameters
    ----------
    network : Network
        The cells.
    tank_m3 : float or None
        Mix still in the tank [m3]; None for as little as the pump leaves.

    Returns
    -------
    State
        Concentration 1 in every circuit that holds the mix, 0 in the others.

    Raises
    ------
    OutOfRange
        More in the tank than it holds, or less than the pump leaves.
    """
    volumes = network.full_m3.copy()
    volumes[list(network.exits.values())] = 0.0
    tank = network.tank
    volumes[tank] = network.floor_m3[tank] if tank_m3 is None else tank_m3
    if not network.floor_m3[tank] <= volumes[tank] <= network.full_m3[tank]:
        raise OutOfRange(
            "mix left in the tank",
            float(volumes[tank]),
            CUBIC_METRE,
            low=float(network.floor_m3[tank]),
            high=float(network.full_m3[tank]),
            remedy="Enter what is left in it.",
        )
    old = volumes.copy()
    for circuit in network.layout.circuits:
        if not circuit.holds_mix:
            old[list(network.held_by(circuit.name))] = 0.0
    return State(volumes, old)


def concentrations(network: Network, state: State) -> Mapping[str, Frac]:
    """Return the concentration in each circuit as a share of the old tank mix.

    Parameters
    ----------
    network : Network
        The cells.
    state : State
        What they hold.

    Returns
    -------
    mapping of str to float
        By circuit: old mix over liquid; 0 in an empty circuit [frac].
    """
    return {circuit.name: _share(state, network.held_by(circuit.name)) for circuit in network.layout.circuits}


def old_mix(network: Network, state: State) -> Mapping[str, M3]:
    """Return the old mix in each circuit and what left by each exit.

    Parameters
    ----------
    network : Network
        The cells.
    state : State
        What they hold.

    Returns
    -------
    mapping of str to float
        By circuit, then by exit (``out of …``) [m3]; they add up to what there was.
    """
    inside = {
        circuit.name: float(state.old_m3[list(network.held_by(circuit.name))].sum())
        for circuit in network.layout.circuits
    }
    return inside | {f"out of {name}": float(state.old_m3[cell]) for name, cell in network.exits.items()}


def _share(state: State, cells: tuple[int, ...]) -> float:
    held = float(state.volumes_m3[list(cells)].sum())
    return float(state.old_m3[list(cells)].sum()) / held if held > 0.0 else 0.0


def _check_tank(tank: Circuit) -> None:
    remedy = "No tank drains wholly: measure what stays in it, or keep the typical residue."
    if not tank.residue_m3 > tank.dead_m3 or tank.cells != 1 or tank.kind is not CircuitKind.TANK:
        raise OutOfRange(f"residue of {tank.name}", tank.residue_m3, CUBIC_METRE, low=0.0, remedy=remedy)
