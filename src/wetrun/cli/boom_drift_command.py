"""`wetrun boom drift`: what published trials found beside fields, and what becomes of single drops."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Final

from wetrun.cli.telling import print_json, say, say_table
from wetrun.cli.typed_option import typed_option
from wetrun.errors import InputProblems, Problem
from wetrun.papers.drift_words import (
    DROP_HEADINGS,
    NEVER_A_BUFFER,
    SEDIMENT_HEADINGS,
    drift_sentences,
    drop_rows,
    sediment_rows,
)
from wetrun.papers.reader import Reader
from wetrun.planning.drift_outlook import METHOD, METHOD_NUMBER, DriftQuestion, drift_outlook
from wetrun.quantity import Kind, System

FORMAT_VERSION: Final = 1
USUAL: Final = {System.US: (5.0, 10.0, 25.0, 50.0, 100.0, 150.0), System.SI: (1.0, 3.0, 5.0, 10.0, 20.0, 50.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftRequest:
    """What was asked on the command line."""

    height: str
    wind: str
    speed: str | None = None
    dry: str | None = None
    wet: str | None = None
    applications: int = 1
    distances: tuple[str, ...] = ()
    units: str | None = None
    as_json: bool = False


def run_boom_drift(request: DriftRequest) -> None:
    """Tell drift as an order of magnitude.

    Parameters
    ----------
    request : DriftRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with an option.
    """
    if (request.dry is None) != (request.wet is None):
        problem = Problem("--dry, --wet", "", "", "one of two temperatures is missing", "Type both, or neither.")
        raise InputProblems([problem])
    reader = Reader(System(request.units or System.US))
    distances_m = tuple(typed_option("--distance", text, Kind.LENGTH) for text in request.distances)
    usual_m = tuple(reader.inside(distance, Kind.LENGTH) for distance in USUAL[reader.system])
    outlook = drift_outlook(_question(request), distances_m=distances_m or usual_m)
    if request.as_json:
        told = {"method": METHOD, "method_number": METHOD_NUMBER, **asdict(outlook), "caution": NEVER_A_BUFFER}
        print_json({"format_version": FORMAT_VERSION, **told})
        return
    say(NEVER_A_BUFFER)
    say_table(SEDIMENT_HEADINGS, sediment_rows(outlook, reader))
    say_table(DROP_HEADINGS, drop_rows(outlook, reader))
    for sentence in drift_sentences(outlook)[:-1]:
        say(sentence)


def _question(request: DriftRequest) -> DriftQuestion:
    temperatures = {"dry": request.dry, "wet": request.wet}
    read_k = {
        name: None if text is None else typed_option(f"--{name}", text, Kind.TEMPERATURE)
        for name, text in temperatures.items()
    }
    return DriftQuestion(
        height_m=typed_option("--height", request.height, Kind.HEIGHT),
        wind_mps=typed_option("--wind", request.wind, Kind.SPEED),
        speed_mps=None if request.speed is None else typed_option("--speed", request.speed, Kind.SPEED),
        dry_k=read_k["dry"],
        wet_k=read_k["wet"],
        applications=request.applications,
    )
