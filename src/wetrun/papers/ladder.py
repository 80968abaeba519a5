"""The ladder of speeds: what the monitor and the tips show at a few speeds of a pass."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from wetrun.papers.reader import Reader, percent
from wetrun.planning.season import PassPlan
from wetrun.planning.window import SpeedPoint, SpeedWindow, Trial, point_at
from wetrun.quantity import Kind, System
from wetrun.spray.droplets import DropletFinding
from wetrun.units import Mps

MOST_RUNGS: Final = 7
STEPS: Final[Mapping[System, tuple[float, ...]]] = {
    System.US: (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 10.0),
    System.SI: (1.0, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 20.0),
}
SLOW_FAST: Final = (0.05, 0.5, 0.95)

Row = dict[str, str]


def driven_speeds(plan: PassPlan) -> tuple[tuple[str, Mps], ...]:
    """Return slow, usual and fast of a pass [m/s]: as stated, or where 5, 50 and 95 of 100 acres were driven."""
    stated = plan.planned.speeds
    if not plan.evidence.names and stated is not None:
        return (("slow", stated.slow_mps), ("usual", stated.usual_mps), ("fast", stated.fast_mps))
    found = plan.evidence.speed.percentiles(SLOW_FAST)[0].tolist()
    return tuple(zip(("slow", "usual", "fast"), found, strict=True))


def driven_rows(plan: PassPlan, trial: Trial, window: SpeedWindow, reader: Reader) -> list[Row]:
    """Return what to expect at slow, usual and fast.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    trial : Trial
        Its set.
    window : SpeedWindow
        The speeds it holds.
    reader : Reader
        Whose units.

    Returns
    -------
    list of rows
        Texts by column.
    """
    rows = []
    for name, speed_mps in driven_speeds(plan):
        rows.append({"name": name, **_row(trial, window, speed_mps, reader)})
    return rows


def window_rows(plan: PassPlan, trial: Trial, window: SpeedWindow, reader: Reader) -> list[Row]:
    """Return what to expect at round speeds through the window and just beside it, for the cab.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    trial : Trial
        Its set.
    window : SpeedWindow
        The speeds it holds.
    reader : Reader
        Whose units.

    Returns
    -------
    list of rows
        At most `MOST_RUNGS` of them.
    """
    low, high = reader.number(window.low_mps, Kind.SPEED), reader.number(window.high_mps, Kind.SPEED)
    fastest = reader.number(driven_speeds(plan)[-1][1], Kind.SPEED)
    speeds = round_speeds(low, min(high, 1.5 * fastest), STEPS[reader.system])
    return [{"name": "", **_row(trial, window, reader.inside(speed, Kind.SPEED), reader)} for speed in speeds]


def round_speeds(low: float, high: float, steps: tuple[float, ...]) -> list[float]:
    """Return round numbers from just below a range to just above it, at most `MOST_RUNGS`.

    Example
    -------
    >>> round_speeds(8.4, 15.1, (0.5, 1.0, 2.0))
    [8.0, 10.0, 12.0, 14.0, 16.0]
    """
    for step in steps:
        first, last = math.floor(low / step), math.ceil(high / step)
        if last - first < MOST_RUNGS:
            return [step * number for number in range(max(first, 1), last + 1)]
    return [low, high]


def drop_words(found: DropletFinding | None, *, streams: bool) -> str:
    """Return a droplet class for a table: letters, and how likely where a model says so.

    Parameters
    ----------
    found : DropletFinding or None
        What is known at the pressure.
    streams : bool
        Whether the tip is a streamer, which has no class.

    Returns
    -------
    str
        Such as "C (84 %)" or "C–VC (91 %)".
    """
    if found is None:
        return "no class" if streams else "out of range"
    letters = "–".join(dict.fromkeys((found.finest.letters, found.coarsest.letters)))
    if found.dv50_m is None:
        return letters
    within = sum(frac for one, frac in found.probabilities if found.finest <= one <= found.coarsest)
    return f"{letters} ({percent(within)})"


def _row(trial: Trial, window: SpeedWindow, speed_mps: Mps, reader: Reader) -> Row:
    point = point_at(trial, speed_mps=speed_mps, rate_m3pm2=window.rate_m3pm2)
    width_m = trial.tip_set.spacing_m * trial.tip_set.equivalent_tips
    return {
        "speed": reader.digits(speed_mps, Kind.SPEED),
        "cab": reader.digits(point.cab_pa, Kind.PRESSURE),
        "tip": reader.digits(point.tip_pa, Kind.PRESSURE),
        "duty": "" if point.duty_frac is None else percent(point.duty_frac),
        "drops": drop_words(point.droplets, streams=trial.tip_set.tip.pattern is None),
        "flow": reader.digits(point.boom_flow_m3s, Kind.BOOM_FLOW),
        "rate": reader.digits(point.boom_flow_m3s / (speed_mps * width_m), Kind.RATE),
        "state": state_at(window, point),
    }


def state_at(window: SpeedWindow, point: SpeedPoint) -> str:
    """Return whether a speed is held, nearly held, too slow or too fast."""
    speed_mps = point.speed_mps
    if window.low_mps <= speed_mps <= window.high_mps:
        return "held"
    if not window.empty and window.near_low_mps <= speed_mps <= window.near_high_mps:
        return "near"
    return "too slow" if window.empty or speed_mps < window.low_mps else "too fast"
