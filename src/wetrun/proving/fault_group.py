"""Faults that a set of readings cannot tell apart, and which of them can be meant."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.proving.faults import Fault


@dataclass(frozen=True, slots=True)
class Group:
    """Faults that these readings cannot tell apart.

    Attributes
    ----------
    faults : tuple of Fault
        One, or several that are tied.
    lengths : tuple of float
        Standard deviations of imprint per unit of each fault's size; negative if it runs against the group's direction.
    """

    faults: tuple[Fault, ...]
    lengths: tuple[float, ...]

    def possible(self, way: float) -> tuple[tuple[Fault, float], ...]:
        """Return the faults, each with its length, that can move the readings a way along the group's direction.

        Parameters
        ----------
        way : float
            Positive along it, negative against it.

        Returns
        -------
        tuple
            Of fault and length.
        """
        pairs = zip(self.faults, self.lengths, strict=True)
        return tuple((fault, length) for fault, length in pairs if fault.sign * way * length >= 0.0)
