"""The steps of a clean-out as records, and what each of them does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.changeover.effect import Effect, Until, filling_effect, flow_effect, mixing_effect
from wetrun.changeover.network import DRAIN, Network
from wetrun.changeover.streams import Drive
from wetrun.errors import OutOfRange
from wetrun.machine.circuits import Exit, Line, Setting, Start, open_lines
from wetrun.spray.bounds import FloatArray
from wetrun.units import CUBIC_METRE, M3, M3s, S


@dataclass(frozen=True, slots=True)
class Drain:
    """Let run out what will: every circuit falls to its residue.

    Attributes
    ----------
    circuits : tuple of str
        Circuits drained; empty for all.
    wholly : bool
        Whether they are opened and emptied by hand, so that no residue stays: ends and strainers taken off.
    """

    circuits: tuple[str, ...] = ()
    wholly: bool = False


@dataclass(frozen=True, slots=True)
class AddWater:
    """Put clean water into a circuit: the tank through its wash-down heads, or a bowl with a hose.

    Attributes
    ----------
    volume_m3 : float
        Water [m3].
    into : str or None
        Circuit; None for the tank.
    """

    volume_m3: M3
    into: str | None = None


@dataclass(frozen=True, slots=True)
class Circulate:
    """Pump round with nothing let out.

    Attributes
    ----------
    setting : Setting
        Where the valves stand.
    seconds_s : float or None
        How long [s]; None for until mixed.
    closed : tuple of str
        Circuits kept shut.
    """

    setting: Setting
    seconds_s: S | None = None
    closed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SprayOut:
    """Spray out of the tank through open tips and ends.

    Attributes
    ----------
    setting : Setting
        Where the valves stand.
    out_m3s : float
        Flow out in all [m3/s].
    down_to_m3 : float or None
        What stays in the tank [m3]; None for as little as the pump leaves.
    closed : tuple of str
        Circuits kept shut, such as sections.
    """

    setting: Setting
    out_m3s: M3s
    down_to_m3: M3 | None = None
    closed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FlushClean:
    """Send clean water from the rinse tank straight through lines that let it out.

    Attributes
    ----------
    setting : Setting
        Where the valves stand: suction from the rinse tank.
    out_m3s : float
        Flow [m3/s].
    volume_m3 : float
        Water [m3].
    closed : tuple of str
        Circuits kept shut.
    """

    setting: Setting
    out_m3s: M3s
    volume_m3: M3
    closed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RinseOn:
    """Continuous rinsing: clean water into the tank as fast as it is sprayed out, once the lines are full.

    Attributes
    ----------
    setting : Setting
        Where the valves stand.
    out_m3s : float
        Flow in and out [m3/s].
    volume_m3 : float
        Water [m3].
    closed : tuple of str
        Circuits kept shut.
    """

    setting: Setting
    out_m3s: M3s
    volume_m3: M3
    closed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stand:
    """Let the cleaner stand as its label says. No chemistry is computed: nothing moves.

    Attributes
    ----------
    seconds_s : float
        How long [s].
    """

    seconds_s: S


_HOSE: Final = Line(name="clean water in", through=(), needs=(), start=Start.RINSE_TANK)
# The wash-down line holds nothing but clean water, so it is left out of the reckoning.

Step = Drain | AddWater | Circulate | SprayOut | FlushClean | RinseOn | Stand


def step_effect(step: Step, network: Network, volumes_m3: Annotated[FloatArray, CUBIC_METRE]) -> Effect:
    """Return what one step does to a machine that holds this much liquid.

    Parameters
    ----------
    step : Step
        The step.
    network : Network
        The machine.
    volumes_m3 : array
        Liquid in each cell before it, shape (cells,) [m3].

    Returns
    -------
    Effect
        Shares of old mix moved, liquid after, time, water.

    Raises
    ------
    OutOfRange
        A volume that does not fit, or too little to fill the lines.
    NotDefined
        Lines that do not flow.

    References
    ----------
    ideal-mixing-dilution
    """
    if isinstance(step, Stand):
        return Effect(np.eye(network.size), volumes_m3, step.seconds_s)
    if isinstance(step, Drain):
        return _drained(step, network, volumes_m3)
    if isinstance(step, AddWater):
        return _watered(step, network, volumes_m3)
    if isinstance(step, Circulate):
        return _circulated(step, network, volumes_m3)
    return _let_out(step, network, volumes_m3)


def _let_out(step: SprayOut | FlushClean | RinseOn, network: Network, volumes_m3: FloatArray) -> Effect:
    if isinstance(step, SprayOut):
        return _sprayed_out(step, network, volumes_m3)
    if isinstance(step, FlushClean):
        return _flushed(step, network, volumes_m3)
    return _rinsed_on(step, network, volumes_m3)


def _drained(step: Drain, network: Network, volumes_m3: FloatArray) -> Effect:
    names = step.circuits or tuple(circuit.name for circuit in network.layout.circuits)
    cells = [cell for name in names for cell in network.held_by(name)]
    keeps = np.zeros(network.size) if step.wholly else network.floor_m3
    after, shares, drain = volumes_m3.copy(), np.eye(network.size), network.exits[DRAIN]
    for cell in cells:
        after[cell] = min(volumes_m3[cell], keeps[cell])
        kept = after[cell] / volumes_m3[cell] if volumes_m3[cell] > 0.0 else 1.0
        shares[cell, cell] = kept
        shares[drain, cell] += 1.0 - kept
        after[drain] += volumes_m3[cell] - after[cell]
    return Effect(shares, after)


def _watered(step: AddWater, network: Network, volumes_m3: FloatArray) -> Effect:
    name = step.into or network.layout.tank.name
    cell = network.cells[network.layout.circuit(name).name][0]
    room_m3 = float(network.full_m3[cell] - volumes_m3[cell])
    if not 0.0 <= step.volume_m3 <= room_m3 * (1.0 + 1e-12):
        raise OutOfRange(
            f"water added to {name}",
            step.volume_m3,
            CUBIC_METRE,
            low=0.0,
            high=room_m3,
            remedy="It would run over: add less, or drain first.",
        )
    after = volumes_m3.copy()
    after[cell] += step.volume_m3
    return Effect(np.eye(network.size), after, 0.0, step.volume_m3)


def _circulated(step: Circulate, network: Network, volumes_m3: FloatArray) -> Effect:
    opened = open_lines(network.layout, step.setting, closed=step.closed)
    drive = Drive(tuple(line for line in opened if line.exit is Exit.TANK and line.start is Start.TANK))
    if step.seconds_s is None:
        return mixing_effect(network, volumes_m3, drive)
    return flow_effect(network, volumes_m3, drive, Until(seconds_s=step.seconds_s))


def _sprayed_out(step: SprayOut, network: Network, volumes_m3: FloatArray) -> Effect:
    lines = _tank_lines(network, step.setting, step.closed)
    return flow_effect(network, volumes_m3, Drive(lines, step.out_m3s), Until(tank_m3=step.down_to_m3 or 0.0))


def _flushed(step: FlushClean, network: Network, volumes_m3: FloatArray) -> Effect:
    opened = open_lines(network.layout, step.setting, closed=step.closed)
    lines = tuple(line for line in opened if line.start is Start.RINSE_TANK and line.exit is not Exit.TANK)
    return flow_effect(network, volumes_m3, Drive(lines, step.out_m3s), Until(seconds_s=step.volume_m3 / step.out_m3s))


def _rinsed_on(step: RinseOn, network: Network, volumes_m3: FloatArray) -> Effect:
    lines = _tank_lines(network, step.setting, step.closed)
    filled = filling_effect(network, volumes_m3, Drive(lines, step.out_m3s))
    drive = Drive((*lines, _HOSE), step.out_m3s, step.out_m3s)
    return filled.then(flow_effect(network, filled.volumes_m3, drive, Until(seconds_s=step.volume_m3 / step.out_m3s)))


def _tank_lines(network: Network, setting: Setting, closed: tuple[str, ...]) -> tuple[Line, ...]:
    return tuple(line for line in open_lines(network.layout, setting, closed=closed) if line.start is Start.TANK)
