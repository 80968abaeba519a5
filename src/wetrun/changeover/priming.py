"""Priming: how much goes out, how long it takes and how far it reaches until the right mix is at the last tip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.circuits import CircuitKind, Exit, Layout, Line, Start, open_lines
from wetrun.machine.flushing import flush_settings
from wetrun.units import M3, METRE_PER_SECOND, RATIO, M, M3s, Mps, S


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionPriming:
    """Priming of one section.

    Attributes
    ----------
    section : str
        Its name.
    volume_m3 : float
        Out of the whole boom until the mix is at its last tip; 0 on a boom that circulates first [m3].
    seconds_s : float
        Time from opening the boom valve [s].
    distance_m : float
        Ground passed meanwhile while spraying [m].
    """

    section: str
    volume_m3: M3
    seconds_s: S
    distance_m: M


@dataclass(frozen=True, slots=True, kw_only=True)
class Priming:
    """Priming of the whole boom.

    Attributes
    ----------
    sections : tuple of SectionPriming
        Left to right.
    circulates : bool
        Whether the boom returns to the tank, so that it is primed without spraying.
    circulated_m3 : float
        Liquid a circulating boom sends round meanwhile [m3].
    """

    sections: tuple[SectionPriming, ...]
    circulates: bool
    circulated_m3: M3 = 0.0

    @property
    def last(self) -> SectionPriming:
        """The section that has the mix last."""
        return max(self.sections, key=lambda section: section.seconds_s)


def priming(
    layout: Layout, tips: Sequence[int], *, out_m3s: M3s, speed_mps: Mps, fed_in_middle: bool = False
) -> Priming:
    """Return what it takes to bring the mix from the pump to the last tip of every section.

    Parameters
    ----------
    layout : Layout
        The plumbing.
    tips : sequence of int
        Tips of each section, left to right.
    out_m3s : float
        Boom flow while spraying [m3/s].
    speed_mps : float
        Ground speed meanwhile [m/s].
    fed_in_middle : bool
        Whether sections are fed in their middle instead of at an end.

    Returns
    -------
    Priming
        By section.

    Raises
    ------
    OutOfRange
        A flow, speed or number of tips that is not positive.
    NotDefined
        No line sprays, or tips given for another number of sections.

    Notes
    -----
    The front is taken as sharp, and lines between pump and boom as full of other liquid. In a section of N tips fed at
    one end, flow falls tip by tip, so the front reaches the last one after V/q (1 + 1/2 + … + 1/N): several times what
    the pipe holds, while the first tip has it at once. Mixing at the front makes the last tenth take longer. The boom's
    end beyond the last tip gives off old liquid for longer still, slowly.

    References
    ----------
    section-front

    Example
    -------
    A section of 4 L with 4 tips, 0.1 L/s, nothing before it: 40 s times 25/12.

    >>> from wetrun.machine.circuits import Circuit, Valve
    >>> tank = Circuit(name="tank", kind=CircuitKind.TANK, volume_m3=1.0, residue_m3=0.01)
    >>> pipe = Circuit(name="section 1", kind=CircuitKind.SECTION, volume_m3=0.004, residue_m3=0.004)
    >>> spray = Line(name="spray", through=("section 1",), needs=(("boom", "on"),), exit=Exit.TIPS)
    >>> layout = Layout(
    ...     name="drum", circuits=(tank, pipe), lines=(spray,), valves=(Valve("boom", ("off", "on")),), pump_m3s=0.001
    ... )
    >>> round(priming(layout, [4], out_m3s=0.0001, speed_mps=2.0).last.seconds_s, 2)
    83.33
    """
    _check_positive(out_m3s, speed_mps, tips)
    spraying = _spraying(layout)
    if len(tips) != len(spraying):
        raise NotDefined(
            f"tips of {len(tips)} sections",
            reason=f"{len(spraying)} sections spray",
            remedy="Give tips of each section.",
        )
    round_lines = [line for line in layout.lines if line.exit is Exit.TANK and _passes_section(layout, line)]
    if round_lines:
        return _circulating(layout, spraying, round_lines)
    total = sum(line.share_ratio for line in spraying)
    feed_m3 = max(_before_section_m3(layout, line) for line in spraying)
    sections = []
    for line, n in zip(spraying, tips, strict=True):
        flow_m3s = out_m3s * line.share_ratio / total
        fronts = 2 if fed_in_middle and n > 1 else 1
        along_s = layout.circuit(line.through[-1]).volume_m3 / flow_m3s * harmonic(-(-n // fronts))
        seconds_s = feed_m3 / out_m3s + along_s
        sections.append(
            SectionPriming(
                section=line.through[-1],
                volume_m3=seconds_s * out_m3s,
                seconds_s=seconds_s,
                distance_m=seconds_s * speed_mps,
            )
        )
    return Priming(sections=tuple(sections), circulates=False)


def harmonic(n: int) -> float:
    """Return 1 + 1/2 + … + 1/n.

    Parameters
    ----------
    n : int
        Number of terms.

    Returns
    -------
    float
        The sum.

    Example
    -------
    >>> round(harmonic(4), 4)
    2.0833
    """
    return sum(1.0 / k for k in range(1, n + 1))


def _check_positive(out_m3s: M3s, speed_mps: Mps, tips: Sequence[int]) -> None:
    if not speed_mps > 0.0:
        raise OutOfRange("ground speed", speed_mps, METRE_PER_SECOND, low=0.0, remedy="Enter the speed in the field.")
    if not out_m3s > 0.0:
        raise NotDefined("priming", reason="nothing flows out of the boom", remedy="Enter the boom flow in the field.")
    if any(n < 1 for n in tips):
        raise OutOfRange("tips of a section", min(tips), RATIO, low=1.0, remedy="Enter the tips of each section.")


def _spraying(layout: Layout) -> list[Line]:
    for entry in flush_settings(layout):
        lines = open_lines(layout, entry.setting)
        found = [line for line in lines if line.exit is Exit.TIPS and line.start is Start.TANK]
        if found:
            order = [section.name for section in layout.sections]
            return sorted(found, key=lambda line: order.index(line.through[-1]))
    raise NotDefined(f"priming of {layout.name}", reason="no line ends at tips", remedy="Enter its sections.")


def _passes_section(layout: Layout, line: Line) -> bool:
    return any(layout.circuit(name).kind is CircuitKind.SECTION for name in line.through)


def _before_section_m3(layout: Layout, line: Line) -> M3:
    """Liquid between the pump and the section: up to the pump, agitation has brought the mix already."""
    kinds = [layout.circuit(name).kind for name in line.through]
    first = kinds.index(CircuitKind.PUMP) + 1 if CircuitKind.PUMP in kinds else 0
    return sum(layout.circuit(name).volume_m3 for name in line.through[first:-1])


def _circulating(layout: Layout, spraying: Sequence[Line], round_lines: Sequence[Line]) -> Priming:
    """The boom is filled by circulating, at the pump's flow shared by the sections, before a tip opens."""
    total = sum(line.share_ratio for line in round_lines)
    by_section = {
        name: line for line in round_lines for name in line.through if layout.circuit(name).kind is CircuitKind.SECTION
    }
    sections = []
    for line in spraying:
        name = line.through[-1]
        flow_m3s = layout.pump_m3s * by_section[name].share_ratio / total if name in by_section else layout.pump_m3s
        seconds_s = _before_section_m3(layout, line) / layout.pump_m3s + layout.circuit(name).volume_m3 / flow_m3s
        sections.append(SectionPriming(section=name, volume_m3=0.0, seconds_s=seconds_s, distance_m=0.0))
    longest_s = max(section.seconds_s for section in sections)
    return Priming(sections=tuple(sections), circulates=True, circulated_m3=longest_s * layout.pump_m3s)
