"""Where flow stops following speed: the real minimum hold and the real ceiling, found from the settled flows.

Flow follows demand between a floor and a ceiling. Every way of saying which steps lie on the floor and which at the
ceiling is tried; more than a straight line is believed only if the readings ask for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt
from typing import Final

from scipy.special import chdtri

from wetrun.errors import NotDefined
from wetrun.units import Frac, M3s, Ratio

FOLLOWING_STANDARD_FRAC: Final[Frac] = 0.05
"""How far flow may be off demand at every speed alike (meter, tips, widths), before any end is believed."""

_CHANCE_FRAC: Final[Frac] = 0.01


@dataclass(frozen=True, slots=True)
class FlowPoint:
    """One settled step.

    Attributes
    ----------
    demand_m3s, flow_m3s : float
        Boom flow asked for and measured [m3/s].
    standard_m3s : float
        Standard uncertainty of the measured, without what is the same at every step [m3/s].
    """

    demand_m3s: M3s
    flow_m3s: M3s
    standard_m3s: M3s


@dataclass(frozen=True, slots=True)
class FlowEnd:
    """A floor or ceiling that was seen.

    Attributes
    ----------
    flow_m3s, standard_m3s : float
        The flow at which it stays, and its standard uncertainty [m3/s].
    demand_m3s : float
        Demand at which following stops [m3/s].
    steps : int
        How many steps lie on it.
    """

    flow_m3s: M3s
    standard_m3s: M3s
    demand_m3s: M3s
    steps: int


@dataclass(frozen=True, slots=True)
class FlowEnds:
    """What the steps show of both ends.

    Attributes
    ----------
    floor, ceiling : FlowEnd or None
        None if it was not reached: it lies beyond the least or greatest flow.
    least_m3s, greatest_m3s : float
        Least and greatest flow measured [m3/s].
    follows_ratio : float
        Flow over demand between the ends [ratio].
    """

    floor: FlowEnd | None
    ceiling: FlowEnd | None
    least_m3s: M3s
    greatest_m3s: M3s
    follows_ratio: Ratio


@dataclass(frozen=True, slots=True)
class _Split:
    """One way to deal the steps, sorted by demand, onto floor, line and ceiling."""

    cost: float
    low: int
    high: int
    slope: Ratio


def flow_ends(points: Sequence[FlowPoint]) -> FlowEnds:
    """Return the floor and ceiling of flow that the steps of one share of the boom show.

    Parameters
    ----------
    points : sequence of FlowPoint
        At least three, at two demands or more.

    Returns
    -------
    FlowEnds
        With what was not reached left None.

    Raises
    ------
    NotDefined
        Fewer than three steps, all at one speed, or a reading without any doubt.

    Notes
    -----
    Weighted least squares for each split. An end is believed if it cuts the squares more than chance would once in a
    hundred, over all the places it could begin. The line passes through zero. A floor by pressure and one by flow look
    alike at one share of the boom: compare two shares.

    References
    ----------
    grdc-13-3, gum-jcgm-100

    Example
    -------
    >>> steps = [FlowPoint(d, max(d, 4.0), 0.04) for d in (2.0, 3.0, 5.0, 8.0)]
    >>> found = flow_ends(steps)
    >>> round(found.floor.flow_m3s, 3), found.ceiling, found.floor.steps
    (4.0, None, 2)
    """
    _check_points(points)
    ordered = sorted(points, key=lambda point: point.demand_m3s)
    count = len(ordered)
    splits = (_split(ordered, low, high) for low in range(count + 1) for high in range(count + 1 - low))
    best = min((split for split in splits if split is not None), key=lambda split: (split.cost, split.low + split.high))
    return FlowEnds(
        floor=_end(ordered[: best.low], best.slope),
        ceiling=_end(ordered[count - best.high :], best.slope),
        least_m3s=min(point.flow_m3s for point in points),
        greatest_m3s=max(point.flow_m3s for point in points),
        follows_ratio=best.slope,
    )


def _check_points(points: Sequence[FlowPoint]) -> None:
    thing = "minimum hold and ceiling"
    if len(points) < 3:
        raise NotDefined(thing, reason=f"{len(points)} steps", remedy="Step slow, usual and fast at least")
    if len({point.demand_m3s for point in points}) < 2:
        raise NotDefined(thing, reason="all steps are at one demand", remedy="Step through the speeds")
    if any(not point.standard_m3s > 0.0 for point in points):
        reason = "a reading has no uncertainty at all"
        raise NotDefined(thing, reason=reason, remedy="Enter the display's step or repeat the reading")


def _split(ordered: Sequence[FlowPoint], low: int, high: int) -> _Split | None:
    """Cost of one way to deal the steps, or None if it contradicts itself."""
    floor, middle, ceiling = ordered[:low], ordered[low : len(ordered) - high], ordered[len(ordered) - high :]
    slope = _slope(middle)
    if floor and not _mean(floor)[0] > slope * floor[-1].demand_m3s:
        return None
    if ceiling and not _mean(ceiling)[0] < slope * ceiling[0].demand_m3s:
        return None
    if floor and ceiling and not _mean(floor)[0] < _mean(ceiling)[0]:
        return None
    off = _squares(middle, slope) + ((slope - 1.0) / FOLLOWING_STANDARD_FRAC) ** 2
    off += sum(_level_squares(level) for level in (floor, ceiling) if level)
    return _Split(off + _end_cost(len(ordered)) * ((low > 0) + (high > 0)), low, high, slope)


def _end_cost(count: int) -> float:
    """Squares that an end must save: chi-square of one number at 1 %, shared among the places it may begin."""
    return float(chdtri(1.0, _CHANCE_FRAC / count))


def _slope(middle: Sequence[FlowPoint]) -> Ratio:
    """Flow over demand, drawn to one by what is believed before."""
    prior = 1.0 / FOLLOWING_STANDARD_FRAC**2
    weights = [1.0 / point.standard_m3s**2 for point in middle]
    top = sum(w * p.demand_m3s * p.flow_m3s for w, p in zip(weights, middle, strict=True))
    below = sum(w * p.demand_m3s**2 for w, p in zip(weights, middle, strict=True))
    return (top + prior) / (below + prior)


def _squares(points: Sequence[FlowPoint], slope: Ratio) -> float:
    return sum(((p.flow_m3s - slope * p.demand_m3s) / p.standard_m3s) ** 2 for p in points)


def _mean(points: Sequence[FlowPoint]) -> tuple[M3s, M3s]:
    """Weighted mean [m3/s] and its standard uncertainty [m3/s]."""
    weight = sum(1.0 / p.standard_m3s**2 for p in points)
    return sum(p.flow_m3s / p.standard_m3s**2 for p in points) / weight, sqrt(1.0 / weight)


def _level_squares(points: Sequence[FlowPoint]) -> float:
    level_m3s = _mean(points)[0]
    return sum(((p.flow_m3s - level_m3s) / p.standard_m3s) ** 2 for p in points)


def _end(points: Sequence[FlowPoint], slope: Ratio) -> FlowEnd | None:
    if not points:
        return None
    flow_m3s, standard_m3s = _mean(points)
    return FlowEnd(flow_m3s, standard_m3s, flow_m3s / slope if slope > 0.0 else inf, len(points))
