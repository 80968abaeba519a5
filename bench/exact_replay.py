"""How fast the exact replay is: ``python -m bench.exact_replay``. It informs and never fails a build."""

from __future__ import annotations

import math
import time

import numpy as np
from bench.made_log import RATE_M3PM2, made_log

from wetrun.fieldlog.boom_sections import BoomSections
from wetrun.fieldlog.dynamics import delivered_flows
from wetrun.fieldlog.exact_records import ExactSetup, LimitNames
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.replay import ReplayMode, SteadySetup
from wetrun.fieldlog.section_tally import ERROR_EDGES, section_tally
from wetrun.fieldlog.trace import LogFacts, Trace
from wetrun.spray.pressure_curve import PressureCurve
from wetrun.spray.response import Response

ROWS = 5_000_000
PLAIN_ROWS = 100_000
ROWS_PER_STRETCH = 5_000
TURNS = 3
INTERVAL_S = 0.2
RESPONSE = Response(lag_s=0.8, delay_s=0.3)
FLOOR_M2PS, CEILING_M2PS = 4e-5, 1.1e-4


def made_trace(rows: int) -> Trace:
    """Return a made log with gentle turns and a cut every few thousand instants."""
    log = made_log(rows)
    interval = np.full(rows, INTERVAL_S)
    interval[::ROWS_PER_STRETCH] = np.nan
    none = np.full(rows, np.nan)
    rng = np.random.default_rng(2)
    return Trace(
        time_s=np.cumsum(np.where(np.isnan(interval), 60.0, interval)),
        interval_s=interval,
        distance_m=log.speed_mps * interval,
        speed_mps=np.where(np.isnan(interval), np.nan, log.speed_mps),
        shown_speed_mps=none,
        width_m=log.width_m,
        target_m3pm2=np.full(rows, RATE_M3PM2),
        applied_m3pm2=none,
        heading_rad=none,
        curvature_radpm=np.repeat(rng.normal(0, 0.005, rows // 50 + 1), 50)[:rows],
        area_m2=log.speed_mps * interval * log.width_m,
        east_m=none,
        north_m=none,
        sections_on=np.zeros(rows, dtype=np.int64),
        full_width_m=float(log.levels_m[-1]),
        sections=(),
        facts=LogFacts("made", "made", 0, 0, 1, (), 0, 0, 0.0, (), (), (), (), ()),
    )


def setup_for(trace: Trace) -> ExactSetup:
    """Return a set-up for every width of the log."""
    levels = np.unique(trace.width_m)
    ones, none = np.ones(levels.size), tuple([None] * levels.size)
    floor, ceiling = FLOOR_M2PS * ones, CEILING_M2PS * ones
    return ExactSetup(
        steady=SteadySetup(levels, floor, ceiling, floor, ceiling),
        supply_m2ps=ceiling,
        response=RESPONSE,
        names=LimitNames(floor_by=none, ceiling_by=none, low_by=none, high_by=none),
        spacing_m=0.5,
        curve=PressureCurve(np.array([[0.0, 2e-5]]), np.array([[0.0, 550.0]])),
    )


def boom_of(trace: Trace) -> BoomSections:
    """Return seven even sections."""
    width = trace.full_width_m / 7
    return BoomSections((np.arange(7) - 3) * width, np.full(7, width))


def by_hand(trace: Trace, boom: BoomSections, rows: int) -> list[int]:
    """Return the area [cm2] by rate error of the first rows, in plain Python."""
    times, intervals, speeds = (column[:rows].tolist() for column in (trace.time_s, trace.interval_s, trace.speed_mps))
    bends, areas_m2 = (column[:rows].tolist() for column in (trace.curvature_radpm, trace.area_m2))
    lag, delay, full = RESPONSE.lag_s, RESPONSE.delay_s, trace.full_width_m
    parts = list(zip(boom.middle_m.tolist(), boom.width_m.tolist(), strict=True))
    bins, flow, standing = [0] * 9, 0.0, 0
    orders = [min(max(speed * RATE_M3PM2, FLOOR_M2PS), CEILING_M2PS) for speed in speeds]
    for i in range(rows):
        if math.isnan(intervals[i]):
            standing = i + 1
            flow = orders[i + 1] if i + 1 < rows else 0.0
            continue
        at, end, volume = times[i - 1], times[i], 0.0
        while at < end:
            while standing + 1 < rows and standing < i and times[standing] + delay <= at:
                standing += 1
            stop = min(end, times[standing] + delay) if standing < i else end
            after = orders[standing] + (flow - orders[standing]) * math.exp((at - stop) / lag)
            volume += orders[standing] * (stop - at) + lag * (flow - after)
            flow, at = after, stop
        ratio = volume / (end - times[i - 1]) / (speeds[i] * RATE_M3PM2)
        for middle, width in parts:
            swing = abs(1.0 - middle * bends[i])
            error = ratio / swing - 1.0
            steps = sum(abs(error) > edge for edge in ERROR_EDGES)
            area = round(areas_m2[i] * width / full * swing * 1e4)
            bins[4 + (steps if error > 0 else -steps)] += area
    return bins


def main() -> None:
    """Print seconds and ratios."""
    trace = made_trace(ROWS)
    setup, boom = setup_for(trace), boom_of(trace)
    columns = trace.time_s, trace.interval_s, trace.speed_mps * RATE_M3PM2, np.full(ROWS, np.inf)
    delivered_flows(*(column[:1000] for column in columns), response=RESPONSE, often=True)  # compiles
    flows, whole, plain = [], [], []
    for _ in range(TURNS):
        start = time.perf_counter()
        delivered_flows(*columns, response=RESPONSE)
        flows.append(time.perf_counter() - start)
        start = time.perf_counter()
        result = exact_replay(trace, setup, ReplayMode.SAME_SPEED)
        tally = section_tally(result, boom, RESPONSE, tolerance_frac=0.05)
        whole.append(time.perf_counter() - start)
        start = time.perf_counter()
        hand = by_hand(trace, boom, PLAIN_ROWS)
        plain.append((time.perf_counter() - start) * ROWS / PLAIN_ROWS)
    ratios = [hand_s / whole_s for hand_s, whole_s in zip(plain, whole, strict=True)]
    print(f"{'exact replay':<58} {'figure':>28}")
    print(f"{f'lag and delay over {ROWS:,} instants, compiled':<58} {min(flows):>26.2f} s")
    print(f"{f'whole replay of {ROWS:,} instants by seven sections':<58} {min(whole):>26.2f} s")
    print(f"{f'same in plain Python, from {PLAIN_ROWS:,} instants':<58} {min(plain):>26.1f} s")
    print(f"{'ratio, best and worst of the turns':<58} {max(ratios):>20.0f}, {min(ratios):.0f}")
    share, by_bins = sum(hand[3:6]) / sum(hand), tally.error_cm2[3:6].sum() / tally.total_cm2
    print(f"{'share within ±5 %: by hand (first rows), whole':<58} {share:>20.4f}, {by_bins:.4f}")


if __name__ == "__main__":
    main()
