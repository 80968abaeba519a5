"""How the flow of a tip follows its pressure: the square-root law, or rows that were measured."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeAlias

from wetrun.spray.bounds import check_positive
from wetrun.spray.flow_rows import FlowRows
from wetrun.spray.square_root import OrificeLaw
from wetrun.units import RATIO, Ratio

FlowLaw: TypeAlias = OrificeLaw | FlowRows


def worn(law: FlowLaw, wear_ratio: Ratio) -> FlowLaw:
    """Return the law of a tip that flows by ``wear_ratio`` of what ``law`` says.

    Parameters
    ----------
    law
        Law of the tip when new.
    wear_ratio
        Measured flow over rated flow at the same pressure [ratio].

    Returns
    -------
    FlowLaw
        The same kind of law, its origin saying so.

    Raises
    ------
    OutOfRange
        A ratio that is not positive.

    Example
    -------
    >>> worn(OrificeLaw(1e-6, "new"), 1.1).origin
    'new, worn to 1.1 of it'
    """
    check_positive("wear", wear_ratio, RATIO, remedy="Divide the measured flow by the rated flow at that pressure.")
    origin = f"{law.origin}, worn to {wear_ratio:g} of it"
    if isinstance(law, OrificeLaw):
        return OrificeLaw(law.coef_m3spa05 * wear_ratio, origin)
    return replace(law, flows_m3s=tuple(flow * wear_ratio for flow in law.flows_m3s), origin=origin)
