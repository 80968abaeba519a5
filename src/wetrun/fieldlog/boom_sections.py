"""The boom as its sections: where each stands, when it was on, how fast it went, and when its valve was open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.trace import FloatArray, IntArray, Trace
from wetrun.spray.response import Response
from wetrun.units import METRE, RATIO, SECOND

Mask = npt.NDArray[np.bool_]
ShareArray = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class BoomSections:
    """Sections of a boom, left to right; arrays are [sections].

    ``middle_m`` is right of the machine's centre. ``bits`` are the places of each section in `Trace.sections_on` (more
    than one where the log renumbered them), empty where the log does not tell sections apart: then all are on, their
    widths scaled to the active width.
    """

    middle_m: Annotated[FloatArray, METRE]
    width_m: Annotated[FloatArray, METRE]
    bits: tuple[tuple[int, ...], ...] = ()

    @property
    def told_apart(self) -> bool:
        """Whether the log says which section was on."""
        return bool(self.bits)

    def on(self, trace: Trace, rows: slice = slice(None)) -> Mask:
        """Return which sections the log says were on [instants, sections]."""
        switched = trace.sections_on[rows]
        if not self.bits:
            return np.ones((switched.size, self.width_m.size), dtype=bool)
        masks = [sum(1 << bit for bit in bits) for bits in self.bits]
        on: Mask = (switched[:, np.newaxis] & np.array(masks, dtype=np.int64)) != 0
        return on


def boom_sections(trace: Trace, edges_m: Annotated[FloatArray, METRE]) -> BoomSections:
    """Return the sections of the boom a log was driven with.

    Parameters
    ----------
    trace
        The log.
    edges_m
        Edges of the machine's sections, left to right from its centre [sections + 1] [m]: used where the log does not
        tell its own sections apart.

    Notes
    -----
    The log's sections are taken to stand left to right in its own order, the boom's middle over the machine.
    """
    groups = [[s for s in trace.sections if s.group == group] for group in sorted({s.group for s in trace.sections})]
    alike = len({len(group) for group in groups}) == 1
    if not groups or not alike or len(groups[0]) < 2:
        return BoomSections((edges_m[1:] + edges_m[:-1]) / 2, np.diff(edges_m))
    driven = max(groups, key=lambda group: sum(section.rows for section in group))
    width_m = np.array([section.width_m for section in driven])
    right_m = np.cumsum(width_m) - width_m.sum() / 2
    bits = tuple(tuple(group[place].bit for group in groups) for place in range(width_m.size))
    return BoomSections(right_m - width_m / 2, width_m, bits)


def whole_boom(trace: Trace) -> BoomSections:
    """Return the boom as one piece over the machine's centre, as a steady replay sees it."""
    return BoomSections(np.zeros(1), np.array([trace.full_width_m]))


def swing_ratios(trace: Trace, boom: BoomSections, rows: slice) -> Annotated[FloatArray, RATIO]:
    """Return the ground speed of each section over the machine's [instants, sections] [ratio].

    Parameters
    ----------
    trace
        The log.
    boom
        Its sections.
    rows
        Which instants.

    Notes
    -----
    From the sections' own distances where the log tells them, else from the curvature of the machine's track; 1 where
    neither is known. A section inside the centre of a turn goes backwards over ground the boom covers again; its speed
    counts without sign.

    References
    ----------
    turn-geometry
    """
    bend = trace.curvature_radpm[rows]
    bend = np.where(np.isfinite(bend), bend, 0.0)
    ratio: FloatArray = np.abs(1.0 - boom.middle_m * bend[:, np.newaxis])
    if trace.swing_ratio is None or not boom.bits:
        return ratio
    own = np.stack([np.fmax.reduce(trace.swing_ratio[rows][:, list(bits)], axis=1) for bits in boom.bits], axis=1)
    return np.where(np.isfinite(own), own, ratio)


def wet_shares(trace: Trace, boom: BoomSections, response: Response) -> ShareArray | None:
    """Return the share of each interval a section's valve lets liquid through [instants, sections].

    Parameters
    ----------
    trace
        The log.
    boom
        Its sections.
    response
        How long the valves take.

    Returns
    -------
    ndarray or None
        Single precision. On ground the log calls sprayed, the rest of the share got nothing (late start); on ground it
        calls off, the share was sprayed all the same (late stop). None where valves are taken as instant, or the log
        does not tell sections apart.

    Notes
    -----
    A switch stands at the beginning of the first interval that knows it. The boom is taken to have been off before a
    cut. A valve that is told to open again before it was shut is taken to have been shut.
    """
    if not boom.told_apart or (response.open_s == 0.0 and response.close_s == 0.0):
        return None
    on, cut = boom.on(trace), np.isnan(trace.interval_s)
    span_s = np.where(trace.interval_s > 0, trace.interval_s, 1.0)  # a cut has no area to share
    begin_s = np.where(cut, trace.time_s, trace.time_s - np.where(cut, 0.0, trace.interval_s))
    shares = np.empty(on.shape, dtype=np.float32)
    for place in range(on.shape[1]):
        lit = on[:, place]
        turned = cut | np.concatenate([[True], lit[1:] != lit[:-1]])
        since_s = trace.time_s - begin_s[_last(turned)]
        opened = np.clip((since_s - response.open_s) / span_s, 0.0, 1.0)
        shutting = np.clip((response.close_s - since_s + span_s) / span_s, 0.0, 1.0)
        was_on = np.concatenate([[False], lit[:-1]]) & ~cut
        shares[:, place] = np.where(lit, opened, np.where(was_on[_last(turned)], shutting, 0.0))
    return shares


def _last(marked: Mask) -> IntArray:
    """Return the place of the last mark at or before each instant; the first instant is marked."""
    places: IntArray = np.maximum.accumulate(np.where(marked, np.arange(marked.size), 0))
    return places


def stretch_seconds(
    time_s: Annotated[FloatArray, SECOND], interval_s: Annotated[FloatArray, SECOND]
) -> Annotated[FloatArray, SECOND]:
    """Return the time since the last cut [instants] [s].

    Parameters
    ----------
    time_s, interval_s
        Clock, and time since the instant before [instants] [s]; nan at a cut.
    """
    return time_s - time_s[_last(np.isnan(interval_s) | (np.arange(time_s.size) == 0))]
