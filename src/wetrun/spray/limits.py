"""The limits a spraying machine runs into, each as a flow of one tip.

A limit either *acts* (the controller or the pump stops there: minimum hold, duty range, maximum pressure, pump,
relief), so that the rate leaves its target, or *judges* (the controller goes on, but the tip is outside what it, the
label or the meter is good for).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from wetrun.units import CUBIC_METRE_PER_SECOND, M3s

FlowArray = Annotated[NDArray[np.float64], CUBIC_METRE_PER_SECOND]


class Limit(StrEnum):
    """The limits, in the order in which they are named when two bind at the same flow."""

    TIP_LOW = "tip's lowest pressure"
    TIP_HIGH = "tip's highest pressure"
    CLASS_COARSE = "droplets coarser than allowed"
    CLASS_FINE = "droplets finer than allowed"
    LABEL_PRESSURE = "label's maximum pressure for this tip"
    CHECK_VALVE = "check valve's opening pressure"
    HOLD = "minimum hold"
    DUTY_LOW = "lowest duty"
    DUTY_HIGH = "full duty"
    METER_LOW = "flow meter's least flow"
    METER_HIGH = "flow meter's greatest flow"
    CAB_HIGH = "controller's maximum pressure"
    PUMP = "pump flow left after agitation"
    RELIEF = "relief pressure"
    FIXED_PRESSURE = "fixed pressure: the rate follows the speed"
    LABEL_SPEED = "label's maximum speed"
    SHUT_OFF = "machine shuts off below this speed"
    RATE_OFF = "flow worked out from pressure is off by wear or density"


class Side(StrEnum):
    """Which end of the window a limit closes."""

    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Bound:
    """One limit as a flow of one tip.

    Attributes
    ----------
    limit : Limit
        Which one.
    side : Side
        The end it closes.
    flow_m3s : float
        Mean flow of one tip at which it binds [m3/s].
    acts : bool
        True if delivery stops there, False if it only judges.
    """

    limit: Limit
    side: Side
    flow_m3s: M3s
    acts: bool = False


@dataclass(frozen=True, slots=True)
class BoundCurve:
    """One limit over several shares of the boom that are on.

    Attributes
    ----------
    limit : Limit
        Which one.
    side : Side
        The end it closes.
    flows_m3s : ndarray
        Flow of one tip at which it binds [m3/s], shape (levels,).
    acts : bool
        True if delivery stops there, False if it only judges.
    """

    limit: Limit
    side: Side
    flows_m3s: FlowArray
    acts: bool = False

    def at(self, level: int) -> Bound:
        """Return the bound at one level.

        Parameters
        ----------
        level : int
            Index into the shares of the boom.

        Returns
        -------
        Bound
            The same limit as one flow.
        """
        return Bound(self.limit, self.side, float(self.flows_m3s[level]), self.acts)


def tightest(limits: Sequence[Bound], side: Side, *, acts: bool) -> Bound | None:
    """Return the limit that binds first on one side, or None.

    Parameters
    ----------
    limits : sequence of Bound
        Limits to look through.
    side : Side
        Low end or high end.
    acts : bool
        Look at those that act, or at those that judge.

    Returns
    -------
    Bound or None
        Ties go to the limit named first in `Limit`.
    """
    order = list(Limit)
    mine = [bound for bound in limits if bound.side is side and bound.acts is acts]
    sign = -1.0 if side is Side.LOW else 1.0
    return min(mine, key=lambda bound: (sign * bound.flow_m3s, order.index(bound.limit)), default=None)
