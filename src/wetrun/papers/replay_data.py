"""A replay as plain data for a page: what a set would have held of a log, exactly, where it was worst, and by what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from wetrun.fieldlog.earth import longitudes_latitudes
from wetrun.fieldlog.lag_fit import LagFinding
from wetrun.fieldlog.trace import CM2_PER_M2, Trace
from wetrun.fieldlog.worst_places import OffPlace
from wetrun.papers.exact_words import (
    cause_words,
    clock_words,
    droplet_rows,
    error_rows,
    error_words,
    exact_lines,
    fit_lines,
    machine_words,
    share_words,
)
from wetrun.papers.reader import Reader
from wetrun.papers.replay_words import WHY_UNLIKE_EXACT, logged_lines, result_words, target_words
from wetrun.percent import per_cent
from wetrun.planning.exact_answer import ExactAnswer, doubts_of
from wetrun.planning.replaying import ReplayedPass
from wetrun.quantity import Kind

Data = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplayedLog:
    """Everything about one log: its own machine's lag, and per rate the settled replay and the exact one.

    Attributes
    ----------
    trace : Trace
        The log.
    finding : LagFinding or None
        What it says about its own machine's lag, if it was asked.
    replays : tuple of (ReplayedPass, ExactAnswer)
        At the rate of the pass first, then at the log's own target, if it has one.
    """

    trace: Trace
    finding: LagFinding | None
    replays: tuple[tuple[ReplayedPass, ExactAnswer], ...]


def replay_data(told: ReplayedLog, reader: Reader) -> Data:
    """Return the replay of a set over a log as plain data.

    Parameters
    ----------
    told : ReplayedLog
        The replay.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        Strings, lists and dicts only.
    """
    trial = told.replays[0][0].trial
    return {
        "log": told.trace.facts.file,
        "pass": trial.planned.ident,
        "tip": {"ident": trial.tip_set.tip.ident, "words": trial.tip_set.tip.words, "owned": trial.tip_set.owned},
        "fit": [] if told.finding is None else list(fit_lines(told.finding, told.trace, reader)),
        "rates": [_at_rate(done, exact, reader) for done, exact in told.replays],
    }


def _at_rate(done: ReplayedPass, exact: ExactAnswer, reader: Reader) -> Data:
    tolerance, tally = done.trial.planned.tolerance_frac, exact.tally
    result = exact.result
    return {
        "rate": target_words(done, reader),
        "tolerance": f"±{per_cent(tolerance, places=0)}",
        "settled": [result_words(one, tolerance) for one in done.results],
        "logged": list(logged_lines(done, reader, why=WHY_UNLIKE_EXACT)),
        "lag": f"{machine_words(exact.setup.response)} ({exact.lag_from})",
        "doubts": list(doubts_of(exact.setup.response)),
        "area": reader.area(tally.total_cm2 / CM2_PER_M2),
        "within": share_words(tally.within_cm2, tally.total_cm2),
        "within_settled": per_cent(exact.settled_frac),
        "within_lagging": per_cent(exact.lagging_frac),
        "over_label": ""
        if exact.setup.steady.label_ratio is None
        else share_words(tally.over_label_cm2, tally.total_cm2),
        "errors": [_row(name, part, int(area), reader) for (name, part), area in _with_areas(exact)],
        "droplets": [{"name": name, "share": part} for name, part in droplet_rows(exact)],
        "places": [_place(one, exact.trace, reader) for one in exact.places],
        "lines": [line.strip() for line in exact_lines(exact, reader)],
        "method": f"{result.method}, method {result.method_number}",
    }


def _with_areas(exact: ExactAnswer) -> Sequence[tuple[tuple[str, str], float]]:
    return list(zip(error_rows(exact), exact.tally.error_cm2.tolist(), strict=True))


def _row(name: str, part: str, area_cm2: int, reader: Reader) -> Data:
    return {"name": name, "share": part, "area": reader.area(area_cm2 / CM2_PER_M2)}


def _place(place: OffPlace, trace: Trace, reader: Reader) -> Data:
    return {
        "into": clock_words(place.start_s),
        "length": f"{place.length_s:.0f} s",
        "area": reader.area(place.area_cm2 / CM2_PER_M2),
        "error": error_words(place),
        "why": cause_words(place),
        "from": reader.digits(place.from_mps, Kind.SPEED),
        "to": reader.speed(place.to_mps),
        "place": _on_earth(place, trace),
    }


def _on_earth(place: OffPlace, trace: Trace) -> list[float]:
    """Longitude and latitude in degrees; empty where the log does not tell."""
    if trace.origin is None or not np.isfinite(place.east_m + place.north_m):
        return []
    longitude, latitude = longitudes_latitudes(np.array([place.east_m]), np.array([place.north_m]), trace.origin)
    return [round(float(longitude[0]), 6), round(float(latitude[0]), 6)]
