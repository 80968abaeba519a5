"""Writes the demo's field logs: invented fields in the middle of an ocean, the same bytes on every run.

    python demo/make_logs.py            into demo/logs
    python demo/make_logs.py --out DIR

What a real log has is in them: headland laps with turns, slanted field ends where sections close one by one, waterways
crossed with sections off, hills that slow the machine, refills that leave a gap, a controller that lags and holds.
Nothing in them comes from a real machine, field or farm. Standard library only.
"""

from __future__ import annotations

import argparse
import csv
import math
import os
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

FOOT_M = 0.3048
MPH_MPS = 5280 * FOOT_M / 3600
EARTH_M = 6_371_000.0
SECTIONS = 9
SECTION_M = 8 * 20 * FOOT_M / 12
BOOM_M = SECTIONS * SECTION_M
HEADLAND_M = BOOM_M
CORNER_M = 24.0
PULL_MPS2 = 0.6
LAG_S = 2.0
HEADER = ("Clock", "Sec", "Dist", "Swath", "Gs", "Track", "Lon", "Lat", "RateSet", "RateOut")


@dataclass(frozen=True)
class Job:
    """One field sprayed once: where, when, how fast, and what the controller did."""

    file: str
    seed: int
    start: datetime
    lon: float
    lat: float
    long_m: float
    swaths: int
    slow_mph: float
    usual_mph: float
    rate_gal_ac: float
    hold_mph: float
    tank_m: float


@dataclass(frozen=True)
class Leg:
    """A straight run or an arc, with the boom wanted on or off."""

    length_m: float
    turn_rad: float = 0.0
    spraying: bool = True
    inside: bool = False


JOBS = (
    Job(
        file="uan_topdress_2026.csv",
        seed=11,
        start=datetime(2026, 5, 21, 8, 10),  # noqa: DTZ001 - a terminal's clock, without a zone
        lon=-40.1,
        lat=41.0,
        long_m=1180.0,
        swaths=22,
        slow_mph=8.5,
        usual_mph=11.5,
        rate_gal_ac=17.0,
        hold_mph=6.0,
        tank_m=9500.0,
    ),
    Job(
        file="post_2026.csv",
        seed=23,
        start=datetime(2026, 6, 12, 9, 25),  # noqa: DTZ001
        lon=-40.2,
        lat=41.0,
        long_m=1560.0,
        swaths=24,
        slow_mph=9.5,
        usual_mph=13.6,
        rate_gal_ac=15.0,
        hold_mph=8.2,
        tank_m=11500.0,
    ),
    Job(
        file="fungicide_2026.csv",
        seed=37,
        start=datetime(2026, 7, 18, 6, 50),  # noqa: DTZ001
        lon=-40.3,
        lat=41.0,
        long_m=1180.0,
        swaths=20,
        slow_mph=7.0,
        usual_mph=9.6,
        rate_gal_ac=20.0,
        hold_mph=5.5,
        tank_m=8200.0,
    ),
)


@dataclass
class Moment:
    """Where the machine is, how fast, and what comes out."""

    chance: random.Random
    east_m: float = 0.0
    north_m: float = 0.0
    heading_rad: float = math.pi / 2
    speed_mps: float = 1.5
    flow_mps: float = 1.5
    clock_s: float = 0.0
    mood: float = 0.0
    sprayed_m: float = 0.0
    step_m: float = 0.0
    put_out: float = 0.0


def legs_of(job: Job) -> Iterator[Leg]:
    """One lap of the headland, then swath after swath with a turn at each end."""
    for side_m in (job.long_m - BOOM_M, (job.swaths - 1) * BOOM_M) * 2:
        yield Leg(side_m - 2 * CORNER_M)
        yield Leg(CORNER_M * math.pi / 2, math.pi / 2)
    # From the headland's end round into the first swath inside it, then up and down.
    yield Leg(40.0, spraying=False)
    yield Leg(20.0 * math.pi / 2, math.pi / 2, spraying=False)
    yield Leg(BOOM_M - 40.0, spraying=False)
    yield Leg(20.0 * math.pi / 2, -math.pi / 2, spraying=False)
    for swath in range(job.swaths - 2):
        yield Leg(job.long_m - 2 * HEADLAND_M, inside=True)
        side = math.pi if swath % 2 == 0 else -math.pi
        yield Leg(BOOM_M / 2 * math.pi, side, spraying=False)


def wanted_mps(job: Job, now: Moment, leg: Leg, left_m: float) -> float:
    """Speed the driver is after: slower uphill, into a turn and over a waterway, with a mood of his own."""
    climb = math.sin(now.east_m / 190.0 + job.seed) * math.cos(now.north_m / 260.0) * math.sin(now.heading_rad + 0.6)
    wish = job.usual_mph * (1.0 - 0.16 * max(climb, 0.0) + 0.05 * max(-climb, 0.0)) + now.mood
    if leg.turn_rad:
        wish = min(wish, 0.62 * job.usual_mph if leg.length_m > 30.0 else 0.5 * job.usual_mph)
    if left_m < 35.0:
        wish = min(wish, 0.75 * job.usual_mph)
    if in_waterway(job, now.east_m, now.north_m, margin_m=25.0):
        wish = min(wish, job.slow_mph)
    return max(wish, 1.5) * MPH_MPS


