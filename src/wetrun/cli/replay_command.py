"""`wetrun replay`: one set over a log, instant by instant, beside what the log says came out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

from wetrun.cli.exact_answer import WrittenMap, fitted, response_asked, written_map
from wetrun.cli.exact_request import ExactRequest
from wetrun.cli.exact_text import map_lines
from wetrun.cli.log_files import tallied_logs, traces_of
from wetrun.cli.plain_exact import plain_exact, plain_fit
from wetrun.cli.plain_stages import plain_stage_areas
from wetrun.cli.plan_command import report_for
from wetrun.cli.shown_units import system_shown
from wetrun.cli.telling import print_json, say, say_aside
from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.errors import InputProblems, NotDefined, Problem, WetrunError
from wetrun.fieldlog.lag_fit import LagFinding
from wetrun.fieldlog.replay import ReplayResult
from wetrun.fieldlog.tallied import tallied
from wetrun.fieldlog.trace import Trace
from wetrun.papers.exact_words import exact_lines, fit_lines
from wetrun.papers.reader import Reader
from wetrun.papers.replay_words import WHY_UNLIKE, WHY_UNLIKE_EXACT, replay_lines
from wetrun.papers.stage_words import stage_replay_sentences
from wetrun.planning.evidence import evidence_of_logs
from wetrun.planning.exact_answer import ExactAnswer, exact_answer
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.over_logs import tallied_by_pass
from wetrun.planning.passes import Pass
from wetrun.planning.replaying import ReplayedPass, replayed_pass
from wetrun.planning.stage_replay import StageAreas, stage_replay
from wetrun.planning.stages import StagePlan, stage_plan
from wetrun.planning.tip_set import TipSet, hydraulics, tip_sets
from wetrun.planning.window import Trial

FORMAT_VERSION: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplayRequest:
    """What was asked on the command line."""

    season: Path
    logs: tuple[Path, ...]
    pass_name: str | None = None
    tip: str | None = None
    log_map: Path | None = None
    units: str | None = None
    as_json: bool = False
    exact: ExactRequest = field(default_factory=ExactRequest)


def run_replay(request: ReplayRequest) -> None:
    """Replay a set over logs and tell what it would have done.

    Parameters
    ----------
    request : ReplayRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with season, logs, pass or tip.
    """
    request.exact.check()
    season_file = read_season(request.season)
    reader = Reader(system_shown(request.units, season_file.units))
    planned = _pass_named(season_file, request.pass_name)
    log_map = request.log_map or season_file.log_maps.get(planned.ident)
    traces = traces_of(request.logs, log_map)
    trial = _trial(season_file, planned, request, traces)
    told = tuple(_told(trial, trace, season_file, request, number=number) for number, trace in enumerate(traces))
    if request.as_json:
        replays = [plain for one in told for plain in _plain_log(one)]
        print_json({"format_version": FORMAT_VERSION, "replays": replays})
    else:
        for line in (line for one in told for line in _log_lines(one, reader)):
            say(line)
    _tell_refused([one.written.refused for one in told if one.written is not None and one.written.refused is not None])


def _tell_refused(refused: Sequence[WetrunError]) -> None:
    """Say which maps there are not; the replays stand without them, so this comes after them."""
    for one in refused[1:]:
        say_aside(str(one))
    if refused:
        raise refused[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class _ToldLog:
    """Everything about one log: its own machine's lag, and per rate the settled replay and the exact one."""

    trace: Trace
    finding: LagFinding | None
    replays: tuple[tuple[ReplayedPass, ExactAnswer | None], ...]
    stages: tuple[StagePlan, StageAreas] | None
    written: WrittenMap | None


def _told(trial: Trial, trace: Trace, season_file: SeasonFile, request: ReplayRequest, *, number: int) -> _ToldLog:
    control, exact = season_file.season.sprayer.control, request.exact
    off_below_mps = control.off_below_mps or 0.0
    finding = fitted(trace, exact, trial.planned.tolerance_frac)
    lag = response_asked(exact, season_file, finding) if exact.wanted(control.response) else None
    replays = [
        (
            replayed_pass(trial, trace, rate, off_below_mps),
            exact_answer(trial, trace, rate, sprayer=season_file.season.sprayer, lag=lag, worst=exact.worst)
            if lag
            else None,
        )
        for rate in _rates(trace, trial.planned)
    ]
    first = replays[0][1]
    written = None if first is None else written_map(first, exact, number=number, facts=_map_facts(trial, trace))
    stages = _staged(trial.planned, trace, season_file)
    return _ToldLog(trace=trace, finding=finding, replays=tuple(replays), stages=stages, written=written)


def _staged(planned: Pass, trace: Trace, season_file: SeasonFile) -> tuple[StagePlan, StageAreas] | None:
    """The two sets a pass names, over one log at the pass's rate."""
    if not planned.at_once:
        return None
    plan = stage_plan(planned, season_file.season.sprayer, season_file.catalogue)
    return plan, stage_replay(trace, plan, tolerance_frac=planned.tolerance_frac)


def _map_facts(trial: Trial, trace: Trace) -> dict[str, str | float | None]:
    """What the map is of: the first of the replays, at the rate of the pass."""
    return {
        "log": trace.facts.file,
        "pass": trial.planned.ident,
        "tip": trial.tip_set.tip.ident,
        "rate_from": "the pass",
        "rate_m3pm2": trial.planned.rate_m3pm2,
    }


