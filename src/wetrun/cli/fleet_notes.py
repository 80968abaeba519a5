"""What there is to look at in logs a fleet did use: their doubts, and drives that lie with two machines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.cli.plain_fleet import place_of
from wetrun.fieldlog.tallied import TalliedLog
from wetrun.fieldlog.trace import DO_NOT_PLAN
from wetrun.fleet.answers import MachineAnswer
from wetrun.planning.report import log_doubts

DOUBT: Final = "doubt"
BAD: Final = "not to plan by"
SHARED: Final = "two machines"
TAKE_OUT: Final = "Its machine is planned by it all the same: take it out of the folder and run again."
WHOSE: Final = "Leave it with the one that drove it; no harm is done if both season files are of one machine."


@dataclass(frozen=True, slots=True)
class LogNote:
    """Something about a log that was used: ``kind`` is doubt, not to plan by, or two machines."""

    kind: str
    machine: str
    path: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Driven:
    """A drive and where it lies, to be held against those of other machines."""

    drive: str
    machine: str
    path: str


def doubts_of(answer: MachineAnswer, made: Sequence[TalliedLog]) -> tuple[str, ...]:
    """Return the doubts about one log of a machine, as the machine's plan tells them."""
    boom_width_m = answer.machine.season_file.season.sprayer.boom.width_m
    return tuple(dict.fromkeys(text for one in made for text in log_doubts(one, boom_width_m)))


def notes_of(answer: MachineAnswer, logs_dir: Path) -> tuple[LogNote, ...]:
    """Return every doubt about the logs a machine is planned by.

    Parameters
    ----------
    answer : MachineAnswer
        What is said of it.
    logs_dir : Path
        Folder of logs.

    Returns
    -------
    tuple of LogNote
        A log that nobody should plan by has a kind of its own.
    """
    name = answer.machine.name
    return tuple(
        LogNote(BAD, name, place_of(log.log_set.path, logs_dir), f"{text} {TAKE_OUT}")
        if DO_NOT_PLAN in text
        else LogNote(DOUBT, name, place_of(log.log_set.path, logs_dir), text)
        for log, made in answer.logs.items()
        for text in doubts_of(answer, made)
    )


def drives_of(answer: MachineAnswer, logs_dir: Path) -> tuple[Driven, ...]:
    """Return the drives of a machine; one without instants is no drive, and all such look alike."""
    name = answer.machine.name
    return tuple(
        Driven(one.drive, name, place_of(log.log_set.path, logs_dir))
        for log, made in answer.logs.items()
        for one in made
        if one.ledger.instants
    )


def shared_drives(drives: Sequence[Driven]) -> tuple[LogNote, ...]:
    """Return a note for each machine that has a drive another machine has too.

    Parameters
    ----------
    drives : sequence of Driven
        Those of all machines.

    Returns
    -------
    tuple of LogNote
        In the order given; each names the other machines and where the drive lies there.

    Example
    -------
    >>> found = shared_drives([Driven("d", "north", "north/a.csv"), Driven("d", "south", "south/b.csv")])
    >>> [one.machine for one in found], found[0].sentence.split(",")[0]
    (['north', 'south'], 'the very same drive is that of south (south/b.csv)')
    """
    alike: dict[str, dict[str, Driven]] = {}
    for one in drives:
        alike.setdefault(one.drive, {}).setdefault(one.machine, one)
    notes = (_shared(one, alike[one.drive]) for one in dict.fromkeys(drives))
    return tuple(dict.fromkeys(note for note in notes if note is not None))


def note_lines(notes: Sequence[LogNote]) -> Iterator[str]:
    """Yield the logs to look at, for the terminal: plain doubts are counted with their machine and left out here."""
    told = [one for one in notes if one.kind != DOUBT]
    if told:
        yield ""
        yield "== Logs to look at =="
    for one in told:
        yield f"{one.kind} ({one.machine}) {one.path} – {one.sentence}"


def _shared(one: Driven, by_machine: Mapping[str, Driven]) -> LogNote | None:
    others = [f"{other.machine} ({other.path})" for name, other in by_machine.items() if name != one.machine]
    if not others:
        return None
    words = f"the very same drive is that of {', '.join(others)}, and one drive cannot be two machines'"
    return LogNote(SHARED, one.machine, one.path, f"{words}; each plan counts it. {WHOSE}")
