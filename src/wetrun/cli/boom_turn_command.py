"""`wetrun boom turn`: both ends of a machine's boom over turn radii."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from wetrun.cli.shown_units import system_shown
from wetrun.cli.telling import print_json, say, say_table
from wetrun.cli.typed_option import typed_option
from wetrun.documents.season_file import read_season
from wetrun.papers.reader import Reader
from wetrun.papers.turn_words import HEADINGS, turn_rows, turn_sentences
from wetrun.planning.boom_turn import METHOD, METHOD_NUMBER, BoomTurn, boom_turn
from wetrun.quantity import Kind, System
from wetrun.units import M

FORMAT_VERSION: Final = 1
USUAL_RADII: Final = {System.US: (60.0, 100.0, 150.0, 300.0), System.SI: (20.0, 30.0, 50.0, 100.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnRequest:
    """What was asked on the command line."""

    season: Path
    radii: tuple[str, ...] = ()
    duty: str = "70 %"
    tolerance: str = "10 %"
    units: str | None = None
    as_json: bool = False


def run_boom_turn(request: TurnRequest) -> None:
    """Tell what a boom's ends get in turns.

    Parameters
    ----------
    request : TurnRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the season or an option.
    """
    season_file = read_season(request.season, logs_needed=False)
    reader = Reader(system_shown(request.units, season_file.units))
    sprayer = season_file.season.sprayer
    turn = boom_turn(
        sprayer,
        _radii_m(request.radii, reader),
        tolerance_frac=typed_option("--tolerance", request.tolerance, Kind.SHARE),
        duty_frac=typed_option("--duty", request.duty, Kind.SHARE),
    )
    if request.as_json:
        print_json({"format_version": FORMAT_VERSION, "machine": sprayer.name, **_plain(turn)})
        return
    say(f"{sprayer.name}, {reader.exact(sprayer.boom.width_m, Kind.WIDTH)} boom, rate against the one wanted:")
    say_table(HEADINGS, turn_rows(turn, reader), left=frozenset({1}))
    for sentence in turn_sentences(turn, reader):
        say(sentence)


def _radii_m(typed: tuple[str, ...], reader: Reader) -> tuple[M, ...]:
    if typed:
        return tuple(typed_option("--radius", text, Kind.LENGTH) for text in typed)
    return tuple(reader.inside(radius, Kind.LENGTH) for radius in USUAL_RADII[reader.system])


def _plain(turn: BoomTurn) -> dict[str, object]:
    return {"method": METHOD, "method_number": METHOD_NUMBER, **asdict(turn)}
