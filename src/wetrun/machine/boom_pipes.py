"""The boom's plumbing as it is found with a tape and the size printed on the hose, whatever tips are fitted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from wetrun.machine.boom import Boom
from wetrun.spray.flow_law import FlowLaw
from wetrun.spray.friction import Pipe
from wetrun.spray.line_liquid import WATER_IN_LINE
from wetrun.spray.pipe_tree import stretch_losses_pa
from wetrun.spray.plumbing import Feed, Hose, PlumbedBoom, SectionLine, pipe_tree
from wetrun.spray.square_root import OrificeLaw
from wetrun.units import M, M3s, Pa, Paps2m6


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionPipes:
    """How one section is plumbed.

    Attributes
    ----------
    line : Pipe
        Bore and roughness of the line its bodies sit on.
    feed : Feed
        Where the hose meets the line.
    at_m : float or None
        The same by tape, from the section's first tip [m]; None where `feed` says it.
    hose : Hose or None
        From where the sections part to the line; None if it costs nothing worth counting.
    inlet_paps2m6 : float
        Loss of section valve and strainer per section flow squared, on water [Pa s2/m6].
    """

    line: Pipe
    feed: Feed = Feed.MIDDLE
    at_m: M | None = None
    hose: Hose | None = None
    inlet_paps2m6: Paps2m6 = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BoomPipes:
    """How the whole boom is plumbed, from the cab's pressure sensor on.

    Attributes
    ----------
    sections : tuple of SectionPipes
        Left to right.
    main : Hose or None
        From the sensor to where the sections part.
    main_paps2m6 : float
        Loss of the boom valve and whatever else stands there, per boom flow squared, on water [Pa s2/m6].
    body_paps2m6 : float
        Loss of one nozzle body per tip flow squared, on water [Pa s2/m6].
    passing_m3s : float
        Flow that passes sensor and main hose and returns to the tank [m3/s].
    """

    sections: tuple[SectionPipes, ...]
    main: Hose | None = None
    main_paps2m6: Paps2m6 = 0.0
    body_paps2m6: Paps2m6 = 0.0
    passing_m3s: M3s = 0.0


def plumbed_boom(pipes: BoomPipes, boom: Boom, law: FlowLaw, odd_laws: Mapping[int, FlowLaw]) -> PlumbedBoom:
    """Return the plumbing with tips on it.

    Parameters
    ----------
    pipes : BoomPipes
        One entry for every section of the boom.
    boom : Boom
        Tips per section and spacing.
    law : FlowLaw
        The set's tip.
    odd_laws : mapping of int to FlowLaw
        Positions, 1 at the left end, that carry another tip.

    Returns
    -------
    PlumbedBoom
        Ready to be solved.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic
    """
    ends = np.cumsum((0, *boom.section_tips)).tolist()
    sections = (
        SectionLine(
            laws=tuple(odd_laws.get(position, law) for position in range(start + 1, stop + 1)),
            spacing_m=boom.spacing_m,
            pipe=each.line,
            feed=each.feed,
            at_m=each.at_m,
            hose=each.hose,
            inlet_paps2m6=each.inlet_paps2m6,
        )
        for each, start, stop in zip(pipes.sections, ends[:-1], ends[1:], strict=True)
    )
    return PlumbedBoom(
        sections=tuple(sections),
        main_hose=pipes.main,
        main_paps2m6=pipes.main_paps2m6,
        body_paps2m6=pipes.body_paps2m6,
        passing_m3s=pipes.passing_m3s,
    )


def mean_drop_pa(pipes: BoomPipes, boom: Boom, boom_flow_m3s: M3s) -> Pa:
    """Return the mean loss from sensor to tips if all tips took the same, on water: what two gauges should show.

    Parameters
    ----------
    pipes : BoomPipes
        One entry for every section of the boom.
    boom : Boom
        Tips per section and spacing.
    boom_flow_m3s : float
        Flow of all tips [m3/s].

    Returns
    -------
    float
        Pressure lost [Pa].

    References
    ----------
    darcy-weisbach, minor-loss-quadratic

    Example
    -------
    >>> pipes = BoomPipes(sections=(SectionPipes(line=Pipe(0.2)),), main_paps2m6=1e9)
    >>> round(mean_drop_pa(pipes, Boom(spacing_m=0.5, section_tips=(10,)), 2e-3))
    4000
    """
    # Every tip takes its share whatever its law, so any law will do.
    tree = pipe_tree(plumbed_boom(pipes, boom, OrificeLaw(1e-7, "any tip"), {}))
    flows = np.full(boom.tips, boom_flow_m3s / boom.tips)
    along = tree.reach.T @ stretch_losses_pa(tree, flows, WATER_IN_LINE)
    return float(np.mean(along)) + pipes.body_paps2m6 * float(flows[0]) ** 2