def _log_lines(told: _ToldLog, reader: Reader) -> Iterator[str]:
    if told.finding is not None:
        yield f"== {told.trace.facts.file}: what it says about its own machine =="
        yield from fit_lines(told.finding, told.trace, reader)
        yield ""
    for done, exact in told.replays:
        why = WHY_UNLIKE if exact is None else WHY_UNLIKE_EXACT
        yield from replay_lines(told.trace, done, reader, why=why)
        if exact is not None:
            yield from exact_lines(exact, reader)
        yield ""
    if told.stages is not None:
        plan, areas = told.stages
        tolerance_frac = told.replays[0][0].trial.planned.tolerance_frac
        yield from stage_replay_sentences(areas, plan, tolerance_frac=tolerance_frac)
    mapped = told.replays[0][1]
    if told.written is not None and mapped is not None:
        yield from map_lines(told.written, mapped.tally.total_cm2, reader)


def _plain_log(told: _ToldLog) -> Iterator[dict[str, Any]]:
    for place, (done, exact) in enumerate(told.replays):
        plain = _plain(told.trace, done)
        if exact is not None:
            plain["why_they_differ"] = WHY_UNLIKE_EXACT
            plain["exact"] = plain_exact(exact, told.written if place == 0 else None)
        if told.finding is not None:
            plain["fit"] = plain_fit(told.finding)
        if told.stages is not None:
            plain["two_sets_at_once"] = plain_stage_areas(told.stages[1])
        yield plain


def _rates(trace: Trace, planned: Pass) -> tuple[float | None, ...]:
    """The planned rate, and the log's own target where it has one."""
    has_target = bool((trace.target_m3pm2 > 0).any())
    return (planned.rate_m3pm2, None) if has_target else (planned.rate_m3pm2,)


def _pass_named(season_file: SeasonFile, name: str | None) -> Pass:
    passes = season_file.season.passes
    if name is None:
        return passes[0]
    for planned in passes:
        if planned.ident == name:
            return planned
    known = ", ".join(planned.ident for planned in passes)
    raise InputProblems([Problem("--pass", name, "", "the season has no such pass", f"Name one of: {known}.")])


def _trial(season_file: SeasonFile, planned: Pass, request: ReplayRequest, traces: Sequence[Trace]) -> Trial:
    sprayer = season_file.season.sprayer
    if request.tip is None:
        chosen = _planned_set(season_file, planned, request, traces)
        if chosen is None:
            remedy = "Name a tip with --tip, or see `wetrun plan` for what stands in the way."
            raise NotDefined(f"pass {planned.ident!r}", reason="no tip set can be proposed", remedy=remedy)
        return chosen
    tip_set = _set_named(season_file, planned, request.tip)
    setup = hydraulics(tip_set, sprayer, planned.carrier)
    usual_mps = evidence_of_logs([tallied(trace) for trace in traces]).usual_mps
    return Trial(setup, tip_set, planned, combined_limits(planned), usual_mps)


def _planned_set(
    season_file: SeasonFile, planned: Pass, request: ReplayRequest, traces: Sequence[Trace]
) -> Trial | None:
    """The set the whole season's plan gives this pass; passes without speeds or logs stay out of that plan."""
    others = {ident: files for ident, files in season_file.log_paths.items() if ident != planned.ident}
    own = tallied_by_pass(season_file.season, {planned.ident: traces})
    known = {**tallied_logs(others, season_file, request.log_map), **own}
    passes = tuple(one for one in season_file.season.passes if one.ident in known or one.speeds is not None)
    whole = replace(season_file, season=replace(season_file.season, passes=passes))
    chosen = report_for(whole, known).plan.proposed.passes
    return next(one.trial for one in chosen if one.planned.ident == planned.ident)


def _set_named(season_file: SeasonFile, planned: Pass, ident: str) -> TipSet:
    sets = tip_sets(season_file.season.sprayer, season_file.catalogue, odd_positions=planned.odd_positions)
    for tip_set in sets:
        if tip_set.tip.ident == ident:
            return tip_set
    near = get_close_matches(ident, [one.tip.ident for one in sets], n=3, cutoff=0.5)
    remedy = f"Did you mean {' or '.join(near)}?" if near else "See `wetrun tips list`."
    raise InputProblems([Problem("--tip", ident, "", "there is no such tip", remedy)])


def _plain(trace: Trace, done: ReplayedPass) -> dict[str, Any]:
    return {
        "log": trace.facts.file,
        "pass": done.trial.planned.ident,
        "tip": done.trial.tip_set.tip.ident,
        "rate_m3pm2": done.rate_m3pm2,
        "readings": [_plain_result(result, done.trial.planned.tolerance_frac) for result in done.results],
        "logged_within_frac": None if done.logged is None else done.logged.within_frac,
        "logged_filter": None if done.logged is None else done.logged.words,
        "boom_flow_demanded_m3s": None if done.flows is None else done.flows.demanded_m3s.tolist(),
        "boom_flow_logged_m3s": None if done.flows is None else done.flows.logged_m3s.tolist(),
        "why_they_differ": WHY_UNLIKE,
    }


def _plain_result(result: ReplayResult, tolerance: float) -> dict[str, Any]:
    return {
        "reading": result.mode,
        "method": result.method,
        "method_number": result.method_number,
        "total_cm2": result.total_cm2,
        "held_cm2": int(result.held_cm2.sum()),
        "below_cm2": int(result.below_cm2.sum()),
        "above_cm2": int(result.above_cm2.sum()),
        "over_label_cm2": int(result.over_label_cm2.sum()),
        "left_out_cm2": result.left_out_cm2,
        "within_frac": result.within(tolerance),
    }
