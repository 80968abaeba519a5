"""The exact replay and the fit of a machine's lag, as sentences."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

import numpy as np

from wetrun.fieldlog.earth import longitudes_latitudes
from wetrun.fieldlog.lag_fit import Ends, LagFinding
from wetrun.fieldlog.section_tally import ERROR_EDGES, Cause
from wetrun.fieldlog.trace import CM2_PER_M2, Trace
from wetrun.fieldlog.worst_places import OffPlace
from wetrun.papers.reader import Reader
from wetrun.percent import PER_CENT, per_cent, signed
from wetrun.planning.exact_answer import LONGEST_PUBLISHED_S, ExactAnswer, doubts_of, share
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
# luck-2011
PUBLISHED_TURNS: Final = "Published for ten fields without compensation: 6.5 to 23.8 % of the area (abstract read)."
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
    yield f"Exact, {machine_words(response)} ({answer.lag_from}), at the logged speeds:"
    for doubt in doubts_of(response):
        yield f"  Doubt: {doubt}"
    for repair in answer.trace.facts.repairs:
        if repair.kind == "clock grain":
            yield f"  Repair: {repair.words} ({repair.count:,})."
    yield (
        f"  Rate within {tolerance}: {share_words(tally.within_cm2, tally.total_cm2)} of the area. Settled, without "
        f"turns, it would be {per_cent(answer.settled_frac)}, with the lag alone {per_cent(answer.lagging_frac)}."
    )
    yield f"  By rate error: {'; '.join(f'{name} {part}' for name, part in error_rows(answer))}."
    if answer.setup.steady.label_ratio is not None:
        yield f"  Above the label's maximum: {share_words(tally.over_label_cm2, tally.total_cm2)}."
    yield f"  By droplets: {'; '.join(f'{name} {part}' for name, part in droplet_rows(answer)) or 'no area'}."
    yield from turn_lines(answer)
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
        yield f"  {number}. {place_words(place, answer.trace, reader)}"


def turn_lines(answer: ExactAnswer) -> Iterator[str]:
    """Yield what turning alone does, beside what was published of fields."""
    parts = [
        f"{one.compensation.words} {share_words(one.over_cm2, one.total_cm2)} over and "
        f"{share_words(one.under_cm2, one.total_cm2)} under"
        for one in answer.turning
    ]
    tolerance = per_cent(answer.turning[0].tolerance_frac, places=0)
    yield f"  Turning alone, off by more than ±{tolerance}: {'; '.join(parts)}. {PUBLISHED_TURNS}"
    if len(answer.turning) > 1:
        yield f"  This machine is replayed {answer.setup.turns.words}."


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


def machine_words(response: Response) -> str:
    """Return what is taken of a machine's lag."""
    if response.at_once:
        return "without lag"
    return f"lag {response.lag_s:.2f} s and delay {response.delay_s:.2f} s"


def error_rows(answer: ExactAnswer) -> list[tuple[str, str]]:
    """Return shares of area by rate error, from far too little to far too much."""
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
    return [(name, share_words(int(area), total)) for name, area in zip(names, answer.tally.error_cm2, strict=True)]


def droplet_rows(answer: ExactAnswer) -> list[tuple[str, str]]:
    """Return shares of area by what droplets may have been put down, those with any area."""
    names = [
        *(band.words for band in answer.setup.bands),
        "below the tip's pressure range",
        "above the tip's pressure range",
        "not known",
    ]
    tally = answer.tally
    return [
        (name, share_words(int(area), tally.total_cm2))
        for name, area in zip(names, tally.droplets_cm2, strict=True)
        if area
    ]


def place_words(place: OffPlace, trace: Trace, reader: Reader) -> str:
    """Return one of the worst places: when and where, how long, how much ground, how far off, and why."""
    return (
        f"{clock_words(place.start_s)} into the log{_where(place, trace)}, {place.length_s:.0f} s, "
        f"{reader.area(place.area_cm2 / CM2_PER_M2)}, {error_words(place)}: {cause_words(place)}; "
        f"speed {reader.digits(place.from_mps, Kind.SPEED)} to {reader.speed(place.to_mps)}"
    )


def cause_words(place: OffPlace) -> str:
    """Return what moved the rate most, with the limit that bound it."""
    return f"{place.cause} ({place.limit})" if place.limit and place.cause in LIMITED else str(place.cause)


def error_words(place: OffPlace) -> str:
    """Return which way and how far it was off; both ways, where neither outweighs the other."""
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


def clock_words(clock_s: S) -> str:
    """Return a time of day [s] as hours, minutes and seconds, after the days if there are any."""
    days, whole = divmod(round(clock_s), DAY_S)
    clock = f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"
    return f"{days} day{'s' if days > 1 else ''} and {clock}" if days else clock


def _time(value_s: S, ends: Ends) -> str:
    return f"{value_s:.2f} s ({ends.low:.2f} to {ends.high:.2f})"


def _off(error: float) -> str:
    return f"{signed(PER_CENT * error, 1)} %"


def share_words(part_cm2: Cm2, whole_cm2: Cm2) -> str:
    """Return a part of an area [cm2] in per cent of the whole."""
    return per_cent(share(part_cm2, whole_cm2))
