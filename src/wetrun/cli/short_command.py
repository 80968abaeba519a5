"""`wetrun short`: the shortest useful wet run for the minutes there are, given what still holds."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from wetrun.cli.telling import print_json, say
from wetrun.documents.wetrun_day import read_wetrun_day
from wetrun.errors import InputProblems, Problem
from wetrun.machine.proofs import Proof
from wetrun.percent import per_cent
from wetrun.proving.run_day import day_machine
from wetrun.proving.short_run import ShortRun, Yard, short_run
from wetrun.spray.definitions import MINUTE_S

FORMAT_VERSION: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortRequest:
    """What was asked on the command line."""

    wetrun: Path
    minutes: float
    jugs: int = 6
    holds: tuple[str, ...] = ()
    as_json: bool = False


def run_short(request: ShortRequest) -> None:
    """Choose the tests worth the minutes there are, and tell them.

    Parameters
    ----------
    request : ShortRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the files, or a proof that is none.
    """
    held = tuple(_proof(words) for words in request.holds)
    file, guessed = read_wetrun_day(request.wetrun)
    yard = Yard(available_s=request.minutes * MINUTE_S, sections=len(file.run.machine.boom.section_tips))
    found = short_run(day_machine(file.run, request.jugs), yard, held)
    if request.as_json:
        print_json({"format_version": FORMAT_VERSION, **asdict(found), "guessed": guessed or None})
        return
    say(f"{file.title}: {request.minutes:.0f} minutes")
    if guessed:
        say(guessed)
    _tell(found)


def _proof(words: str) -> Proof:
    found = next((proof for proof in Proof if proof.value.casefold() == " ".join(words.split()).casefold()), None)
    if found is None:
        known = ", ".join(proof.value for proof in Proof)
        raise InputProblems([Problem("--holds", words, "", "no proof is called that", f"Name one of: {known}.")])
    return found


def _tell(found: ShortRun) -> None:
    if not found.steps:
        say("No test fits that time.")
    for number, step in enumerate(found.steps, start=1):
        left = per_cent(step.after_frac)
        say(f"{number}. {step.test.value}: {step.time_s / MINUTE_S:.0f} minutes, doubt of the rate then ± {left}")
    if found.steps:
        say(f"About {found.time_s / MINUTE_S:.0f} minutes with getting ready; before, ± {per_cent(found.before_frac)}.")
    say(f"Stays unproven: {'; '.join(found.unproven) or 'nothing that matters to the rate'}.")
    if found.later:
        say(f"To be booked: {', '.join(test.value for test in found.later)}.")
    say("What tests take is common practice, no source.")
    say("Clean water only. A used sprayer's plumbing is contaminated: wear what the label asks for.")
