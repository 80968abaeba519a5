"""`wetrun boom pulse`: a tip set on a pulse-width machine at several set pressures."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from wetrun.cli.shown_units import system_shown
from wetrun.cli.telling import print_json, say, say_table
from wetrun.cli.typed_option import typed_option
from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.errors import InputProblems, NotDefined, Problem
from wetrun.papers.ladder import drop_words
from wetrun.papers.pass_data import window_words
from wetrun.papers.pulse_words import caution_words, gap_words
from wetrun.papers.reader import Reader, percent
from wetrun.planning.evidence import Evidence, evidence_of_stated
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import Pass
from wetrun.planning.pulse_pressures import METHOD, METHOD_NUMBER, PressureRow, pressure_rows
from wetrun.planning.tip_set import hydraulics, tip_sets
from wetrun.planning.window import Trial
from wetrun.quantity import Kind
from wetrun.units import Pa, Ratio

FORMAT_VERSION: Final = 1
HEADINGS: Final = ("set", "at the tip", "holds", "slow", "usual", "fast", "shut a pulse", "turns from", "droplets")
AROUND: Final[tuple[Ratio, ...]] = (0.6, 0.8, 1.0, 1.2, 1.4)
"""Set pressures tried where none is named, over the machine's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseRequest:
    """What was asked on the command line."""

    season: Path
    tip: str
    pass_name: str | None = None
    pressures: tuple[str, ...] = ()
    units: str | None = None
    as_json: bool = False


def run_boom_pulse(request: PulseRequest) -> None:
    """Tell what a set does on a pulse-width machine at several set pressures.

    Parameters
    ----------
    request : PulseRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the season, the pass, the tip or an option.
    """
    season_file = read_season(request.season, logs_needed=False)
    reader = Reader(system_shown(request.units, season_file.units))
    planned, trial, evidence = _asked(season_file, request)
    sprayer = season_file.season.sprayer
    rows = pressure_rows(
        trial, evidence, planned.rate_m3pm2, sprayer=sprayer, pressures_pa=_pressures_pa(request, trial)
    )
    if request.as_json:
        told = {"pass": planned.ident, "tip": request.tip, "method": METHOD, "method_number": METHOD_NUMBER}
        print_json({"format_version": FORMAT_VERSION, **told, "rows": [_plain(row) for row in rows]})
        return
    say(f"{planned.ident}, {request.tip} at {reader.rate(planned.rate_m3pm2)}, duty at slow, usual and fast:")
    say_table(HEADINGS, [_row(row, trial, reader) for row in rows], left=frozenset({2, 8}))
    own_pa = trial.setup.pulse.set_pressure_pa if trial.setup.pulse else 0.0
    nearest = min(rows, key=lambda row: abs(row.set_pressure_pa - own_pa))
    for words in caution_words(nearest.outlook):
        say(words)


def _asked(season_file: SeasonFile, request: PulseRequest) -> tuple[Pass, Trial, Evidence]:
    season = season_file.season
    names = [planned.ident for planned in season.passes]
    name = request.pass_name or names[0]
    if name not in names:
        problem = Problem("--pass", name, "", "the season has no such pass", f"Name one of: {', '.join(names)}.")
        raise InputProblems([problem])
    planned = season.passes[names.index(name)]
    if planned.speeds is None:
        remedy = "State slow, usual and fast in the season file; a log's speeds are for `wetrun plan`."
        raise NotDefined(f"speeds of {name}", reason="none are stated", remedy=remedy)
    sets = tip_sets(season.sprayer, season_file.catalogue, odd_positions=planned.odd_positions)
    tip_set = next((one for one in sets if one.tip.ident == request.tip), None)
    if tip_set is None:
        problem = Problem("--tip", request.tip, "", "there is no such tip", "See `wetrun tips list`.")
        raise InputProblems([problem])
    setup = hydraulics(tip_set, season.sprayer, planned.carrier)
    evidence = evidence_of_stated(planned.speeds, season.sprayer.boom.width_m)
    return planned, Trial(setup, tip_set, planned, combined_limits(planned), evidence.usual_mps), evidence


def _pressures_pa(request: PulseRequest, trial: Trial) -> list[Pa]:
    if request.pressures:
        return [typed_option("--set-pressure", text, Kind.PRESSURE) for text in request.pressures]
    pulse = trial.setup.pulse
    return [] if pulse is None else [ratio * pulse.set_pressure_pa for ratio in AROUND]


def _row(row: PressureRow, trial: Trial, reader: Reader) -> tuple[str, ...]:
    radius_m = row.outlook.least_radius_m
    return (
        reader.pressure(row.set_pressure_pa),
        reader.pressure(row.usual.tip_pa),
        window_words(row.window, reader),
        *(percent(one.duty_frac) for one in row.outlook.rows),
        gap_words(row.outlook.rows[1].gap_m, reader),
        "none" if math.isinf(radius_m) else reader.text(radius_m, Kind.LENGTH),
        drop_words(trial, row.usual),
    )


def _plain(row: PressureRow) -> dict[str, Any]:
    return {
        "set_pressure_pa": row.set_pressure_pa,
        "tip_pa": row.usual.tip_pa,
        "low_mps": row.window.low_mps,
        "high_mps": row.window.high_mps,
        "speeds": [asdict(one) for one in row.outlook.rows],
        "least_radius_m": row.outlook.least_radius_m,
        "droplets": None if row.usual.droplets is None else row.usual.droplets.words,
        "cautions": [caution.name.lower() for caution in row.outlook.cautions],
    }
