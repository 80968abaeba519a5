"""The ladder of speeds: what the monitor and the tips show at a few speeds of a pass."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from wetrun.papers.reader import HAIR, Reader, percent
from wetrun.planning.season_result import PassPlan
from wetrun.planning.speed_point import SpeedPoint, point_at
from wetrun.planning.window import SpeedWindow, Trial
from wetrun.quantity import Kind, System
from wetrun.spray.droplets import probability_within
from wetrun.spray.pulse import gap_per_cycle_m
from wetrun.units import Mps

MOST_RUNGS: Final = 7
STEPS: Final[Mapping[System, tuple[float, ...]]] = {
    System.US: (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 10.0),
    System.SI: (1.0, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 20.0),
}

Row = dict[str, str]


def named_speeds(plan: PassPlan) -> tuple[tuple[str, Mps], ...]:
    """Return slow, usual and fast of a pass, as stated or as the log has them, and its kinds of ground [m/s]."""
    found, stated = plan.evidence, plan.planned.speeds
    grounds = () if stated is None else stated.grounds
    ends = (("slow", found.slow_mps), ("usual", found.usual_mps), ("fast", found.fast_mps))
    return (*ends, *((one.name, one.speed_mps) for one in grounds))


def named_rows(plan: PassPlan, trial: Trial, window: SpeedWindow, reader: Reader) -> list[Row]:
    """Return what to expect at slow, usual and fast, and on each kind of ground with a speed of its own.

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
    return [{"name": name, **_row(trial, window, speed_mps, reader)} for name, speed_mps in named_speeds(plan)]


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
    fastest = reader.number(max(speed_mps for _, speed_mps in named_speeds(plan)), Kind.SPEED)
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


def drop_words(trial: Trial, point: SpeedPoint) -> str:
    """Return the droplet class at one speed for a table: letters, and how likely where a model says so.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    point : SpeedPoint
        What it does at the speed.

    Returns
    -------
    str
        Such as "C–VC (91 %)": the probability of a class that is allowed, or of those printed if none is asked for.
    """
    found, pattern = point.droplets, trial.tip_set.tip.pattern
    if found is None or pattern is None:
        return "no class" if pattern is None else "out of range"
    letters = "–".join(dict.fromkeys((found.finest.letters, found.coarsest.letters)))
    if found.dv50_m is None:
        return letters
    printed = frozenset(one for one, _ in found.probabilities if found.finest <= one <= found.coarsest)
    asked = printed if trial.limits.classes is None else trial.limits.classes
    return f"{letters} ({percent(probability_within(pattern, point.tip_pa, asked))})"


def _row(trial: Trial, window: SpeedWindow, speed_mps: Mps, reader: Reader) -> Row:
    # Everything in a row is worked out at the speed as it is printed, so that the row agrees with itself.
    printed = reader.digits(speed_mps, Kind.SPEED)
    point = point_at(trial, speed_mps=reader.inside(float(printed), Kind.SPEED), rate_m3pm2=window.rate_m3pm2)
    width_m = trial.tip_set.spacing_m * trial.tip_set.equivalent_tips
    return {
        "speed": printed,
        "cab": reader.digits(point.cab_pa, Kind.PRESSURE),
        "tip": reader.digits(point.tip_pa, Kind.PRESSURE),
        "duty": "" if point.duty_frac is None else percent(point.duty_frac),
        "gap": _gap(trial, point, reader),
        "drops": drop_words(trial, point),
        "flow": reader.digits(point.boom_flow_m3s, Kind.BOOM_FLOW),
        "rate": reader.digits(point.boom_flow_m3s / (point.speed_mps * width_m), Kind.RATE),
        "state": state_at(window, point.speed_mps),
    }


def _gap(trial: Trial, point: SpeedPoint, reader: Reader) -> str:
    """Ground a tip passes shut in one pulse; empty without pulses."""
    pulse = trial.setup.pulse
    if pulse is None or point.duty_frac is None:
        return ""
    gap_m = gap_per_cycle_m(point.speed_mps, pulse.frequency_hz, min(point.duty_frac, 1.0))
    return f"{reader.number(gap_m, Kind.SPACING):.0f}"


def state_at(window: SpeedWindow, speed_mps: Mps) -> str:
    """Return whether a speed is held, nearly held, too slow or too fast.

    Parameters
    ----------
    window : SpeedWindow
        The speeds that are held.
    speed_mps : float
        Ground speed [m/s].

    Returns
    -------
    str
        One or two words.
    """
    low_mps, near_low_mps = window.low_mps * (1.0 - HAIR), window.near_low_mps * (1.0 - HAIR)
    high_mps, near_high_mps = window.high_mps * (1.0 + HAIR), window.near_high_mps * (1.0 + HAIR)
    if low_mps <= speed_mps <= high_mps:
        return "held"
    if not window.empty and near_low_mps <= speed_mps <= near_high_mps:
        return "near"
    return "too slow" if window.empty or speed_mps < low_mps else "too fast"
