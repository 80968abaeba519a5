"""What the first load after a rinse brings out of each boom section: old mix, and how thin the new mix is at first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.changeover.effect import Effect, Until, flow_effect, nothing_yet
from wetrun.changeover.network import Network
from wetrun.changeover.steps import AddWater, Circulate, Step, step_effect
from wetrun.changeover.streams import Drive
from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.circuits import Exit, Setting, Start, open_lines
from wetrun.machine.flushing import exits_of, flush_settings
from wetrun.spray.bounds import FloatArray
from wetrun.units import (
    CUBIC_METRE,
    CUBIC_METRE_PER_SQUARE_METRE,
    FRACTION,
    M2,
    M3,
    SQUARE_METRE,
    Frac,
    M3pm2,
    M3s,
    Ratio,
)

_POINTS: Final = 24
_FIRST_SHARE: Final = 0.02
_MOST_OUT: Final = 0.98
_SAME: Final = 1e-9
"""Concentrations this near to the highest, as a share of it, are as high: rounding must not choose between sections."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLoad:
    """The first load of the next crop.

    Attributes
    ----------
    volume_m3 : float
        Mix put into the tank [m3].
    rate_m3pm2 : float
        Its carrier rate [m3/m2].
    out_m3s : float
        Boom flow while spraying it [m3/s].
    old_rate_m3pm2 : float
        Carrier rate the old mix was sprayed at [m3/m2].
    loading : tuple of Setting
        Valve settings used while loading: what stands in their lines gets into the load.
    spraying : Setting
        Valve setting in the field.
    """

    volume_m3: M3
    rate_m3pm2: M3pm2
    out_m3s: M3s
    old_rate_m3pm2: M3pm2
    loading: tuple[Setting, ...]
    spraying: Setting

    @property
    def dose_ratio(self) -> Ratio:
        """Share of the old dose per area that a concentration of 1 would put down [ratio]."""
        return self.rate_m3pm2 / self.old_rate_m3pm2


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryRows:
    """What comes out of each section, for whatever the machine holds before loading.

    Attributes
    ----------
    sections : tuple of str
        Sections that spray, left to right.
    areas_m2 : array
        Area sprayed so far, shape (points,) [m2].
    per_old : array
        Concentration out of a section per old mix in each cell, shape (points, sections, cells): times old mix in m3 it
        is a share of the old tank mix.
    """

    sections: tuple[str, ...]
    areas_m2: Annotated[FloatArray, SQUARE_METRE]
    per_old: FloatArray

    def out_frac(self, old_m3: Annotated[FloatArray, CUBIC_METRE]) -> Annotated[FloatArray, FRACTION]:
        """Return the concentration out of each section as a share of the old tank mix [frac].

        Parameters
        ----------
        old_m3 : array
            Old mix in each cell before loading, shape (cells,) [m3].

        Returns
        -------
        array
            Shape (points, sections) [frac].
        """
        share: FloatArray = self.per_old @ old_m3
        return share


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstAcres:
    """What the next crop gets over the first area sprayed.

    Attributes
    ----------
    sections : tuple of str
        Sections that spray, left to right.
    areas_m2 : array
        Area sprayed so far by the whole boom, shape (points,) [m2].
    old_frac : array
        Concentration out of each section as a share of the old tank mix, shape (points, sections) [frac].
    dose_frac : array
        The same as a share of the old product's dose per area, shape (points, sections) [frac].
    strength_frac : array
        Strength of the new mix out of each section; below 1 where rinse water still thins it, same shape [frac].
    """

    sections: tuple[str, ...]
    areas_m2: Annotated[FloatArray, SQUARE_METRE]
    old_frac: Annotated[FloatArray, FRACTION]
    dose_frac: Annotated[FloatArray, FRACTION]
    strength_frac: Annotated[FloatArray, FRACTION]

    @property
    def worst_section(self) -> str:
        """Section with the highest concentration at any moment; of several alike the first from the left."""
        return self.sections[first_highest(self.old_frac.max(axis=0))]

    @property
    def peak_frac(self) -> Frac:
        """Highest concentration out of any section, as a share of the old tank mix [frac]."""
        return float(self.old_frac.max())

    @property
    def end_frac(self) -> Frac:
        """Highest concentration out of any section at the end of the load [frac]."""
        return float(self.old_frac[-1].max())


