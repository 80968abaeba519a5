"""The pressures a tip is looked at, its flow and droplet class there, and where its class changes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from wetrun.machine.tip import Tip
from wetrun.papers.reader import HAIR, Reader
from wetrun.papers.segments import Segment, stretches
from wetrun.quantity import Kind, System
from wetrun.spray.droplets import DropletClass, DropletFinding, SprayPattern, droplet_finding
from wetrun.spray.orifice import ISO_PRESSURE_PA, US_PRESSURE_PA, FlowRows
from wetrun.units import Kgpm3, M3s, Pa

STEPS: Final = tuple(digit * 10.0**power for power in range(-2, 4) for digit in (1, 2, 5))
"""Round pressures are so far apart, in whatever unit is read; no tip's range is wider than the last of them times
`MOST_ROUND`."""
MOST_ROUND: Final = 9
_REFERENCE_PA: Final = {System.US: US_PRESSURE_PA, System.SI: ISO_PRESSURE_PA}


@dataclass(frozen=True, slots=True)
class TipPoint:
    """A tip at one pressure.

    Attributes
    ----------
    pressure_pa : float
        Pressure at the tip [Pa].
    flow_m3s : float
        Flow of the liquid [m3/s].
    droplets : DropletFinding or None
        Its class on clean water; None for a streamer, which has none.
    """

    pressure_pa: Pa
    flow_m3s: M3s
    droplets: DropletFinding | None


def tip_points(tip: Tip, density_kgpm3: Kgpm3, reader: Reader) -> tuple[TipPoint, ...]:
    """Return a tip over its pressure range: both ends, every row of its maker, and round pressures between.

    Parameters
    ----------
    tip : Tip
        The tip.
    density_kgpm3 : float
        Density of the liquid [kg/m3].
    reader : Reader
        Whose units the round pressures are round in.

    Returns
    -------
    tuple of TipPoint
        Rising in pressure, none that would be printed twice.
    """
    return tuple(
        TipPoint(
            pressure_pa,
            tip.flow_law.flow_m3s(pressure_pa, density_kgpm3),
            None if tip.pattern is None else droplet_finding(tip.pattern, pressure_pa),
        )
        for pressure_pa in _pressures(tip, reader)
    )


def reference_pressure_pa(tip: Tip, reader: Reader) -> Pa:
    """Return the pressure a flow is listed at [Pa]: 40 psi or 3 bar, or the nearest end of the tip's range."""
    return min(max(_REFERENCE_PA[reader.system], tip.low_pa), tip.high_pa)


def round_pressures(tip: Tip, reader: Reader) -> list[float]:
    """Return round pressures inside a tip's range, in the reader's unit, a handful of them.

    Parameters
    ----------
    tip : Tip
        The tip.
    reader : Reader
        Whose unit.

    Returns
    -------
    list of float
        Rising; the ends of the range only where they are round themselves.
    """
    low, high = (reader.number(end, Kind.PRESSURE) for end in (tip.low_pa, tip.high_pa))
    spans = ((step, math.ceil(low / step - HAIR), math.floor(high / step + HAIR)) for step in STEPS)
    step, first, last = next(found for found in spans if found[2] - found[1] < MOST_ROUND)
    return [step * number for number in range(first, last + 1)]


def class_stretches(tip: Tip) -> tuple[Segment, ...]:
    """Return the pressure range of a tip cut where the droplet class to be stated changes.

    Parameters
    ----------
    tip : Tip
        The tip.

    Returns
    -------
    tuple of Segment
        From and to in pressure [Pa], rising and end to end; one without a class for a streamer.
    """
    if tip.pattern is None:
        return (Segment(tip.low_pa, tip.high_pa, None, None),)
    return _stretches(tip.pattern)


@lru_cache(maxsize=1024)
def _stretches(pattern: SprayPattern) -> tuple[Segment, ...]:
    def span(pressure_pa: Pa) -> tuple[DropletClass, DropletClass]:
        found = droplet_finding(pattern, pressure_pa)
        return found.finest, found.coarsest

    return tuple(Segment(low, high, *found) for low, high, found in stretches(span, pattern.low_pa, pattern.high_pa))


def _pressures(tip: Tip, reader: Reader) -> list[Pa]:
    law, pattern = tip.law, tip.pattern
    rows = [*(law.pressures_pa if isinstance(law, FlowRows) else ())]
    rows += [one.pressure_pa for one in pattern.rows] if pattern is not None else []
    measured = [pressure_pa for pressure_pa in rows if tip.low_pa <= pressure_pa <= tip.high_pa]
    # A maker's own pressure goes before a round one that reads the same: only exactly there its row speaks alone.
    found: dict[str, Pa] = {}
    between = (reader.inside(shown, Kind.PRESSURE) for shown in round_pressures(tip, reader))
    for pressure_pa in (*measured, tip.low_pa, tip.high_pa, *between):
        found.setdefault(reader.exact(pressure_pa, Kind.PRESSURE), pressure_pa)
    return sorted(found.values())
