"""One rinse as the yard does it: which way, with how much water, and the steps it is made of."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

import numpy as np

from wetrun.changeover.effect import Effect, nothing_yet
from wetrun.changeover.network import Network
from wetrun.changeover.steps import AddWater, Circulate, Drain, FlushClean, RinseOn, SprayOut, Step, step_effect
from wetrun.errors import NotDefined
from wetrun.machine.circuits import Exit, Layout, Setting, Start, open_lines
from wetrun.machine.flushing import exits_of, flush_settings
from wetrun.spray.bounds import FloatArray
from wetrun.units import CUBIC_METRE, M3, Frac, M3s


class Way(StrEnum):
    """How a rinse uses its water."""

    BATCH = "batch through the tank"
    CONTINUOUS = "continuous through the tank"
    BOOM = "boom straight from the rinse tank"


@dataclass(frozen=True, slots=True)
class Rinse:
    """One rinse.

    Attributes
    ----------
    way : Way
        How.
    water_m3 : float
        Clean water [m3].
    """

    way: Way
    water_m3: M3


@dataclass(frozen=True, slots=True, kw_only=True)
class RinseSetup:
    """How rinses are done on one machine.

    Attributes
    ----------
    network : Network
        The machine.
    circulating : tuple of Setting
        Valve settings to circulate in, one after the other.
    spraying : tuple of Setting
        Valve settings to spray out in, open ends last.
    out_m3s : float
        Flow out of the boom while spraying out [m3/s].
    drains : bool
        Whether the machine is drained before the first rinse and after each.
    last_frac : float
        Share of a batch kept in the tank for each later setting of ``spraying`` [frac].
    closed : tuple of str
        Circuits skipped.
    """

    network: Network
    circulating: tuple[Setting, ...]
    spraying: tuple[Setting, ...]
    out_m3s: M3s
    drains: bool = True
    last_frac: Frac = 0.2
    closed: tuple[str, ...] = ()


def rinse_setup(network: Network, out_m3s: M3s, *, drains: bool = True, without: tuple[str, ...] = ()) -> RinseSetup:
    """Return the way a full rinse is done with the fewest valve settings.

    Parameters
    ----------
    network : Network
        The machine.
    out_m3s : float
        Flow out of the boom while spraying out [m3/s].
    drains : bool
        Whether the machine is drained before the first rinse and after each.
    without : tuple of str
        Circuits skipped: lines through them stay shut.

    Returns
    -------
    RinseSetup
        Settings by what they let out.

    Raises
    ------
    NotDefined
        Nothing is left to rinse through.
    """
    found = [entry.setting for entry in flush_settings(network.layout, without=without)]
    out = {s for s in found if exits_of(network.layout, s, closed=without) - {Exit.TANK}}
    return RinseSetup(
        network=network,
        circulating=tuple(setting for setting in found if setting not in out),
        spraying=tuple(setting for setting in found if setting in out),
        out_m3s=out_m3s,
        drains=drains,
        closed=without,
    )


def start_volumes(setup: RinseSetup) -> Annotated[FloatArray, CUBIC_METRE]:
    """Return the liquid in each cell before every rinse, and after it, exits at zero, shape (cells,) [m3]."""
    network = setup.network
    volumes_m3: FloatArray = network.floor_m3.copy() if setup.drains else network.full_m3.copy()
    volumes_m3[network.tank] = network.floor_m3[network.tank]
    volumes_m3[list(network.exits.values())] = 0.0
    return volumes_m3


def rinse_steps(setup: RinseSetup, rinse: Rinse) -> tuple[Step, ...]:
    """Return the steps of one rinse.

    Parameters
    ----------
    setup : RinseSetup
        How rinses are done.
    rinse : Rinse
        Way and water.

    Returns
    -------
    tuple of Step
        Ending with a drain if the machine is drained.

    Raises
    ------
    NotDefined
        A way the machine has no lines for.
    """
    parts = {Way.BATCH: _batch, Way.CONTINUOUS: _continuous, Way.BOOM: _boom}
    return (*parts[rinse.way](setup, rinse.water_m3), *((Drain(),) if setup.drains else ()))


def rinse_effect(setup: RinseSetup, rinse: Rinse) -> Effect:
    """Return what one rinse does to whatever the machine holds.

    Parameters
    ----------
    setup : RinseSetup
        How rinses are done.
    rinse : Rinse
        Way and water.

    Returns
    -------
    Effect
        From the liquid of `start_volumes` back to it.

    Raises
    ------
    OutOfRange
        Water that does not fit, or too little to fill the lines.
    """
    network = setup.network
    done = nothing_yet(network, start_volumes(setup))
    for step in rinse_steps(setup, rinse):
        done = done.then(step_effect(step, network, done.volumes_m3))
    return done


def _batch(setup: RinseSetup, water_m3: M3) -> tuple[Step, ...]:
    """Water in, every setting circulated until mixed, then out; what later settings need is kept in the tank."""
    floor_m3 = float(setup.network.floor_m3[setup.network.tank])
    kept = [setup.last_frac * n for n in range(len(setup.spraying) - 1, -1, -1)]
    return (
        AddWater(water_m3),
        *(Circulate(setting, closed=setup.closed) for setting in setup.circulating),
        *(
            SprayOut(setting, setup.out_m3s, floor_m3 + share * water_m3 if share else None, setup.closed)
            for setting, share in zip(setup.spraying, kept, strict=True)
        ),
    )


def _continuous(setup: RinseSetup, water_m3: M3) -> tuple[Step, ...]:
    """Fill the lines of each setting that sprays, then clean water in as fast as it goes out."""
    network = setup.network
    if not setup.spraying:
        raise NotDefined(str(Way.CONTINUOUS), reason="no setting sprays", remedy="Rinse in batches.")
    lacking_m3 = network.full_m3 - start_volumes(setup) if setup.drains else np.zeros(network.size)
    names = {
        name
        for setting in setup.spraying
        for line in open_lines(network.layout, setting, closed=setup.closed)
        if line.start is Start.TANK
        for name in line.through
    }
    fill_m3 = float(sum(lacking_m3[list(network.cells[name])].sum() for name in names))
    each_m3 = (water_m3 - fill_m3) / len(setup.spraying)
    if not each_m3 > 0.0:
        raise NotDefined(str(Way.CONTINUOUS), reason="the water only fills the lines", remedy="Give it more water.")
    flows = (RinseOn(setting, setup.out_m3s, each_m3, setup.closed) for setting in setup.spraying)
    return (*((AddWater(fill_m3),) if fill_m3 > 0.0 else ()), *flows)


def _boom(setup: RinseSetup, water_m3: M3) -> tuple[Step, ...]:
    setting = clean_boom_setting(setup.network.layout)
    if setting is None:
        raise NotDefined(
            str(Way.BOOM), reason="no line leads from the rinse tank to the tips", remedy="Rinse through the tank."
        )
    return (FlushClean(setting, setup.out_m3s, water_m3, setup.closed),)


def clean_boom_setting(layout: Layout) -> Setting | None:
    """Return the valve setting that sends clean water from the rinse tank to the tips.

    Parameters
    ----------
    layout : Layout
        The plumbing.

    Returns
    -------
    Setting or None
        None if no line does so.
    """
    needs = [line.needs for line in layout.lines if line.start is Start.RINSE_TANK and line.exit is Exit.TIPS]
    return layout.setting(dict(needs[0])) if needs else None
