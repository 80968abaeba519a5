"""Somebody looked, or did it, and put a name to it: what a gate, a restored setting or a walk-around rests on."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.errors import NotDefined


@dataclass(frozen=True, slots=True)
class Confirmed:
    """A thing looked at or done by a named person.

    Attributes
    ----------
    by : str
        Who, as the shop names people.
    at : str
        When, as written; empty if not written down.
    remark : str
        What was seen.

    Raises
    ------
    NotDefined
        Nobody's name stands there.

    Example
    -------
    >>> Confirmed("J. Field", remark="boom over grass, well away from the drain").by
    'J. Field'
    """

    by: str
    at: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        if not self.by.strip():
            raise NotDefined("confirmation", reason="no name stands beside it", remedy="Enter who looked")


@dataclass(frozen=True, slots=True)
class AsLeft:
    """A setting as the monitor was left with, signed.

    Attributes
    ----------
    setting : str
        Its name on the monitor.
    typed : str
        The number exactly as it stands there.
    signed : Confirmed
        By whom and when.
    """

    setting: str
    typed: str
    signed: Confirmed
