"""What a step does to whatever the machine holds: a matrix for the old mix, and the liquid left after it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np

from wetrun.changeover.network import Network, State
from wetrun.changeover.propagator import falling_map, steady_map
from wetrun.changeover.streams import CLEAN, Drive, Stream, exchange, line_flows, streams_of, volume_rates_m3s
from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import FloatArray
from wetrun.units import CUBIC_METRE, M3, S

MIXED_FRAC: Final = 0.01
"""Mixed means: wherever a drop of old mix was put in, no swept cell is further from the mean than this share."""
_DOUBLINGS: Final = 40
_ROUNDING: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Effect:
    """What a step does, whatever was in the machine before.

    Attributes
    ----------
    shares : array
        Share of the old mix of each cell (column) that ends in each cell (row), shape (cells, cells).
    volumes_m3 : array
        Liquid in each cell after it, shape (cells,) [m3].
    seconds_s : float
        How long it flowed [s].
    water_m3 : float
        Clean water used [m3].
    """

    shares: FloatArray
    volumes_m3: Annotated[FloatArray, CUBIC_METRE]
    seconds_s: S = 0.0
    water_m3: M3 = 0.0

    def on(self, state: State) -> State:
        """Return what the machine holds after it."""
        return State(self.volumes_m3, self.shares @ state.old_m3)

    def then(self, later: Effect) -> Effect:
        """Return this one and a later one as one."""
        return Effect(
            later.shares @ self.shares,
            later.volumes_m3,
            self.seconds_s + later.seconds_s,
            self.water_m3 + later.water_m3,
        )


@dataclass(frozen=True, slots=True)
class Until:
    """When flow stops: whichever comes first.

    Attributes
    ----------
    seconds_s : float
        Time [s].
    out_m3 : float
        Liquid out of tips and open ends [m3].
    tank_m3 : float
        Liquid in the tank, falling [m3].
    """

    seconds_s: S = float("inf")
    out_m3: M3 = float("inf")
    tank_m3: M3 = 0.0


def nothing_yet(network: Network, volumes_m3: Annotated[FloatArray, CUBIC_METRE]) -> Effect:
    """Return the effect of no step at all.

    Parameters
    ----------
    network : Network
        The machine.
    volumes_m3 : array
        Liquid in each cell, shape (cells,) [m3].

    Returns
    -------
    Effect
        Everything stays where it is.
    """
    return Effect(np.eye(network.size), volumes_m3)


def flow_effect(network: Network, volumes_m3: Annotated[FloatArray, CUBIC_METRE], drive: Drive, until: Until) -> Effect:
    """Return what flow does: lines that are not full fill first, one after the other; then they are swept.

    Parameters
    ----------
    network : Network
        The machine.
    volumes_m3 : array
        Liquid in each cell at the start, shape (cells,) [m3].
    drive : Drive
        Open lines and flows.
    until : Until
        When it stops.

    Returns
    -------
    Effect
        Exact where volumes stand still, settled to 1e-7 of any share while the tank falls or rises.

    Raises
    ------
    OutOfRange
        The tank runs over, or runs dry before its stop.
    NotDefined
        Nothing flows, or nothing ever ends it.
    """
    flows = line_flows(network, drive)
    if not flows:
        raise NotDefined("flow", reason="no open line flows", remedy="Open a line, or give it a flow.")
    done, left = nothing_yet(network, volumes_m3), until
    while left.seconds_s > _ROUNDING and left.out_m3 > _ROUNDING:
        streams = streams_of(network, flows, done.volumes_m3)
        if _is_down(network, streams, done.volumes_m3, until):
            break
        span_s = _span_s(network, streams, done.volumes_m3, left)
        stretch = _stretch(network, streams, done.volumes_m3, span_s)
        out_m3 = stretch.volumes_m3[_outs(network)].sum() - done.volumes_m3[_outs(network)].sum()
        done = done.then(stretch)
        left = replace(left, seconds_s=left.seconds_s - span_s, out_m3=left.out_m3 - float(out_m3))
    return done


def filling_effect(network: Network, volumes_m3: Annotated[FloatArray, CUBIC_METRE], drive: Drive) -> Effect:
    """Return what filling the open lines does; it ends when the last of them is full.

    Parameters
    ----------
    network : Network
        The machine.
    volumes_m3 : array
        Liquid in each cell at the start, shape (cells,) [m3].
    drive : Drive
        Open lines and flows.

    Returns
    -------
    Effect
        Lines already full are swept meanwhile.

    Raises
    ------
    OutOfRange
        The tank runs dry before they are full.
    NotDefined
        No line flows.
    """
    flows = line_flows(network, drive)
    if not flows:
        raise NotDefined("circulation", reason="no open line flows", remedy="Open one that returns to the tank.")
    done = nothing_yet(network, volumes_m3)
    while True:
        streams = streams_of(network, flows, done.volumes_m3)
        missing_m3 = _missing_m3(network, streams, done.volumes_m3)
        if missing_m3 == 0.0:
            return done
        if _is_down(network, streams, done.volumes_m3, Until()):
            tank_m3 = float(done.volumes_m3[network.tank])
            remedy = "Add more water: the pump draws air before the lines are full."
            low_m3 = tank_m3 + missing_m3
            raise OutOfRange("water in the tank while lines fill", tank_m3, CUBIC_METRE, low=low_m3, remedy=remedy)
        span_s = _span_s(network, streams, done.volumes_m3, Until())
        done = done.then(_stretch(network, streams, done.volumes_m3, span_s))


def mixing_effect(network: Network, volumes_m3: Annotated[FloatArray, CUBIC_METRE], drive: Drive) -> Effect:
    """Return what circulating does until everything swept is mixed.

    Parameters
    ----------
    network : Network
        The machine.
    volumes_m3 : array
        Liquid in each cell at the start, shape (cells,) [m3].
    drive : Drive
        Open lines; none of them lets liquid out.

    Returns
    -------
    Effect
        Lines full, then flow for the time found.

    Raises
    ------
    OutOfRange
        Not enough liquid in the tank to fill the lines.
    NotDefined
        It never mixes.

    Notes
    -----
    The time is that of the worst case (all old mix in one swept cell), to `MIXED_FRAC`; so it does not depend on what
    the machine holds, and dead volumes do not count in it. Doubled from one minute's hundredth: at most twice too long.
    """
    filled = filling_effect(network, volumes_m3, drive)
    streams = streams_of(network, line_flows(network, drive), filled.volumes_m3)
    seconds_s = _mixing_s(network, streams, filled.volumes_m3)
    return filled.then(_stretch(network, streams, filled.volumes_m3, seconds_s))


def _mixing_s(network: Network, streams: tuple[Stream, ...], volumes_m3: Annotated[FloatArray, CUBIC_METRE]) -> S:
    fixed, per_tank = exchange(network, streams, volumes_m3, with_dead=False)
    rates = fixed + per_tank / volumes_m3[network.tank]
    swept = sorted({s.start for s in streams if s.start != CLEAN} | {s.end for s in streams})
    inner = rates[np.ix_(swept, swept)]
    mean = volumes_m3[swept] / volumes_m3[swept].sum()
    seconds_s = 0.6
    shares = steady_map(inner, seconds_s)
    for _ in range(_DOUBLINGS):
        if np.abs(shares / mean[:, None] - 1.0).max() <= MIXED_FRAC:
            return seconds_s
        shares, seconds_s = shares @ shares, 2.0 * seconds_s
    raise NotDefined("circulation", reason="it never mixes", remedy="Every line must come back to the tank.")


def _stretch(
    network: Network, streams: tuple[Stream, ...], volumes_m3: Annotated[FloatArray, CUBIC_METRE], span_s: S
) -> Effect:
    """Flow during which no line becomes full and nothing is switched."""
    fixed, per_tank = exchange(network, streams, volumes_m3)
    rates = _moves(network, streams)
    tank_m3, tank_rate = float(volumes_m3[network.tank]), float(rates[network.tank])
    if tank_rate == 0.0:
        shares = steady_map(fixed + per_tank / tank_m3, span_s)
    else:
        shares = falling_map(fixed, per_tank, tank_m3=tank_m3, rate_m3s=tank_rate, seconds_s=span_s)
    after = volumes_m3 + rates * span_s
    near = np.isclose(after, network.full_m3, rtol=1e-9, atol=0.0)
    after = np.where(near, network.full_m3, np.maximum(after, network.floor_m3))
    clean_m3 = sum(s.flow_m3s for s in streams if s.start == CLEAN) * span_s
    return Effect(shares, after, span_s, clean_m3)


def _moves(network: Network, streams: tuple[Stream, ...]) -> FloatArray:
    """Volume rates with rounding taken out, so that a full line stands exactly still."""
    rates = volume_rates_m3s(network, streams)
    rates[np.abs(rates) <= 1e-9 * network.layout.pump_m3s] = 0.0
    return rates


def _span_s(
    network: Network, streams: tuple[Stream, ...], volumes_m3: Annotated[FloatArray, CUBIC_METRE], until: Until
) -> S:
    """Time to the next change: a cell full, the tank down, or what ends the flow."""
    rates, tank = _moves(network, streams), network.tank
    rising = np.flatnonzero((rates > 0.0) & np.isfinite(network.full_m3))
    spans = [(float(network.full_m3[cell] - volumes_m3[cell]) / float(rates[cell]), int(cell)) for cell in rising]
    floor_m3 = max(until.tank_m3, float(network.floor_m3[tank]))
    if rates[tank] < 0.0:
        spans.append((float(floor_m3 - volumes_m3[tank]) / float(rates[tank]), -1))
    out_m3s = float(rates[_outs(network)].sum())
    if out_m3s > 0.0:
        spans.append((until.out_m3 / out_m3s, -1))
    span_s, cell = min([*spans, (until.seconds_s, -1)])
    if cell == tank:
        raise OutOfRange(
            "liquid in the tank",
            float(volumes_m3[tank] + rates[tank] * span_s),
            CUBIC_METRE,
            high=float(network.full_m3[tank]),
            remedy="It would run over: add less clean water.",
        )
    if not span_s < float("inf"):
        raise NotDefined("flow", reason="nothing ever ends it", remedy="Give a time or a volume.")
    return span_s


def _is_down(
    network: Network, streams: tuple[Stream, ...], volumes_m3: Annotated[FloatArray, CUBIC_METRE], until: Until
) -> bool:
    """Whether the tank is as low as it may go, with lines still drawing from it."""
    floor_m3 = max(until.tank_m3, float(network.floor_m3[network.tank]))
    falls = bool(_moves(network, streams)[network.tank] < 0.0)
    return falls and bool(volumes_m3[network.tank] <= floor_m3 * (1.0 + 1e-9))


def _missing_m3(network: Network, streams: tuple[Stream, ...], volumes_m3: Annotated[FloatArray, CUBIC_METRE]) -> M3:
    """Liquid the cells still lack that streams are filling now."""
    rising = (_moves(network, streams) > 0.0) & np.isfinite(network.full_m3)
    rising[network.tank] = False
    return float((network.full_m3 - volumes_m3)[rising].sum())


def _outs(network: Network) -> list[int]:
    return list(network.exits.values())