def usual_next_load(
    network: Network, volume_m3: M3, *, rate_m3pm2: M3pm2, out_m3s: M3s, old_rate_m3pm2: M3pm2
) -> NextLoad:
    """Return the next load as usually made: every circuit used while loading, agitation on in the field.

    Parameters
    ----------
    network : Network
        The machine.
    volume_m3 : float
        Mix put into the tank [m3].
    rate_m3pm2, old_rate_m3pm2 : float
        Carrier rate of the next crop and of the old mix [m3/m2].
    out_m3s : float
        Boom flow [m3/s].

    Returns
    -------
    NextLoad
        Its valve settings are those of a full rinse that let nothing out, and the one that sprays.

    Raises
    ------
    NotDefined
        No valve setting sprays.
    """
    layout = network.layout
    settings = [entry.setting for entry in flush_settings(layout)]
    spraying = [setting for setting in settings if Exit.TIPS in exits_of(layout, setting)]
    if not spraying:
        raise NotDefined(f"spraying with {layout.name}", reason="no line ends at tips", remedy="Enter its sections.")
    return NextLoad(
        volume_m3=volume_m3,
        rate_m3pm2=rate_m3pm2,
        out_m3s=out_m3s,
        old_rate_m3pm2=old_rate_m3pm2,
        loading=tuple(setting for setting in settings if exits_of(layout, setting) <= {Exit.TANK}),
        spraying=spraying[0],
    )


def carry_rows(network: Network, volumes_m3: Annotated[FloatArray, CUBIC_METRE], load: NextLoad) -> CarryRows:
    """Return what comes out of each section over the next load, as rows over the machine's cells.

    Parameters
    ----------
    network : Network
        The machine.
    volumes_m3 : array
        Liquid in each cell before loading, shape (cells,) [m3].
    load : NextLoad
        The load.

    Returns
    -------
    CarryRows
        The first point is the first drop out of the tips.

    Raises
    ------
    OutOfRange
        A load that does not fit, or is too small to fill the lines.

    Notes
    -----
    The load is mixed through every line used in loading, then sprayed with agitation as in the field. Points are even
    in the logarithm of area, from a fiftieth of the boom's liquid to nearly the whole load, and the first drop.

    References
    ----------
    ideal-mixing-dilution
    """
    _check_load(load)
    done = _loaded(network, volumes_m3, load)
    opened = open_lines(network.layout, load.spraying)
    drive = Drive(tuple(line for line in opened if line.start is Start.TANK), load.out_m3s)
    spraying = [line.through[-1] for line in drive.lines if line.exit is Exit.TIPS]
    sections = tuple(section.name for section in network.layout.sections if section.name in spraying)
    done = done.then(_first_drop(network, done, drive))
    outs, rows = [0.0], [_rows(network, done, sections)]
    for out_m3 in _stops_m3(network, done, sections):
        done = done.then(flow_effect(network, done.volumes_m3, drive, Until(out_m3=out_m3 - outs[-1])))
        outs.append(out_m3)
        rows.append(_rows(network, done, sections))
    return CarryRows(sections=sections, areas_m2=np.array(outs) / load.rate_m3pm2, per_old=np.array(rows))


def first_acres(
    rows: CarryRows,
    old_m3: Annotated[FloatArray, CUBIC_METRE],
    volumes_m3: Annotated[FloatArray, CUBIC_METRE],
    load: NextLoad,
) -> FirstAcres:
    """Return what the next crop gets from what the machine holds.

    Parameters
    ----------
    rows : CarryRows
        Of this machine and load.
    old_m3 : array
        Old mix in each cell before loading, shape (cells,) [m3].
    volumes_m3 : array
        Liquid in each cell before loading, shape (cells,) [m3].
    load : NextLoad
        The load.

    Returns
    -------
    FirstAcres
        Old mix and strength of the new, by section over area.
    """
    old_frac = rows.out_frac(old_m3)
    return FirstAcres(
        sections=rows.sections,
        areas_m2=rows.areas_m2,
        old_frac=old_frac,
        dose_frac=old_frac * load.dose_ratio,
        strength_frac=1.0 - rows.out_frac(volumes_m3),
    )


