"""The exact replay and the fit of a machine's lag, as sentences."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

import numpy as np

from wetrun.cli.exact_answer import LONGEST_PUBLISHED_S, ExactAnswer, WrittenMap, doubts_of, share
from wetrun.fieldlog.earth import longitudes_latitudes
from wetrun.fieldlog.lag_fit import Ends, LagFinding
from wetrun.fieldlog.section_tally import ERROR_EDGES, Cause
from wetrun.fieldlog.trace import CM2_PER_M2, Trace
from wetrun.fieldlog.worst_places import OffPlace
from wetrun.papers.reader import Reader
from wetrun.percent import PER_CENT, per_cent, signed
from wetrun.quantity import Kind
from wetrun.spray.pulse import gap_per_cycle_m
from wetrun.spray.response import Response, ShutOff
from wetrun.units import Cm2, S

PUBLISHED: Final = (
    "Published settling: 0.1 to 4.2 s with metered three-way section valves, up to "
    f"{LONGEST_PUBLISHED_S:g} s with two-way ones (abstract "
    "read); 0.4 to 14.4 s under section control in point rows (second-hand). Context, no limit."
)
WHAT_LAG_IS: Final = (
    "What is called lag here is all there is between speed and rate in the log: controller, valve, meter and the "
    "terminal's own averaging."
)
LIMITED: Final = frozenset({Cause.SLOW, Cause.FAST})
MOSTLY: Final = 0.5
DAY_S: Final = 86_400
# mangus-2017; flow goes with the square root of pressure.
PULSE_HELD: Final = (
    "A pulse-width machine is taken to hold its set pressure; a published one held it within 5 %, which is about 2.5 % "
    "of flow."
)


def fit_lines(finding: LagFinding, trace: Trace, reader: Reader) -> Iterator[str]:
    """Yield what the log says about its own machine's lag."""
    fit = finding.fit
    stays = "the boom's flow" if fit.response.shut_off is ShutOff.FLOW else "the pressure at the tips"
    yield (
        f"This log's own machine: lag {_time(fit.response.lag_s, fit.lag_ends)}, delay "
        f"{_time(fit.response.delay_s, fit.delay_ends)}, together "
        f"{_time(fit.response.lag_s + fit.response.delay_s, fit.together_ends)}; settled, it puts down "
        f"{_off(fit.bias_ratio - 1.0)} ({_off(fit.bias_ends.low - 1.0)} to {_off(fit.bias_ends.high - 1.0)}) against "
        f"its target. When a section shuts, {stays} stays. Brackets are 95 %, by drawing the log's minutes anew."
    )
    limits = [
        f"{word} {reader.flow(flow * trace.full_width_m)}"
        for word, flow in (("least", fit.span.floor_m2ps), ("greatest", fit.span.ceiling_m2ps))
        if 0.0 < flow < float("inf")
    ]
    if limits:
        yield f"It was seen to have limits; on the whole boom: {', '.join(limits)}."
    rows = (
        ("with lag and limits", finding.with_lag),
        ("limits only", finding.without_lag),
        ("bias only", finding.bias_only),
    )
    told = "; ".join(
        f"{words} {per_cent(one.variance_ratio, places=0)} and {per_cent(other.variance_ratio, places=0)} (within "
        f"±{per_cent(finding.tolerance_frac, places=0)} of the model on {per_cent(one.within_frac)} and "
        f"{per_cent(other.within_frac)} of the area)"
        for words, (one, other) in rows
    )
    yield f"Variance of the logged rate error explained, each half of the log by the fit of the other: {told}."
    if not finding.helps:
        yield "The lag does not explain this log better than none, so it is not used."
    yield f"{WHAT_LAG_IS} {PUBLISHED}"


def exact_lines(answer: ExactAnswer, reader: Reader) -> Iterator[str]:
    """Yield the exact replay."""
    tally, result, response = answer.tally, answer.result, answer.setup.response
    tolerance = f"±{per_cent(answer.tolerance_frac, places=0)}"
    yield f"Exact, {_machine(response)} ({answer.lag_from}), at the logged speeds:"
    for doubt in doubts_of(response):
        yield f"  Doubt: {doubt}"
    for repair in answer.trace.facts.repairs:
        if repair.kind == "clock grain":
            yield f"  Repair: {repair.words} ({repair.count:,})."
    yield (
        f"  Rate within {tolerance}: {_share(tally.within_cm2, tally.total_cm2)} of the area. Settled, without turns, "
        f"it would be {per_cent(answer.settled_frac)}, with the lag alone {per_cent(answer.lagging_frac)}."
    )
    yield f"  By rate error: {'; '.join(_bins(answer))}."
    if answer.setup.steady.label_ratio is not None:
        yield f"  Above the label's maximum: {_share(tally.over_label_cm2, tally.total_cm2)}."
    yield f"  By droplets: {'; '.join(_droplets(answer))}."
    yield from _valve_lines(answer, reader)
    yield from _pulse_lines(answer, reader)
    aside = [
        f"{reader.area(area / CM2_PER_M2)} {words}"
        for area, words in (
            (result.left_out_cm2, "left out, without a speed or target"),
            (tally.straight_cm2, "taken as straight, its heading is not known"),
            (result.taken_as_settled_cm2, "taken as settled, so soon after a cut of the log"),
        )
        if area
    ]
    if aside:
        yield f"  Of the area: {'; '.join(aside)}."
    if answer.places:
        yield "  Worst places first:"
    for number, place in enumerate(answer.places, start=1):
        yield f"  {number}. {_place(place, answer.trace, reader)}"


