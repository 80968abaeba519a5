"""Makes the speed lanes of a pass from its records: windows, limits, droplet classes, and the field's own tally."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.papers.lane_data import Bar, Lane, Mark, Picture, Zone, ZoneKind
from wetrun.papers.reader import Reader
from wetrun.papers.segments import Segment, drop_segments, undecided_speeds
from wetrun.papers.words import short_words
from wetrun.planning.evidence import EvidenceKind
from wetrun.planning.season_result import PassPlan
from wetrun.planning.window import SpeedWindow, Trial, speed_window
from wetrun.quantity import Kind, System
from wetrun.spray.limits import Limit
from wetrun.units import Mps

STEP: Final = {System.US: 2.0, System.SI: 5.0}
CELL: Final = {System.US: 0.5, System.SI: 1.0}
ALMOST_ALL: Final = 0.999
ROOM: Final = 1.1
"""The axis reaches this far beyond the fastest speed that has to be seen."""


def lane_picture(plan: PassPlan, trials: Sequence[Trial], reader: Reader) -> Picture:
    """Return what the picture of a pass shows.

    Parameters
    ----------
    plan : PassPlan
        The pass and its set.
    trials : sequence of Trial
        Sets to draw, the plan's own among them or not.
    reader : Reader
        Whose units.

    Returns
    -------
    Picture
        Plain numbers and words.
    """
    windows = [speed_window(trial, plan.rate_m3pm2) for trial in trials]
    top = _top(plan, windows, reader)
    axis = _Axis(reader, top)
    lanes = tuple(_lane(plan, trial, window, axis) for trial, window in zip(trials, windows, strict=True))
    return Picture(
        ident=plan.planned.ident,
        title=f"{plan.planned.ident}: speeds held at {reader.rate(plan.rate_m3pm2)}, and speeds of the field",
        unit=reader.unit(Kind.SPEED),
        top=top,
        step=STEP[reader.system],
        lanes=lanes,
        bars=tally_bars(plan, reader, top),
        tally_words=tally_words(plan),
    )


def tally_bars(plan: PassPlan, reader: Reader, top: float) -> tuple[Bar, ...]:
    """Return the field's own speed tally in cells of half a mile per hour or one kilometre per hour.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    reader : Reader
        Whose units.
    top : float
        End of the axis in the reader's unit.

    Returns
    -------
    tuple of Bar
        Cells that hold anything.
    """
    tally, cell = plan.evidence.speed, CELL[reader.system]
    edges = np.arange(0.0, top + cell, cell)
    inside = np.array([reader.inside(float(edge), Kind.SPEED) for edge in edges])
    shares = tally.areas_between(inside) / max(tally.total_cm2, 1)
    cells = zip(edges[:-1].tolist(), edges[1:].tolist(), shares.tolist(), strict=True)
    return tuple(Bar(start, end, share) for start, end, share in cells if share > 0.0)


def tally_words(plan: PassPlan) -> str:
    """Return where the speeds of a pass come from."""
    if plan.evidence.kind is EvidenceKind.LOG:
        names = plan.evidence.names
        return f"from {'the log' if len(names) == 1 else f'{len(names)} logs'} {', '.join(names)}"
    return "as stated (slow, usual, fast), not measured"


def _top(plan: PassPlan, windows: Sequence[SpeedWindow], reader: Reader) -> float:
    driven = float(plan.evidence.speed.percentiles([ALMOST_ALL])[1][0])
    # A window far beyond what anybody drives would squeeze the tally into a corner.
    wanted = [min(w.near_high_mps, 1.5 * driven) for w in windows if not w.empty]
    step = STEP[reader.system]
    return step * math.ceil(ROOM * reader.number(max([driven, *wanted]), Kind.SPEED) / step)


@dataclass(frozen=True, slots=True)
class _Axis:
    reader: Reader
    top: float

    def at(self, speed_mps: Mps) -> float:
        """Speed [m/s] as shown, no further than the end of the axis."""
        return min(self.reader.number(speed_mps, Kind.SPEED), self.top)

    @property
    def top_mps(self) -> Mps:
        return self.reader.inside(self.top, Kind.SPEED)


def _lane(plan: PassPlan, trial: Trial, window: SpeedWindow, axis: _Axis) -> Lane:
    chosen = plan.trial is not None and trial.tip_set.key == plan.trial.tip_set.key
    return Lane(
        name=trial.tip_set.tip.words,
        size=trial.tip_set.tip.size,
        segments=_segments(trial, window, axis),
        zones=_zones(trial, window, axis),
        marks=_marks(trial, window, axis),
        captions=_captions(window, axis.reader),
        chosen=chosen,
    )


def _segments(trial: Trial, window: SpeedWindow, axis: _Axis) -> tuple[Segment, ...]:
    if window.empty:
        return ()
    high_mps = min(window.high_mps, axis.top_mps)
    found = drop_segments(trial, window.rate_m3pm2, low_mps=window.low_mps, high_mps=high_mps)
    return tuple(part.shown(axis.at) for part in found)


def _zones(trial: Trial, window: SpeedWindow, axis: _Axis) -> tuple[Zone, ...]:
    if window.empty:
        return (Zone(ZoneKind.UNUSABLE, 0.0, axis.top, _closed_by(window.low_by, window.high_by)),)
    low, high = axis.at(window.low_mps), axis.at(window.high_mps)
    near_low, near_high = axis.at(window.near_low_mps), axis.at(window.near_high_mps)
    zones = [
        Zone(ZoneKind.SLOW, 0.0, near_low, _short(window.low_by)),
        Zone(ZoneKind.NEAR, near_low, low, ""),
        Zone(ZoneKind.NEAR, high, near_high, ""),
        Zone(ZoneKind.FAST, near_high, axis.top, _short(window.high_by)),
    ]
    words = "droplet class may or may not be allowed"
    unsure = undecided_speeds(trial, window, top_mps=axis.top_mps)
    zones += [Zone(ZoneKind.UNDECIDED, axis.at(start), axis.at(end), words) for start, end in unsure]
    return tuple(zone for zone in zones if zone.end - zone.start > 1e-6)


def _marks(trial: Trial, window: SpeedWindow, axis: _Axis) -> tuple[Mark, ...]:
    marks, reader = [], axis.reader
    if window.floor_by is not None and 0.0 < window.floor_mps < math.inf:
        words = f"below this the controller stays at its floor ({short_words(window.floor_by)})"
        short = f"H {short_words(window.floor_by)} below {reader.at_least(window.floor_mps)}"
        marks.append(Mark("H", reader.number(window.floor_mps, Kind.SPEED), words, short))
    if window.over_label_mps:
        words = f"below this more {trial.limits.label_owner} goes on than its label's maximum"
        short = f"L over the label's maximum below {reader.at_least(window.over_label_mps)}"
        marks.append(Mark("L", reader.number(window.over_label_mps, Kind.SPEED), words, short))
    return tuple(mark for mark in marks if mark.at <= axis.top)


def _captions(window: SpeedWindow, reader: Reader) -> tuple[str, ...]:
    if window.empty:
        return (f"Held at no speed: {_closed_by(window.low_by, window.high_by)}",)
    low, high = reader.inward(window.low_mps, window.high_mps)
    unit = reader.unit(Kind.SPEED)
    slow = f"Too slow below {low} {unit}: {_short(window.low_by)}"
    if math.isinf(window.high_mps):
        return (slow, "No upper limit found")
    return (slow, f"Too fast above {high} {unit}: {_short(window.high_by)}")


def _closed_by(low_by: Limit | None, high_by: Limit | None) -> str:
    return " against ".join(dict.fromkeys(short_words(limit) for limit in (low_by, high_by) if limit is not None))


def _short(limit: Limit | None) -> str:
    return "" if limit is None else short_words(limit)
