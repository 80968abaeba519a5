"""When sections open and shut on the ground: delays and the antenna's place, as length sprayed early or late."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.proving.movement import settled_of
from wetrun.proving.uncertainty import Budget, Component, Judged, judged, rectangular
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.units import METRE, METRE_PER_SECOND, SECOND, M, Mps, S


@dataclass(frozen=True, slots=True, kw_only=True)
class Delay:
    """How long a section takes to open or to shut, and what the monitor looks ahead.

    Attributes
    ----------
    timed_s : tuple of float
        From the switch until the pattern is full, or until it has collapsed, one entry per try [s].
    ahead_s : float
        Time the monitor acts early to make up for it, as typed [s].
    reading_half_width_s : float
        How far one timing may be off by hand or by frame [s].
    """

    timed_s: tuple[S, ...]
    ahead_s: S
    reading_half_width_s: S = 0.2

    def __post_init__(self) -> None:
        remedy = "Time it from the switch."
        for timed_s in self.timed_s:
            check_not_negative("delay of a section", timed_s, SECOND, remedy=remedy)
        check_not_negative("look-ahead", self.ahead_s, SECOND, remedy="Enter it as it stands in the monitor.")

    @property
    def mean_s(self) -> S:
        """Mean delay [s]: what the monitor should look ahead."""
        return settled_of(self.timed_s).value

    def late_s(self) -> tuple[S, Budget]:
        """Return how late the section acts, negative if early [s], with its doubt [s]."""
        found = settled_of(self.timed_s)
        parts = [Component("timing by hand", rectangular(self.reading_half_width_s), cause="timing by hand")]
        if found.readings > 1:
            parts.append(Component("tries", found.standard, "A", found.freedom))
        return found.value - self.ahead_s, Budget(tuple(parts))


@dataclass(frozen=True, slots=True)
class Antenna:
    """How far the tips are behind the antenna, negative if ahead of it.

    Attributes
    ----------
    taped_m, typed_m : float
        As taped and as typed into the monitor [m].
    standard_m : float
        Standard uncertainty of the tape and of a receiver's place [m].
    """

    taped_m: M
    typed_m: M
    standard_m: M = 0.05

    @property
    def late_m(self) -> M:
        """Length by which the boom acts beyond the line, negative if before it [m].

        The monitor takes the boom to be where the typed number puts it. Typed too far behind, the boom is ahead of
        where it is believed to be, and acts that much too late.
        """
        return self.typed_m - self.taped_m


@dataclass(frozen=True, slots=True)
class Edge:
    """Where spraying starts or ends at a line.

    Attributes
    ----------
    late_m : float
        Length past the line, negative if before it [m].
    budget : Budget
        Its doubt, in metres.
    expanded_m : float
        The ± that covers 95 % [m].
    judged : Judged or None
        Against the length allowed, if one was given.
    """

    late_m: M
    budget: Budget
    expanded_m: M
    judged: Judged | None


def edge_at(speed_mps: Mps, delay: Delay, antenna: Antenna, *, allowed_m: M | None = None) -> Edge:
    """Return how far past a line a section opens or shuts at a speed.

    Parameters
    ----------
    speed_mps : float
        Ground speed [m/s].
    delay : Delay
        Of opening or of shutting.
    antenna : Antenna
        Its place as taped and as typed.
    allowed_m : float or None
        Length allowed either way [m]; nothing published sets one, so none is judged unless it is given.

    Returns
    -------
    Edge
        Past the line when opening is ground left without spray; when shutting, ground sprayed beyond it.

    Notes
    -----
    Level ground, straight across the line. The receiver's own drift stands only in the antenna's uncertainty.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> slow_valve = Delay(timed_s=(0.8,), ahead_s=0.3)
    >>> round(edge_at(6.0, slow_valve, Antenna(2.0, 1.5)).late_m, 2)  # 6 m/s for half a second, less half a metre
    2.5
    """
    check_positive("speed", speed_mps, METRE_PER_SECOND, remedy="Enter the speed it is driven at.")
    if allowed_m is not None:
        check_not_negative("length allowed", allowed_m, METRE, remedy="Enter it as a length either way.")
    late_s, doubt = delay.late_s()
    late_m = speed_mps * late_s + antenna.late_m
    budget = doubt.scaled(speed_mps).joined(Budget((Component("antenna", antenna.standard_m, cause="antenna"),)))
    answer = None if allowed_m is None else judged(late_m, budget, low=-allowed_m, high=allowed_m)
    return Edge(late_m, budget, budget.expanded(), answer)


def wanted_ahead_s(delay: Delay, antenna: Antenna, speed_mps: Mps) -> S:
    """Return the look-ahead that puts the edge on the line at a speed while the antenna's number stays as typed.

    Parameters
    ----------
    delay : Delay
        Of opening or of shutting.
    antenna : Antenna
        Its place as taped and as typed.
    speed_mps : float
        Ground speed [m/s].

    Returns
    -------
    float
        Time [s]. It fits this speed only unless the antenna's number is right: put that right first.

    Example
    -------
    >>> wanted_ahead_s(Delay(timed_s=(0.8,), ahead_s=0.3), Antenna(2.0, 2.0), 6.0)
    0.8
    """
    check_positive("speed", speed_mps, METRE_PER_SECOND, remedy="Enter the speed it is driven at.")
    return delay.mean_s + antenna.late_m / speed_mps
