"""`wetrun boom even`: how even a machine's boom lays, as it hangs, with its own catches and its tip's own pattern."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from wetrun.cli.shown_units import paper_shown, system_shown
from wetrun.cli.telling import print_json, say
from wetrun.cli.typed_option import typed_option
from wetrun.documents.groove_file import read_grooves
from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.errors import InputProblems, NotDefined, Problem
from wetrun.machine.catalogue import tip_named
from wetrun.papers.even_view import even_sentences
from wetrun.papers.reader import Reader
from wetrun.planning.boom_even import METHOD, METHOD_NUMBER, BoomEven, EvenQuestion, boom_even
from wetrun.quantity import Kind
from wetrun.spray.boom_lie import BoomLie, LaidBoom
from wetrun.spray.bounds import FloatArray
from wetrun.spray.fan_source import AngledFan, CaughtFan, FanSource, runs_near
from wetrun.spray.overlap import IN_USE, NEW_AT_STATED, NEW_OVER_RANGE
from wetrun.units import Pa

FORMAT_VERSION: Final = 1
RULES: Final = {"in use": IN_USE, "new at stated height": NEW_AT_STATED, "new over the range": NEW_OVER_RANGE}


@dataclass(frozen=True, slots=True, kw_only=True)
class EvenRequest:
    """What was asked on the command line."""

    season: Path
    tip: str
    height: str
    pressure: str
    grooves: Path | None = None
    catches: Path | None = None
    missing: tuple[int, ...] = ()
    roll: str | None = None
    yaw: str | None = None
    twist: str | None = None
    even_edge: str | None = None
    rule: str = "in use"
    units: str | None = None
    out: Path | None = None
    paper: str | None = None
    as_json: bool = False


def run_boom_even(request: EvenRequest) -> None:
    """Tell how even a boom lays.

    Parameters
    ----------
    request : EvenRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with a file or an option.
    """
    season_file = read_season(request.season, logs_needed=False)
    reader = Reader(system_shown(request.units, season_file.units))
    even = boom_even(_question(request, season_file))
    written = _written(even, reader, request, season_file)
    if request.as_json:
        print_json({"format_version": FORMAT_VERSION, "written": [str(path) for path in written], **_plain(even)})
        return
    say(f"{season_file.season.sprayer.name}, tips {request.tip}:")
    for sentence in even_sentences(even, reader):
        say(sentence)
    for path in written:
        say(f"Written: {path}")


def _question(request: EvenRequest, season_file: SeasonFile) -> EvenQuestion:
    if request.rule not in RULES:
        problem = Problem("--rule", request.rule, "", "there is no such rule", f"Name one of: {', '.join(RULES)}.")
        raise InputProblems([problem])
    pressure_pa = typed_option("--pressure", request.pressure, Kind.PRESSURE)
    return EvenQuestion(
        boom=season_file.season.sprayer.boom,
        source=_source(request, season_file, pressure_pa),
        lie=BoomLie(
            height_m=typed_option("--height", request.height, Kind.HEIGHT),
            roll_rad=_angle("--roll", request.roll),
            yaw_rad=_angle("--yaw", request.yaw),
            twist_rad=_angle("--twist", request.twist),
        ),
        limit=RULES[request.rule],
        flows_m3s=None if request.catches is None else _caught(request.catches),
        missing=request.missing,
    )


def _angle(option: str, text: str | None) -> float:
    if text is None:
        return 0.0
    sign, plain = (-1.0, text.strip()[1:]) if text.strip()[:1] in {"-", "−"} else (1.0, text)
    return sign * typed_option(option, plain, Kind.ANGLE, positive=False)


def _source(request: EvenRequest, season_file: SeasonFile, pressure_pa: Pa) -> FanSource:
    if request.grooves is not None:
        return CaughtFan(runs_near(read_grooves(request.grooves).runs, pressure_pa))
    tip = tip_named(season_file.catalogue, request.tip)
    if tip.pattern is None:
        remedy = "Catch one over a tray and name the file with --grooves."
        raise NotDefined(f"pattern of {tip.ident}", reason="it has no fan", remedy=remedy)
    even_edge = None if request.even_edge is None else typed_option("--even-edge", request.even_edge, Kind.SHARE)
    return AngledFan(tip.pattern.angle_rad, pressure_pa, even_edge or 0.0)


def _caught(path: Path) -> FloatArray:
    """The flow of every position of a wet run [m3/s]."""
    from wetrun.documents.wetrun_file import read_wetrun
    from wetrun.proving.session import wet_run_result

    catch = wet_run_result(read_wetrun(path).run).findings.catch
    if catch is None or catch.gaps:
        reason = "it has no catch of every tip"
        raise NotDefined(f"catches of {path.name}", reason=reason, remedy="Catch the gaps, or leave --catches out.")
    return np.array([tip.caught.flow_m3s for tip in catch.tips])


def _written(even: BoomEven, reader: Reader, request: EvenRequest, season_file: SeasonFile) -> tuple[Path, ...]:
    if request.out is None:
        return ()
    from wetrun.papers.even_paper import write_evenness

    paper = paper_shown(request.paper, reader.system)
    machine, tips = season_file.season.sprayer.name, f"{request.tip} at {request.pressure}"
    return write_evenness(even, request.out, reader, machine=machine, tips=tips, paper=paper)


def _plain(even: BoomEven) -> dict[str, Any]:
    question = even.question
    return {
        "method": METHOD,
        "method_number": METHOD_NUMBER,
        "pattern": question.source.words,
        "rule": question.limit.name,
        "standing": even.standing,
        "lie": asdict(question.lie),
        **_plain_laid(even.laid),
        "level": None if even.level is None else _plain_laid(even.level),
        "heights": [asdict(one) for one in even.stretches],
        "endless_cv_frac": list(even.endless_frac),
    }


def _plain_laid(laid: LaidBoom) -> dict[str, Any]:
    narrow, wide = laid.both
    return {"narrow": asdict(narrow), "wide": asdict(wide)}
