"""How fast a machine follows: the lag and delay of its rate controller, and of the valves of its sections."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.errors import OutOfRange
from wetrun.units import SECOND, Ratio, S

LAGS_TO_SETTLE: Final = 3.0
"""After three lags a first-order loop has gone 95 % of its way."""


class ShutOff(StrEnum):
    """What stays as it was at the moment a section shuts or opens."""

    PRESSURE = "pressure at the tips stays"
    FLOW = "boom flow stays"


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """How a machine follows its controller's order.

    Attributes
    ----------
    lag_s : float
        Time constant of the first-order lag of the flow behind the order [s].
    delay_s : float
        Pure delay before the flow begins to move [s].
    open_s, close_s : float
        Time a section's valve takes to open, and to shut [s].
    shut_off : ShutOff
        Metered three-way valves, or a return that gives way, keep the pressure; plain two-way valves send the flow
        of the section that shuts to those left until the controller has caught up.

    References
    ----------
    first-order-lag, sharda-boom-valves, section-control-settling
    """

    lag_s: S = 0.0
    delay_s: S = 0.0
    open_s: S = 0.0
    close_s: S = 0.0
    shut_off: ShutOff = ShutOff.PRESSURE

    def __post_init__(self) -> None:
        for thing, value in (
            ("lag", self.lag_s),
            ("delay", self.delay_s),
            ("time to open a section", self.open_s),
            ("time to shut a section", self.close_s),
        ):
            if not 0.0 <= value < math.inf:
                remedy = "Give it in seconds, 0 if there is none."
                raise OutOfRange(thing, value, SECOND, low=0.0, remedy=remedy)

    @property
    def at_once(self) -> bool:
        """Whether the flow follows its order without lag or delay."""
        return self.lag_s == 0.0 and self.delay_s == 0.0

    @property
    def settled_after_s(self) -> S:
        """Time after a step until 95 % of it has come through [s]."""
        return self.delay_s + LAGS_TO_SETTLE * self.lag_s


AT_ONCE: Final = Response()
"""A machine without lag, delay or slow valves: the steady state."""


def step_left_ratio(response: Response, after_s: S) -> Ratio:
    """Return how much of a step of the order is still missing from the flow.

    Parameters
    ----------
    response : Response
        The machine.
    after_s : float
        Time since the step [s].

    Returns
    -------
    float
        Missing part over the step [ratio]: 1 until the delay has passed, then falling by e in every lag.

    Raises
    ------
    OutOfRange
        A time before the step.

    Notes
    -----
    First order with pure delay: overshoot, dead band and hunting of a real controller are left out.

    References
    ----------
    first-order-lag

    Example
    -------
    >>> round(step_left_ratio(Response(lag_s=2.0, delay_s=0.5), 2.5), 4)  # one lag after the delay: 1/e
    0.3679
    """
    if not after_s >= 0.0:
        raise OutOfRange("time since the step", after_s, SECOND, low=0.0, remedy="Count from the step on.")
    moving_s = after_s - response.delay_s
    if moving_s < 0.0:
        return 1.0
    return math.exp(-moving_s / response.lag_s) if response.lag_s > 0.0 else 0.0
