"""What a log holds, for a person to look at before trusting it: counts, speeds from every source, rates, repairs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.errors import NotDefined
from wetrun.fieldlog.cleaning import LONGEST_STEP_S
from wetrun.fieldlog.trace import FloatArray, LogFacts, SectionFacts, Trace, usable
from wetrun.percent import per_cent
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, M2, METRE_PER_SECOND, M, Ratio, S

PERCENTILES: Final = (1, 5, 25, 50, 75, 95, 99)
WINDOW_S: Final[S] = 1.0
# A finding worth a calibration: two sources of speed that differ by more than a tenth at the middle.
DISAGREEMENT: Final[Ratio] = 0.1
STEP_BY_STEP: Final = "positions, step by step"


@dataclass(frozen=True, slots=True)
class SpeedPercentiles:
    """Speeds of one source by count of instants, at the `PERCENTILES` [m/s]; ``instants`` is how many it had."""

    source: str
    words: str
    instants: int
    percentiles_mps: Annotated[FloatArray, METRE_PER_SECOND]


@dataclass(frozen=True, slots=True)
class RatePercentiles:
    """A rate column by count of instants, at the `PERCENTILES` [m3/m2]."""

    meaning: str
    instants: int
    percentiles_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]


@dataclass(frozen=True, slots=True)
class LogInspection:
    """The answer to "what is in this log?". ``disagreement`` compares the speed sources, None where they agree."""

    facts: LogFacts
    sections: tuple[SectionFacts, ...]
    full_width_m: M
    span_s: S
    area_m2: M2
    speeds: tuple[SpeedPercentiles, ...]
    rates: tuple[RatePercentiles, ...]
    disagreement: str | None


def inspection(trace: Trace) -> LogInspection:
    """Return the inspection of a trace, its speeds over all instants with a speed."""
    speeds = speed_percentiles(trace)
    rates = (("target_rate", trace.target_m3pm2), ("applied_rate", trace.applied_m3pm2))
    return LogInspection(
        facts=trace.facts,
        sections=trace.sections,
        full_width_m=trace.full_width_m,
        span_s=float(np.ptp(trace.time_s)),
        area_m2=float(trace.area_m2[usable(trace)].sum()),
        speeds=speeds,
        rates=tuple(
            RatePercentiles(meaning, int(np.isfinite(rate).sum()), _percentiles(rate))
            for meaning, rate in rates
            if np.isfinite(rate).any()
        ),
        disagreement=_disagreement(speeds),
    )


def speed_percentiles(trace: Trace, *, section: str | None = None) -> tuple[SpeedPercentiles, ...]:
    """Return the speeds of every source side by side: distance over time, positions over 1 s or more, shown speed.

    Parameters
    ----------
    trace
        The log.
    section
        Only instants at which this section has a row, intervals counted between those; None for all instants.

    Raises
    ------
    NotDefined
        When the log has no such section.
    """
    on = np.ones(trace.time_s.size, dtype=bool) if section is None else _instants_of(trace, section)
    sources = [
        (*_way_of(trace), _distance_speeds(trace, on, section)),
        ("positions", f"way between positions over windows of at least {WINDOW_S:g} s", _window_speeds(trace, on)),
        ("shown", "speed column of the log", trace.shown_speed_mps[on]),
    ]
    return tuple(
        SpeedPercentiles(source, words, int(np.isfinite(values).sum()), _percentiles(values))
        for source, words, values in sources
        if np.isfinite(values).any()
    )


def _way_of(trace: Trace) -> tuple[str, str]:
    """Return what the distances of a trace are from: where the log tells neither way nor speed, from its positions."""
    if any(use.meaning in ("distance", "speed") for use in trace.facts.columns):
        return "distance / time", "distance over the time since the instant before"
    return STEP_BY_STEP, "way from one position to the next over the time between"


def _instants_of(trace: Trace, name: str) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    bits = [facts.bit for facts in trace.sections if facts.name == name]
    if not bits:
        known = ", ".join(facts.name for facts in trace.sections) or "none"
        reason = "the log has no such section"
        raise NotDefined(f"section {name} of {trace.facts.file}", reason=reason, remedy=f"It has: {known}.")
    on: np.ndarray[tuple[int], np.dtype[np.bool_]] = (trace.sections_on >> bits[0]) & 1 == 1
    return on


def _distance_speeds(trace: Trace, on: np.ndarray[tuple[int], np.dtype[np.bool_]], section: str | None) -> FloatArray:
    if section is None:
        return trace.speed_mps
    interval_s = np.diff(trace.time_s[on], prepend=np.nan)
    interval_s[~((interval_s > 0) & (interval_s <= LONGEST_STEP_S))] = np.nan
    return trace.distance_m[on] / interval_s


def _window_speeds(trace: Trace, on: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> FloatArray:
    """Return the speed from each position to the first one at least a window later, with no gap between [m/s]."""
    known = on & np.isfinite(trace.east_m)
    time_s, east_m, north_m = trace.time_s[known], trace.east_m[known], trace.north_m[known]
    if time_s.size < 2:
        return np.empty(0)
    ahead = np.searchsorted(time_s, time_s + WINDOW_S, side="left")
    inside = np.flatnonzero(ahead < time_s.size)
    ahead = ahead[inside]
    took_s = time_s[ahead] - time_s[inside]
    stretch = np.cumsum(np.diff(time_s, prepend=time_s[0]) > LONGEST_STEP_S)
    moved_m = np.hypot(east_m[ahead] - east_m[inside], north_m[ahead] - north_m[inside])
    return np.where(stretch[ahead] == stretch[inside], moved_m / took_s, np.nan)


def _percentiles(values: FloatArray) -> FloatArray:
    finite = values[np.isfinite(values)]
    return np.percentile(finite, PERCENTILES) if finite.size else np.full(len(PERCENTILES), np.nan)


def _disagreement(speeds: tuple[SpeedPercentiles, ...]) -> str | None:
    middles = {speed.source: float(speed.percentiles_mps[PERCENTILES.index(50)]) for speed in speeds}
    middles.pop(STEP_BY_STEP, None)  # positions cannot tell anything of themselves
    if not middles:
        return None
    slowest, fastest = min(middles, key=middles.__getitem__), max(middles, key=middles.__getitem__)
    if middles[fastest] <= middles[slowest] * (1 + DISAGREEMENT):
        return None
    if not middles[slowest]:
        return f"speed from {slowest} is zero half of the time, that from {fastest} is not"
    above = per_cent(middles[fastest] / middles[slowest] - 1, places=0)
    return f"speed from {fastest} is {above} above that from {slowest}"
