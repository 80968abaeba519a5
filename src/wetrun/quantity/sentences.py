"""Makes the sentence a reader sees from the data an error holds, in the reader's units."""

from __future__ import annotations

from wetrun.errors import OutOfRange, WetrunError, ended
from wetrun.quantity.kinds import System, kind_of_unit
from wetrun.quantity.showing import show
from wetrun.units import Unit


def sentence(error: WetrunError, system: System) -> str:
    """Return what to tell the reader about an error.

    Parameters
    ----------
    error : WetrunError
        What went wrong.
    system : System
        The reader's unit system.

    Returns
    -------
    str
        Thing, value, limit, unit and remedy. One line per problem of a document.

    Example
    -------
    >>> from wetrun.units import PASCAL
    >>> sentence(OutOfRange("tip pressure", 5e5, PASCAL, high=4e5, remedy="Take a larger tip."), System.SI)
    'Tip pressure is 5.00 bar: it must be at most 4.00 bar. Take a larger tip.'
    """
    if not isinstance(error, OutOfRange):
        return str(error)
    value, low, high = (_shown(number, error.unit, system) for number in (error.value, error.low, error.high))
    bounds = {
        (True, True): f"from {low} to {high}",
        (True, False): f"at least {low}",
        (False, True): f"at most {high}",
        (False, False): "a finite number",
    }[(error.low is not None, error.high is not None)]
    thing = error.thing[:1].upper() + error.thing[1:]
    return f"{thing} is {value}: it must be {bounds}. {ended(error.remedy)}"


def _shown(number: float | None, unit: Unit, system: System) -> str:
    if number is None:
        return ""
    kind = kind_of_unit(unit)
    return f"{number:g} {unit.symbol}" if kind is None else show(number, kind, system)
