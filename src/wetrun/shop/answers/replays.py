"""Replays: the plan's set, or another, driven exactly over a field log, with its map and its worst places."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from wetrun import __version__
from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.errors import InputProblems, NotDefined, Problem, QuantityRefused
from wetrun.fieldlog import exact_records, lag_fit, replay
from wetrun.fieldlog.joining import joined_trace
from wetrun.fieldlog.lag_fit import lag_finding
from wetrun.fieldlog.map_cells import MapCells, map_cells
from wetrun.fieldlog.readers.mapping import mapping_in
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.tallied import tallied
from wetrun.fieldlog.trace import Trace
from wetrun.fleet.reading import reading_of
from wetrun.papers.field_map import geojson
from wetrun.papers.reader import Reader
from wetrun.papers.replay_data import ReplayedLog, replay_data
from wetrun.planning.evidence import evidence_of_logs
from wetrun.planning.exact_answer import ExactAnswer, exact_answer, response_for
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import Pass
from wetrun.planning.replaying import replayed_pass
from wetrun.planning.tip_set import TipSet, hydraulics, tip_sets
from wetrun.planning.window import Trial
from wetrun.quantity import Kind, System, read
from wetrun.shop.answers.bench import Bench, bench
from wetrun.shop.answers.content import hash_of
from wetrun.shop.answers.field_logs import log_laid_out
from wetrun.shop.answers.laid_out import LaidOut, season_laid_out
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.tally import Progress, silent
from wetrun.shop.answers.tip_plans import standing_plan
from wetrun.shop.records.models import FieldLog, Replay, Season
from wetrun.units import M, S

FORMAT_VERSION: Final = 1
SEED: Final = 1
"""The doubt of a fit is drawn; the same log gives the same doubt."""
USUAL_CELL_M: Final[M] = 5.0
MOST_CELLS: Final = 10_000
"""More cells than a page can draw at once: beyond, they are made twice as wide."""
MOST_PLACES: Final = 10
METHODS: Final = (
    f"{exact_records.METHOD} {exact_records.METHOD_NUMBER}",
    f"{replay.METHOD} {replay.METHOD_NUMBER}",
    f"{lag_fit.METHOD} {lag_fit.METHOD_NUMBER}",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplayAsked:
    """Which set is driven over which log.

    Attributes
    ----------
    pass_name : str
        The pass.
    tip : str
        Ident of the tip; empty for that of the standing plan.
    lag, delay : str
        As typed; empty for what the season's machine says.
    fit : bool
        Whether to look for the lag in the log itself.
    """

    pass_name: str
    tip: str = ""
    lag: str = ""
    delay: str = ""
    fit: bool = False


def digest_of(log: FieldLog, season: Season, asked: ReplayAsked) -> str:
    """Return the hash of everything a replay rests on."""
    texts = dict(season_laid_out(season).texts) | dict(log_laid_out(log).texts)
    tip = asked.tip or _planned_key(season, asked.pass_name)
    return hash_of([log.sha256, texts, asdict(asked), tip, list(METHODS), __version__])


def replay_of(log: FieldLog, season: Season, asked: ReplayAsked, progress: Progress = silent) -> Replay:
    """Return a set driven over a log, not saved.

    Parameters
    ----------
    log : FieldLog
        With machine and branch.
    season : Season
        Of the same machine.
    asked : ReplayAsked
        Which pass, which set, whose lag.
    progress : callable
        Is told the share that is done and what is being done.

    Returns
    -------
    Replay
        ``in_us`` and ``in_si`` hold one entry for each log in the file, as `wetrun.papers.replay_data` gives it;
        ``map`` the cells of all of them as GeoJSON, or why there is none.

    Raises
    ------
    WetrunError
        Whatever is wrong with season, log, pass, tip or a time that was typed.
    """
    digest = digest_of(log, season, asked)
    with bench(_together(log, season)) as laid:
        season_file = read_season(laid.folder / "season.toml", logs_needed=False)
        planned = _pass(season_file, asked.pass_name)
        traces = _traces(laid, progress)
    tip_set = _set(season_file, planned, asked.tip or _planned_key(season, planned.ident))
    trial = _trial(season_file, planned, tip_set, traces)
    told = []
    for at, trace in enumerate(traces):
        progress(0.3 + 0.6 * at / len(traces), f"driving {trace.facts.file} again")
        told.append(_replayed(trial, trace, season_file, asked))
    progress(0.9, "drawing the map")
    shown = {system: _data(told, Reader(system)) for system in System}
    return Replay(
        branch=log.branch,
        log=log,
        season=season,
        pass_name=planned.ident,
        tip=told[0].replays[0][0].trial.tip_set.tip.ident,
        digest=digest,
        method=METHODS[0],
        in_us=shown[System.US],
        in_si=shown[System.SI],
        map=_map(told),
    )


def _together(log: FieldLog, season: Season) -> LaidOut:
    season_texts, own = season_laid_out(season), log_laid_out(log)
    return LaidOut(main=season_texts.main, texts={**own.texts, **season_texts.texts}, uses=own.uses)


def _pass(season_file: SeasonFile, name: str) -> Pass:
    found = next((one for one in season_file.season.passes if one.ident == name), None)
    if found is None:
        known = ", ".join(one.ident for one in season_file.season.passes)
        raise InputProblems([Problem("season.toml", "pass", name, "the season has no such pass", f"It has: {known}.")])
    return found


def _traces(laid: Bench, progress: Progress) -> tuple[Trace, ...]:
    (use,) = laid.laid_out.uses
    mapping = mapping_in(laid.folder / use.column_map) if use.column_map else None
    asked = ReadRequest(mapping, progress=lambda share: progress(0.3 * share, f"reading {use.name}"))
    return tuple(joined_trace(pieces) for pieces in reading_of(laid.folder / use.name, asked).logs)


def _trial(season_file: SeasonFile, planned: Pass, tip_set: TipSet, traces: Sequence[Trace]) -> Trial:
    setup = hydraulics(tip_set, season_file.season.sprayer, planned.carrier)
    usual_mps = evidence_of_logs([tallied(trace) for trace in traces]).usual_mps
    return Trial(setup, tip_set, planned, combined_limits(planned), usual_mps)


def _planned_key(season: Season, pass_name: str) -> tuple[str, bool] | None:
    plan = standing_plan(season)
    key = None if plan is None else plan.inputs.get("sets", {}).get(pass_name)
    return None if key is None else (str(key[0]), bool(key[1]))


def _set(season_file: SeasonFile, planned: Pass, wanted: str | tuple[str, bool] | None) -> TipSet:
    if wanted is None:
        remedy = "Choose a tip, or make the tip plan first."
        raise NotDefined(f"pass {planned.ident!r}", reason="no plan proposes a set for it", remedy=remedy)
    sets = tip_sets(season_file.season.sprayer, season_file.catalogue, odd_positions=planned.odd_positions)
    found = next((one for one in sets if wanted in {one.key, one.tip.ident}), None)
    if found is None:
        reason = "neither the tip file nor the machine has it"
        raise NotDefined(f"tip {wanted!r}", reason=reason, remedy="Choose another one")
    return found


def _replayed(trial: Trial, trace: Trace, season_file: SeasonFile, asked: ReplayAsked) -> ReplayedLog:
    sprayer = season_file.season.sprayer
    tolerance, off_below_mps = trial.planned.tolerance_frac, sprayer.control.off_below_mps or 0.0
    finding = lag_finding(trace, np.random.default_rng(SEED), tolerance_frac=tolerance) if asked.fit else None
    lag = response_for(
        sprayer.control.response, finding, lag_s=_seconds("lag", asked.lag), delay_s=_seconds("delay", asked.delay)
    )
    own_target = bool((trace.target_m3pm2 > 0).any())
    rates = (trial.planned.rate_m3pm2, None) if own_target else (trial.planned.rate_m3pm2,)
    return ReplayedLog(
        trace=trace,
        finding=finding,
        replays=tuple(
            (
                replayed_pass(trial, trace, rate, off_below_mps),
                exact_answer(trial, trace, rate, sprayer=sprayer, lag=lag, worst=MOST_PLACES),
            )
            for rate in rates
        ),
    )


def _seconds(key: str, text: str) -> S | None:
    if not text.strip():
        return None
    try:
        typed = read(text, Kind.TIME)
    except QuantityRefused as refused:
        remedy = f"Write it like {Kind.TIME.value.example!r}"
        raise InputProblems([Problem(key, "", f"“{text}”", refused.reason, remedy)]) from None
    if typed.si_value < 0.0:
        raise InputProblems([Problem(key, "", f"“{text}”", "it must not be negative", "Write it without the sign")])
    return typed.si_value


def _data(told: Sequence[ReplayedLog], reader: Reader) -> dict[str, Any]:
    return dict(plain({"format_version": FORMAT_VERSION, "logs": [replay_data(one, reader) for one in told]}))


def _map(told: Sequence[ReplayedLog]) -> dict[str, Any]:
    """The map at the rate of the pass: all logs on one, with what is not on it told."""
    cell_m = USUAL_CELL_M
    while True:
        drawn = [_cells(one.replays[0][1], cell_m) for one in told]
        if sum(cells.column.size for cells, _ in drawn if cells is not None) <= MOST_CELLS:
            return _joined([(one, *found) for one, found in zip(told, drawn, strict=True)], cell_m)
        cell_m *= 2.0


def _cells(exact: ExactAnswer, cell_m: M) -> tuple[MapCells | None, str]:
    if exact.trace.origin is None:
        return None, f"{exact.trace.facts.file} does not say where on Earth it is."
    try:
        bands = exact.setup.bands
        return map_cells(exact.result, exact.boom, exact.setup.response, bands=bands, cell_m=cell_m), ""
    except NotDefined as none:
        return None, f"{exact.trace.facts.file}: {none}"


def _joined(drawn: Sequence[tuple[ReplayedLog, MapCells | None, str]], cell_m: M) -> dict[str, Any]:
    features: list[Any] = []
    boxes: list[list[float]] = []
    for told, cells, _ in drawn:
        origin = told.replays[0][1].trace.origin
        if cells is not None and origin is not None and cells.column.size:
            whole = json.loads(geojson(cells, origin, {"log": told.trace.facts.file}))
            features += whole["features"]
            boxes.append(whole["bbox"])
    return {
        "type": "FeatureCollection",
        "format_version": FORMAT_VERSION,
        "about": {"cell_m": cell_m, "rate_from": "the pass"},
        "bbox": [f(box[at] for box in boxes) for at, f in enumerate((min, min, max, max))] if boxes else [],
        "features": features,
        "missing": [words for _, _, words in drawn if words],
        "left_out_m2": sum(cells.left_out_cm2 for _, cells, _ in drawn if cells is not None) / 1e4,
    }