def in_waterway(job: Job, east_m: float, north_m: float, *, margin_m: float = 0.0) -> bool:
    """Whether a place lies on the grass strip that winds across the field."""
    middle = 0.45 * job.long_m + 0.12 * north_m + 30.0 * math.sin(north_m / 140.0)
    return abs(east_m - middle) < 9.0 + margin_m


def inside_field(job: Job, east_m: float, north_m: float) -> bool:
    """Whether a place lies between the headlands; both ends are slanted, so sections close one by one."""
    slant = 0.14 * (north_m - job.swaths * BOOM_M / 2)
    return HEADLAND_M * 0.9 + slant < east_m + HEADLAND_M / 2 < job.long_m - HEADLAND_M * 0.9 + slant


def place_of(now: Moment, section: int) -> tuple[float, float]:
    """East and north [m] of the middle of a section, counted from 0 at the left end."""
    across = (section - (SECTIONS - 1) / 2) * SECTION_M
    return now.east_m + across * math.cos(now.heading_rad), now.north_m - across * math.sin(now.heading_rad)


def sections_on(job: Job, now: Moment, leg: Leg) -> list[int]:
    """Sections that spray: all on the headland but not over a waterway, those over the crop in a swath."""
    if not leg.spraying:
        return []
    on = []
    for section in range(SECTIONS):
        east_m, north_m = place_of(now, section)
        crop = inside_field(job, east_m, north_m) if leg.inside else True
        if crop and not in_waterway(job, east_m, north_m):
            on.append(section)
    return on


def move(job: Job, now: Moment, leg: Leg, left_m: float) -> float:
    """Drive one second along a leg; return how far it went."""
    now.mood = 0.96 * now.mood + now.chance.gauss(0.0, 0.22)
    wish = wanted_mps(job, now, leg, left_m)
    now.speed_mps += min(max(wish - now.speed_mps, -1.6 * PULL_MPS2), PULL_MPS2)
    step_m = min(now.speed_mps, left_m)
    turned = leg.turn_rad * step_m / leg.length_m
    middle = now.heading_rad + turned / 2
    now.east_m += step_m * math.sin(middle)
    now.north_m += step_m * math.cos(middle)
    now.heading_rad += turned
    # What comes out follows the speed of a moment ago, and never falls below the hold.
    aim = max(now.speed_mps, job.hold_mph * MPH_MPS)
    now.flow_mps += (aim - now.flow_mps) / LAG_S
    now.clock_s += 1.0
    return step_m


def rows_of(job: Job) -> Iterator[tuple[str, ...]]:
    """Every row of a log, one per section that sprays and second."""
    now = Moment(random.Random(job.seed))  # noqa: S311 - a repeatable demo, not a secret
    for leg in legs_of(job):
        left_m = leg.length_m
        while left_m > 1e-6:
            step_m = move(job, now, leg, left_m)
            left_m -= step_m
            on = sections_on(job, now, leg)
            now.sprayed_m += step_m * len(on) / SECTIONS
            now.step_m = step_m
            now.put_out = job.rate_gal_ac * now.flow_mps / now.speed_mps * (1.0 + now.chance.gauss(0.0, 0.008))
            for section in on:
                yield row(job, now, section)
        if now.sprayed_m > job.tank_m and not leg.spraying:
            now.sprayed_m = 0.0
            now.clock_s += 840.0 + now.chance.uniform(0.0, 300.0)


def row(job: Job, now: Moment, section: int) -> tuple[str, ...]:
    """One section at one second, as the terminal writes it."""
    east_m, north_m = place_of(now, section)
    lat = job.lat + math.degrees(north_m / EARTH_M)
    lon = job.lon + math.degrees(east_m / (EARTH_M * math.cos(math.radians(job.lat))))
    clock = job.start + timedelta(seconds=round(now.clock_s))
    return (
        clock.strftime("%Y-%m-%dT%H:%M:%S"),
        str(section + 1),
        f"{now.step_m / FOOT_M:.2f}",
        f"{SECTION_M / FOOT_M:.3f}",
        f"{now.speed_mps / MPH_MPS:.1f}",
        f"{math.degrees(now.heading_rad) % 360:.1f}",
        f"{lon:.7f}",
        f"{lat:.7f}",
        f"{job.rate_gal_ac:.1f}",
        f"{now.put_out:.2f}",
    )


def write_logs(out: Path) -> list[Path]:
    """Write every log into a folder and return their paths."""
    out.mkdir(parents=True, exist_ok=True)
    written = []
    for job in JOBS:
        path = out / job.file
        part = path.with_suffix(".part")
        with part.open("w", encoding="utf-8", newline="") as opened:
            table = csv.writer(opened, lineterminator="\n")
            table.writerow(HEADER)
            table.writerows(rows_of(job))
        part.replace(path)
        written.append(path)
    return written


def main() -> None:
    """Write the logs where asked."""
    parser = argparse.ArgumentParser(description="Write the demo's field logs.")
    parser.add_argument("--out", type=Path, default=Path(__file__).resolve().parent / "logs", help="folder to write to")
    for path in write_logs(parser.parse_args().out):
        print(f"written: {os.path.relpath(path)}")


if __name__ == "__main__":
    main()