def map_lines(written: WrittenMap, replayed_cm2: Cm2, reader: Reader) -> Iterator[str]:
    """Yield where a map was written, and how much of the replayed area [cm2] is not on it; nothing where none was."""
    if written.refused is not None:
        return
    yield f"Wrote {written.path}, at the rate of the pass"
    if written.left_out_cm2:
        yield (
            f"Not on the map: {reader.area(written.left_out_cm2 / CM2_PER_M2)}, "
            f"{_share(written.left_out_cm2, replayed_cm2)} of the area, whose place or heading the log does not tell. "
            "The figures above count it."
        )


def _valve_lines(answer: ExactAnswer, reader: Reader) -> Iterator[str]:
    tally, response = answer.tally, answer.setup.response
    if response.open_s or response.close_s:
        if not answer.boom.told_apart:
            yield "  The log does not tell sections apart, so their valves are taken as instant."
            return
        dry, twice = (reader.area(area / CM2_PER_M2) for area in (tally.dry_cm2, tally.over_spray_cm2))
        yield f"  Sections that open late leave {dry} with nothing; shutting late, they spray {twice} beside."


def _pulse_lines(answer: ExactAnswer, reader: Reader) -> Iterator[str]:
    pulse, duty = answer.setup.pulse, answer.result.duty_frac
    if pulse is None or duty is None or not np.isfinite(duty).any():
        return
    known = np.isfinite(duty)
    gap_m = gap_per_cycle_m(1.0, pulse.frequency_hz, 0.0) * answer.trace.speed_mps[known] * (1.0 - duty[known])
    middle, most = (reader.text(float(value), Kind.SPACING) for value in np.quantile(gap_m, [0.5, 1.0]))
    yield f"  Between two pulses a tip passes {middle} of ground shut, at most {most}. {PULSE_HELD}"


def _machine(response: Response) -> str:
    if response.at_once:
        return "without lag"
    return f"lag {response.lag_s:.2f} s and delay {response.delay_s:.2f} s"


def _bins(answer: ExactAnswer) -> list[str]:
    """Shares of area by rate error, from far too little to far too much."""
    edges = [f"{PER_CENT * edge:g}" for edge in ERROR_EDGES]
    pairs = list(pairwise(edges))
    names = [
        f"under −{edges[-1]} %",
        *(f"−{high} to −{low} %" for low, high in reversed(pairs)),
        f"within ±{edges[0]} %",
        *(f"+{low} to +{high} %" for low, high in pairs),
        f"over +{edges[-1]} %",
    ]
    total = answer.tally.total_cm2
    return [f"{name} {_share(int(area), total)}" for name, area in zip(names, answer.tally.error_cm2, strict=True)]


def _droplets(answer: ExactAnswer) -> list[str]:
    names = [
        *(band.words for band in answer.setup.bands),
        "below the tip's pressure range",
        "above the tip's pressure range",
        "not known",
    ]
    tally = answer.tally
    told = [
        f"{name} {_share(int(area), tally.total_cm2)}"
        for name, area in zip(names, tally.droplets_cm2, strict=True)
        if area
    ]
    return told or ["no area"]


def _place(place: OffPlace, trace: Trace, reader: Reader) -> str:
    why = f"{place.cause} ({place.limit})" if place.limit and place.cause in LIMITED else str(place.cause)
    return (
        f"{_clock(place.start_s)} into the log{_where(place, trace)}, {place.length_s:.0f} s, "
        f"{reader.area(place.area_cm2 / CM2_PER_M2)}, {_error(place)}: {why}; "
        f"speed {reader.digits(place.from_mps, Kind.SPEED)} to {reader.speed(place.to_mps)}"
    )


def _error(place: OffPlace) -> str:
    """Which way and how far it was off; both ways, where neither outweighs the other."""
    if abs(place.error_ratio) < MOSTLY * place.size_ratio:
        return f"{per_cent(place.size_ratio, places=0)} off, both ways"
    return f"{per_cent(abs(place.error_ratio), places=0)} too {'much' if place.error_ratio > 0 else 'little'}"


def _where(place: OffPlace, trace: Trace) -> str:
    if not np.isfinite(place.east_m + place.north_m):
        return ""
    if trace.origin is None:
        return f" at {place.east_m:.0f} m east, {place.north_m:.0f} m north of the first fix"
    longitude, latitude = longitudes_latitudes(np.array([place.east_m]), np.array([place.north_m]), trace.origin)
    return f" at {latitude[0]:.5f}, {longitude[0]:.5f} (latitude, longitude)"


def _clock(second: S) -> str:
    """Hours, minutes and seconds, after the days if there are any."""
    days, whole = divmod(round(second), DAY_S)
    clock = f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"
    return f"{days} day{'s' if days > 1 else ''} and {clock}" if days else clock


def _time(value_s: S, ends: Ends) -> str:
    return f"{value_s:.2f} s ({ends.low:.2f} to {ends.high:.2f})"


def _off(error: float) -> str:
    return f"{signed(PER_CENT * error, 1)} %"


def _share(part_cm2: int, whole_cm2: int) -> str:
    return per_cent(share(part_cm2, whole_cm2))
