"""What flows from cell to cell at one moment, and the rates of exchange that follow from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.changeover.network import Network
from wetrun.errors import OutOfRange
from wetrun.machine.circuits import Exit, Line, Start
from wetrun.spray.bounds import FloatArray
from wetrun.units import CUBIC_METRE, CUBIC_METRE_PER_SECOND, M3s

CLEAN: Final = -1
"""The rinse tank, as the start of a stream: it holds no old mix."""
_BRIM: Final = 1e-12
"""A cell this near to full, as a share, is full: rounding must not start another filling."""


@dataclass(frozen=True, slots=True)
class Stream:
    """Flow from one cell to another.

    Attributes
    ----------
    start, end : int
        Cells; ``CLEAN`` if clean water.
    flow_m3s : float
        Flow [m3/s].
    """

    start: int
    end: int
    flow_m3s: M3s


@dataclass(frozen=True, slots=True)
class Drive:
    """What pushes liquid through open lines.

    Attributes
    ----------
    lines : tuple of Line
        Lines whose valves are open.
    out_m3s : float
        Flow out of tips or open ends in all [m3/s].
    clean_m3s : float
        Clean water fed back into the tank [m3/s].
    """

    lines: tuple[Line, ...]
    out_m3s: M3s = 0.0
    clean_m3s: M3s = 0.0


def line_flows(network: Network, drive: Drive) -> tuple[tuple[Line, M3s], ...]:
    """Return the flow of every open line [m3/s]; lines without flow are left out.

    Parameters
    ----------
    network : Network
        The machine.
    drive : Drive
        Open lines and flows.

    Returns
    -------
    tuple of (Line, float)
        What leaves is shared by the lines that let it out, what the pump has left by the returns, both by share [m3/s].

    Raises
    ------
    OutOfRange
        More asked out of the boom than the pump gives.
    """
    pump_m3s = network.layout.pump_m3s
    if not 0.0 <= drive.out_m3s <= pump_m3s:
        raise OutOfRange(
            "flow out of the boom",
            drive.out_m3s,
            CUBIC_METRE_PER_SECOND,
            low=0.0,
            high=pump_m3s,
            remedy="The pump gives no more: spray slower, or enter its flow at working pressure.",
        )
    out = [line for line in drive.lines if line.exit is not Exit.TANK]
    back = [line for line in drive.lines if line.exit is Exit.TANK and line.start is Start.TANK]
    wash = [line for line in drive.lines if line.exit is Exit.TANK and line.start is Start.RINSE_TANK]
    left_m3s = pump_m3s - (drive.out_m3s if out else 0.0)
    shared = [*_shared(out, drive.out_m3s), *_shared(back, left_m3s), *_shared(wash, drive.clean_m3s)]
    return tuple((line, flow_m3s) for line, flow_m3s in shared if flow_m3s > 0.0)


def streams_of(
    network: Network,
    flows_m3s: Sequence[tuple[Line, M3s]],
    volumes_m3: Annotated[FloatArray, CUBIC_METRE],
) -> tuple[Stream, ...]:
    """Return the streams between cells; a line flows no further than its first cell that is not yet full.

    Parameters
    ----------
    network : Network
        The machine.
    flows_m3s : sequence of (Line, float)
        Flow of each open line [m3/s].
    volumes_m3 : array
        Liquid in each cell, shape (cells,) [m3].

    Returns
    -------
    tuple of Stream
        Line by line.

    Notes
    -----
    Tips draw evenly from the cells of their section, and only once the whole section is full.
    """
    brim = network.full_m3 * (1.0 - _BRIM)
    return tuple(
        stream
        for line, flow_m3s in flows_m3s
        for stream in _line_streams(network, line, flow_m3s, filling=volumes_m3 < brim)
    )


def volume_rates_m3s(network: Network, streams: Sequence[Stream]) -> Annotated[FloatArray, CUBIC_METRE_PER_SECOND]:
    """Return how fast the liquid in each cell grows, shape (cells,) [m3/s].

    Parameters
    ----------
    network : Network
        The machine.
    streams : sequence of Stream
        What flows.

    Returns
    -------
    array
        Zero in full cells, to rounding; negative in a tank being sprayed out [m3/s].
    """
    rates = np.zeros(network.size)
    for stream in streams:
        rates[stream.end] += stream.flow_m3s
        if stream.start != CLEAN:
            rates[stream.start] -= stream.flow_m3s
    return rates


def exchange(
    network: Network,
    streams: Sequence[Stream],
    volumes_m3: Annotated[FloatArray, CUBIC_METRE],
    *,
    with_dead: bool = True,
) -> tuple[FloatArray, FloatArray]:
    """Return the rates of old mix between cells: with volumes as they are, and per volume in the tank.

    Parameters
    ----------
    network : Network
        The machine.
    streams : sequence of Stream
        What flows.
    volumes_m3 : array
        Liquid in each cell, shape (cells,) [m3].
    with_dead : bool
        Whether dead volumes take part.

    Returns
    -------
    fixed, per_tank : array
        Shape (cells, cells), from column to row; d old/dt = (fixed + per_tank / tank volume) old. Columns add up to
        zero and nothing off the diagonal is negative, so that old mix is neither lost nor below zero.
    """
    fixed, per_tank = np.zeros((network.size, network.size)), np.zeros((network.size, network.size))
    pairs = [(s.start, s.end, s.flow_m3s) for s in streams if s.start != CLEAN]
    if with_dead:
        pairs += [
            pair for a, b, flow in _couplings(network, streams, volumes_m3) for pair in ((a, b, flow), (b, a, flow))
        ]
    for start, end, flow in pairs:
        into, per = (per_tank, 1.0) if start == network.tank else (fixed, volumes_m3[start])
        into[start, start] -= flow / per
        into[end, start] += flow / per
    return fixed, per_tank


def _shared(lines: Sequence[Line], flow_m3s: M3s) -> Iterator[tuple[Line, M3s]]:
    weight = sum(line.share_ratio for line in lines)
    return ((line, flow_m3s * line.share_ratio / weight) for line in lines)


def _line_streams(network: Network, line: Line, flow_m3s: M3s, *, filling: npt.NDArray[np.bool_]) -> Iterator[Stream]:
    cells = [cell for name in line.through for cell in network.cells[name]]
    at = network.tank if line.start is Start.TANK else CLEAN
    stop = next((n for n, cell in enumerate(cells) if filling[cell]), None)
    swept = cells if stop is None else cells[: stop + 1]
    drawn = network.cells[line.through[-1]] if line.exit is Exit.TIPS and stop is None else ()
    left_m3s = flow_m3s
    for cell in swept:
        yield Stream(at, cell, left_m3s)
        at = cell
        if cell in drawn:
            yield Stream(cell, network.exits[line.through[-1]], flow_m3s / len(drawn))
            left_m3s -= flow_m3s / len(drawn)
    if stop is None and line.exit is Exit.TANK:
        yield Stream(at, network.tank, flow_m3s)
    elif stop is None and line.exit is Exit.OPEN_END:
        yield Stream(at, network.exits[line.through[-1]], flow_m3s)


def _couplings(
    network: Network, streams: Sequence[Stream], volumes_m3: Annotated[FloatArray, CUBIC_METRE]
) -> Iterator[tuple[int, int, float]]:
    """Exchange flow between a swept cell and a dead one: the dead volume over its exchange time."""
    swept = {stream.start for stream in streams}
    for circuit in network.layout.circuits:
        own = [cell for cell in network.cells[circuit.name] if cell in swept]
        if circuit.name in network.dead:
            share = circuit.dead_m3 / circuit.exchange_s / circuit.cells
            yield from ((cell, network.dead[circuit.name], share) for cell in own)
        if circuit.beside is not None and not own:
            beside = network.cells[circuit.beside][-1]
            for cell in network.cells[circuit.name]:
                if beside in swept and volumes_m3[cell] > 0.0:
                    yield beside, cell, float(volumes_m3[cell]) / circuit.exchange_s
