"""Evenness across the boom: patterns stacked side by side, endless or as this boom is, in grooves or without.

The groove is the standard's: what a tray of 100 mm grooves would catch under the boom. Where only tips were caught,
the stack of an assumed pattern stands in for the tray, and a result near a limit stays undecided.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Final

import numpy as np

from wetrun.errors import NotDefined
from wetrun.spray.bounds import FloatArray, check_not_negative, check_positive
from wetrun.spray.fan_patterns import FanPattern
from wetrun.units import CUBIC_METRE_PER_SECOND, METRE, Frac, M

GROOVE_M: Final[M] = 0.1
MODEL_MARGIN_FRAC: Final[Frac] = 0.03
"""What a stack of assumed patterns may be off: within it a limit is neither met nor missed."""
_RIPPLES: Final = 20_000
_EDGE_ROUNDING: Final = 1e-9


class Standing(StrEnum):
    """How a value stands against a limit."""

    WITHIN = "within the limit"
    UNDECIDED = "too near the limit to say"
    BEYOND = "beyond the limit"


@dataclass(frozen=True, slots=True)
class EvennessLimit:
    """A rule for evenness, chosen and named.

    Attributes
    ----------
    name : str
        What the rule is for.
    cv_frac : float
        Greatest coefficient of variation [frac].
    groove_frac : float or None
        Greatest deviation of a groove from the mean [frac]; None if the rule has none.
    source_key : str
        Key of `wetrun.sources`.
    """

    name: str
    cv_frac: Frac
    groove_frac: Frac | None
    source_key: str


IN_USE: Final = EvennessLimit("sprayer in use", 0.10, 0.20, "czech-207-2012")
NEW_AT_STATED: Final = EvennessLimit("new sprayer at the stated height and pressure", 0.07, None, "iso-16119-2")
NEW_OVER_RANGE: Final = EvennessLimit("new sprayer over the range of heights and pressures", 0.09, None, "iso-16119-2")


@dataclass(frozen=True, slots=True)
class Evenness:
    """Evenness over a stretch of grooves.

    Attributes
    ----------
    cv_frac : float
        Standard deviation of the grooves (of a sample, n - 1) over their mean [frac].
    least_frac, most_frac : float
        Deviation of the emptiest and the fullest groove from the mean [frac]; the first is negative.
    least_m, most_m : float
        Where they are: middle of the groove from the first position [m].
    from_m, to_m : float
        Stretch judged, from the first position [m].
    grooves : int
        Grooves in it.
    """

    cv_frac: Frac
    least_frac: Frac
    most_frac: Frac
    least_m: M
    most_m: M
    from_m: M
    to_m: M
    grooves: int

    def standing(self, limit: EvennessLimit, margin_frac: Frac = MODEL_MARGIN_FRAC) -> Standing:
        """Return how it stands against a rule.

        Parameters
        ----------
        limit : EvennessLimit
            The rule.
        margin_frac : float
            How far off the values may be [frac]: 0.03 for a stack of assumed patterns, 0 for a tray read exactly.

        Returns
        -------
        Standing
            Beyond if either value is surely beyond, within if both are surely within, else undecided.

        References
        ----------
        czech-207-2012, iso-16122-2, iso-16119-2
        """
        extreme_frac = max(-self.least_frac, self.most_frac)
        each = [standing_of(self.cv_frac, limit.cv_frac, margin_frac)]
        if limit.groove_frac is not None:
            each.append(standing_of(extreme_frac, limit.groove_frac, margin_frac))
        return next((s for s in (Standing.BEYOND, Standing.UNDECIDED) if s in each), Standing.WITHIN)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StackedBoom:
    """What a tray under the whole boom would catch.

    Attributes
    ----------
    edges_m : ndarray
        Edges of the grooves, from the first position [m], shape (grooves + 1,).
    caught_m3s : ndarray
        Flow into each groove [m3/s], shape (grooves,).
    whole : Evenness
        Over the boom's own width, half a spacing beyond the outer positions: its ends included.
    inner : Evenness or None
        Where every fan that an endless boom would lay is there; None if the boom is too short for such a place.
    """

    edges_m: Annotated[FloatArray, METRE]
    caught_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND]
    whole: Evenness
    inner: Evenness | None


def standing_of(value_frac: Frac, limit_frac: Frac, margin_frac: Frac = MODEL_MARGIN_FRAC) -> Standing:
    """Return how a share stands against its greatest.

    Parameters
    ----------
    value_frac : float
        Value [frac].
    limit_frac : float
        Greatest allowed [frac].
    margin_frac : float
        How far off the value may be [frac].

    Returns
    -------
    Standing
        Undecided within the margin of the limit.

    Example
    -------
    >>> standing_of(0.06, 0.10).name, standing_of(0.08, 0.10).name, standing_of(0.14, 0.10).name
    ('WITHIN', 'UNDECIDED', 'BEYOND')
    """
    if value_frac + margin_frac <= limit_frac:
        return Standing.WITHIN
    return Standing.BEYOND if value_frac - margin_frac > limit_frac else Standing.UNDECIDED


def endless_boom_cv_frac(pattern: FanPattern, spacing_m: M, *, groove_m: M = 0.0) -> Frac:
    """Return the coefficient of variation under an endless boom of equal tips, in closed form.

    Parameters
    ----------
    pattern : FanPattern
        What one tip lays down.
    spacing_m : float
        Distance between tips [m].
    groove_m : float
        Width of the groove it is caught in [m]; 0 for the spray itself.

    Returns
    -------
    float
        Standard deviation over mean [frac].

    Raises
    ------
    OutOfRange
        A spacing that is not positive or a groove that is negative.

    Notes
    -----
    The pattern repeated at the spacing is a sum of ripples: ``CV² = 2 Σ ripple²``. A groove damps each ripple by its
    own sinc. For grooves in any place against the tips; a tray in one place may read a little more or less. The sum
    ends at 20 000 ripples: off by less than 0.001 even for a pattern with steps.

    References
    ----------
    pattern-superposition

    Example
    -------
    >>> from wetrun.spray.fan_patterns import Trapezoid
    >>> round(endless_boom_cv_frac(Trapezoid(1.25), 0.5), 4)  # a triangle two and a half spacings wide
    0.0516
    """
    check_positive("spacing", spacing_m, METRE, remedy="Enter the distance between tips.")
    check_not_negative("width of a groove", groove_m, METRE, remedy="Enter 0 for the spray itself.")
    orders = np.arange(1, _RIPPLES + 1, dtype=np.float64)
    ripples = pattern.ripple_ratios(spacing_m, orders) * np.sinc(orders * (groove_m / spacing_m))
    return math.sqrt(2.0 * float(np.sum(ripples**2)))


def stacked_boom(
    flows_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND],
    patterns: FanPattern | Sequence[FanPattern],
    spacing_m: M,
    *,
    groove_m: M = GROOVE_M,
) -> StackedBoom:
    """Return what a tray would catch under a boom as it is: its own catches, missing tips, ends.

    Parameters
    ----------
    flows_m3s : ndarray
        Flow at each position, left to right, zero where nothing sprays [m3/s], shape (positions,).
    patterns : FanPattern or sequence of FanPattern
        One for all, or one for each position.
    spacing_m : float
        Distance between positions [m].
    groove_m : float
        Width of a groove [m]; the grooves are laid from the middle of the boom outwards.

    Returns
    -------
    StackedBoom
        Grooves over all that gets wet; evenness over the boom's width and away from its ends.

    Raises
    ------
    OutOfRange
        A negative flow, or a spacing or groove that is not positive.
    NotDefined
        A flow that is not known, no flow at all, or patterns that are not one for each position.

    Notes
    -----
    Patterns are added as they are: fans that meet in the air are taken not to disturb one another, the boom to be
    level and still, the air too.

    References
    ----------
    pattern-superposition

    Example
    -------
    >>> from wetrun.spray.fan_patterns import Trapezoid
    >>> stack = stacked_boom(np.full(24, 2e-5), Trapezoid(1.0), 0.5)
    >>> round(stack.inner.cv_frac, 6), stack.whole.cv_frac > 0.05
    (0.0, True)
    """
    check_positive("spacing", spacing_m, METRE, remedy="Enter the distance between tips.")
    check_positive("width of a groove", groove_m, METRE, remedy="Enter the width of the tray's grooves.")
    fans = _one_each(patterns, flows_m3s)
    offsets = np.arange(len(fans)) * spacing_m
    reach_m = max(fan.half_width_m for fan in fans)
    edges = _groove_edges_m(float(offsets[-1]), reach_m, groove_m)
    caught = sum(
        (flow * np.diff(fan.frac_left_of(edges - at)) for flow, fan, at in zip(flows_m3s, fans, offsets, strict=True)),
        start=np.zeros(edges.size - 1),
    )
    last_m = float(offsets[-1])
    beyond_m = spacing_m / 2.0
    whole = _evenness(edges, caught, -beyond_m, last_m + beyond_m)
    # The next tip of an endless boom would stand a spacing beyond the last: its fan must not reach in.
    from_end_m = max(reach_m - spacing_m, -beyond_m)
    inner = _evenness(edges, caught, from_end_m, last_m - from_end_m)
    if whole is None:
        remedy = "Use narrower grooves, or enter the whole boom."
        raise NotDefined("evenness of the boom", reason="it is narrower than two grooves, or dry", remedy=remedy)
    return StackedBoom(edges_m=edges, caught_m3s=caught, whole=whole, inner=inner)


def _one_each(
    patterns: FanPattern | Sequence[FanPattern], flows_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND]
) -> list[FanPattern]:
    remedy = "Catch that tip, or enter zero if nothing sprays there."
    check_not_negative("flow of a tip", flows_m3s, CUBIC_METRE_PER_SECOND, remedy=remedy)
    if np.any(np.isnan(flows_m3s)) or not np.sum(flows_m3s) > 0.0:
        raise NotDefined("evenness of the boom", reason="the flow of a tip, or of all, is not known", remedy=remedy)
    fans = list(patterns) if isinstance(patterns, Sequence) else [patterns] * flows_m3s.size
    if len(fans) != flows_m3s.size:
        reason = f"there are {len(fans)} patterns for {flows_m3s.size} positions"
        raise NotDefined("evenness of the boom", reason=reason, remedy="Give one pattern, or one for each position.")
    return fans


def _groove_edges_m(last_m: M, reach_m: M, groove_m: M) -> Annotated[FloatArray, METRE]:
    """Edges of grooves from the middle of the boom outwards, to beyond all that gets wet."""
    each_side = math.ceil((last_m / 2.0 + reach_m) / groove_m) + 1
    edges: FloatArray = last_m / 2.0 + np.arange(-each_side, each_side + 1, dtype=np.float64) * groove_m
    return edges


def _evenness(edges_m: Annotated[FloatArray, METRE], caught: FloatArray, from_m: M, to_m: M) -> Evenness | None:
    """Evenness over the grooves that lie wholly in a stretch; None if they are fewer than two, or all dry."""
    room_m = _EDGE_ROUNDING * (edges_m[1] - edges_m[0])
    inside = np.flatnonzero((edges_m[:-1] >= from_m - room_m) & (edges_m[1:] <= to_m + room_m))
    if inside.size < 2 or not np.any(caught[inside]):
        return None
    relative = caught[inside] / np.mean(caught[inside]) - 1.0
    middles = (edges_m[inside] + edges_m[inside + 1]) / 2.0
    least, most = int(np.argmin(relative)), int(np.argmax(relative))
    return Evenness(
        float(np.std(relative, ddof=1)),
        float(relative[least]),
        float(relative[most]),
        float(middles[least]),
        float(middles[most]),
        float(edges_m[inside[0]]),
        float(edges_m[inside[-1] + 1]),
        int(inside.size),
    )
