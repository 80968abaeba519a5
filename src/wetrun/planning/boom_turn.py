"""A machine's own boom over turn radii: what its ends get, what ground is off, and from which radius it can follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.machine.boom import Boom
from wetrun.machine.sprayer import Sprayer
from wetrun.spray.bounds import FloatArray
from wetrun.spray.turn_across import (
    UNBOUNDED,
    FlowReach,
    TurnAcross,
    TurnCompensation,
    least_radius_m,
    reach_of_duty,
    turn_across,
)
from wetrun.units import METRE, Frac, M, Ratio

METHOD: Final = "boom in a turn"
METHOD_NUMBER: Final = 1
USUAL_DUTY_FRAC: Final[Frac] = 0.7
"""Middle of the 60 to 80 % that are planned for usual speed; sprayers101-pwm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnRow:
    """One radius, one way of setting flow.

    Attributes
    ----------
    radius_m : float
        Of the path of the boom's middle [m].
    compensation : TurnCompensation
        What sets flow anew.
    outer_ratio, inner_ratio : float
        Rate at the outer and the inner end over the wanted one [ratio].
    over_frac, under_frac : float
        Ground swept that gets more than the tolerance too much, and too little [frac].
    bound : bool
        Whether some tip wants a flow the hardware cannot give.
    """

    radius_m: M
    compensation: TurnCompensation
    outer_ratio: Ratio
    inner_ratio: Ratio
    over_frac: Frac
    under_frac: Frac
    bound: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BoomTurn:
    """What a machine's boom does in turns.

    Attributes
    ----------
    rows : tuple of TurnRow
        By radius, then by way.
    tolerance_frac : float
        How far off counts [frac].
    duty_frac : float or None
        Duty at the middle that compensation starts from [frac]; None without pulses.
    least_radius_m : float or None
        From here outwards compensation by tip gives every tip its rate [m]; None without pulses.
    compensation : TurnCompensation
        What this machine is said to do.
    """

    rows: tuple[TurnRow, ...]
    tolerance_frac: Frac
    duty_frac: Frac | None
    least_radius_m: M | None
    compensation: TurnCompensation


def boom_turn(
    sprayer: Sprayer, radii_m: Sequence[M], *, tolerance_frac: Frac, duty_frac: Frac = USUAL_DUTY_FRAC
) -> BoomTurn:
    """Return what a machine's boom does in turns.

    Parameters
    ----------
    sprayer : Sprayer
        Its boom, and its pulses if it has any.
    radii_m : sequence of float
        Radii of the path of the boom's middle [m].
    tolerance_frac : float
        How far off counts [frac].
    duty_frac : float
        Duty at the middle straight on, for a pulse-width machine [frac].

    Returns
    -------
    BoomTurn
        Without compensation, and on a pulse-width machine by section and by tip as well.

    Raises
    ------
    OutOfRange
        A radius or duty that is not positive.

    References
    ----------
    turn-geometry, sprayers101-pwm
    """
    pulse = sprayer.control.pulse
    reach = UNBOUNDED if pulse is None else reach_of_duty(pulse, duty_frac)
    ways = tuple(TurnCompensation) if pulse is not None else (TurnCompensation.NONE,)
    offsets_m = tip_offsets_m(sprayer.boom)
    return BoomTurn(
        rows=tuple(
            _row(radius_m, way, _across(sprayer.boom, radius_m, way, reach), tolerance_frac)
            for radius_m in radii_m
            for way in ways
        ),
        tolerance_frac=tolerance_frac,
        duty_frac=None if pulse is None else duty_frac,
        least_radius_m=None if pulse is None else least_radius_m(float(offsets_m[-1]), reach),
        compensation=sprayer.control.turns,
    )


def tip_offsets_m(boom: Boom) -> Annotated[FloatArray, METRE]:
    """Return where the tips stand from the middle of the boom, left to right [m].

    Example
    -------
    >>> tip_offsets_m(Boom(spacing_m=0.5, section_tips=(2, 2))).tolist()
    [-0.75, -0.25, 0.25, 0.75]
    """
    return (np.arange(boom.tips, dtype=np.float64) - (boom.tips - 1) / 2.0) * boom.spacing_m


def _across(boom: Boom, radius_m: M, way: TurnCompensation, reach: FlowReach) -> TurnAcross:
    offsets_m = tip_offsets_m(boom)
    return turn_across(offsets_m, radius_m, compensation=way, section_tips=boom.section_tips, reach=reach)


def _row(radius_m: M, way: TurnCompensation, across: TurnAcross, tolerance_frac: Frac) -> TurnRow:
    return TurnRow(
        radius_m=radius_m,
        compensation=way,
        outer_ratio=float(across.rate_ratio[-1]),
        inner_ratio=float(across.rate_ratio[0]),
        over_frac=across.over_frac(tolerance_frac),
        under_frac=across.under_frac(tolerance_frac),
        bound=bool(across.bound.any()),
    )