def first_highest(shares_frac: Annotated[FloatArray, FRACTION]) -> int:
    """Return the place of the highest share, the first of those that differ by rounding only.

    Parameters
    ----------
    shares_frac : array
        One or more, shape (n,) [frac].

    Returns
    -------
    int
        Its place.

    Example
    -------
    >>> import numpy as np
    >>> first_highest(np.array([0.1, 0.3, 0.3 + 1e-12]))
    1
    """
    return int(np.argmax(shares_frac >= shares_frac.max() * (1.0 - _SAME)))


def area_above_m2(acres: FirstAcres, level_frac: Frac) -> dict[str, M2 | None]:
    """Return the area after which each section stays at or below a concentration [m2].

    Parameters
    ----------
    acres : FirstAcres
        What the next crop gets.
    level_frac : float
        Concentration as a share of the old tank mix [frac].

    Returns
    -------
    dict of str to float or None
        By section: 0 if it is never above; None if it still is at the end of the load [m2].
    """
    return {name: _last_above_m2(acres, acres.old_frac[:, n], level_frac) for n, name in enumerate(acres.sections)}


def _last_above_m2(acres: FirstAcres, curve: Annotated[FloatArray, FRACTION], level_frac: Frac) -> M2 | None:
    above = np.flatnonzero(curve > level_frac)
    if not above.size:
        return 0.0
    last = int(above[-1])
    if last == len(curve) - 1:
        return None
    share = (curve[last] - level_frac) / (curve[last] - curve[last + 1])
    return float(acres.areas_m2[last] + share * (acres.areas_m2[last + 1] - acres.areas_m2[last]))


def _check_load(load: NextLoad) -> None:
    for thing, rate in (("next carrier rate", load.rate_m3pm2), ("old carrier rate", load.old_rate_m3pm2)):
        if not 0.0 < rate < float("inf"):
            raise OutOfRange(
                thing, rate, CUBIC_METRE_PER_SQUARE_METRE, low=0.0, remedy="Enter it from the season plan."
            )


def _loaded(network: Network, volumes_m3: Annotated[FloatArray, CUBIC_METRE], load: NextLoad) -> Effect:
    """Mix in the tank, and through every line used while loading."""
    done = nothing_yet(network, volumes_m3)
    steps: tuple[Step, ...] = (AddWater(load.volume_m3), *(Circulate(setting) for setting in load.loading))
    for step in steps:
        done = done.then(step_effect(step, network, done.volumes_m3))
    return done


def _first_drop(network: Network, done: Effect, drive: Drive) -> Effect:
    """Boom lines full, and the first thousandth of their liquid out."""
    boom_m3 = sum(network.layout.circuit(line.through[-1]).volume_m3 for line in drive.lines if line.exit is Exit.TIPS)
    return flow_effect(network, done.volumes_m3, drive, Until(out_m3=1e-3 * boom_m3))


def _stops_m3(network: Network, done: Effect, sections: tuple[str, ...]) -> list[M3]:
    boom_m3 = sum(network.layout.circuit(name).volume_m3 for name in sections)
    tank_m3 = float(done.volumes_m3[network.tank] - network.floor_m3[network.tank])
    first_m3 = min(_FIRST_SHARE * boom_m3, 0.1 * tank_m3)
    if not tank_m3 > 0.0:
        raise OutOfRange(
            "liquid left in the tank once the lines are full", tank_m3, CUBIC_METRE, low=0.0, remedy="Load more."
        )
    return [float(out_m3) for out_m3 in np.geomspace(first_m3, _MOST_OUT * tank_m3, _POINTS)]


def _rows(network: Network, done: Effect, sections: tuple[str, ...]) -> FloatArray:
    """Mean concentration of each section's cells, which its tips draw from evenly, per old mix at the start."""
    rows = [
        np.mean([done.shares[cell] / done.volumes_m3[cell] for cell in network.cells[name]], axis=0)
        for name in sections
    ]
    return np.array(rows)
