"""A fleet as plain data: machines with their plans, the parts list, and everything that was not used."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from wetrun.cli.plain_plan import plain_report
from wetrun.fieldlog.tallied import TalliedLog, each_drive_once
from wetrun.fieldlog.trace import CM2_PER_M2
from wetrun.fleet.answers import MachineAnswer
from wetrun.fleet.machines import Fleet, FleetLog
from wetrun.fleet.parts import PartsLine
from wetrun.units import M2

FORMAT_VERSION: Final = 1
STRANGER: Final = "It lies in no machine's folder: put it in one that bears the name of a season file."


@dataclass(frozen=True, slots=True)
class NotUsed:
    """Something that was found and not used: ``kind`` is season, machine, log, part of a log, or copy."""

    kind: str
    machine: str
    path: str
    sentence: str


def place_of(path: Path, logs_dir: Path) -> str:
    """Return where a log lies, as told to people: its place in the folder of logs, or its whole path outside it."""
    return str(path.relative_to(logs_dir)) if path.is_relative_to(logs_dir) else str(path)


def strangers(fleet: Fleet, logs_dir: Path) -> tuple[NotUsed, ...]:
    """Return what belongs to no machine that could be planned: seasons with mistakes, logs in no machine's folder."""
    seasons = [NotUsed("season", "", one.file, text) for one in fleet.wrong for text in one.sentences]
    return (*seasons, *(NotUsed("log", "", place_of(path, logs_dir), STRANGER) for path in fleet.unmatched))


def not_used_of(answer: MachineAnswer, logs_dir: Path) -> tuple[NotUsed, ...]:
    """Return what was not used of one machine: the whole of it, logs, parts of logs, copies.

    Parameters
    ----------
    answer : MachineAnswer
        What is said of it.
    logs_dir : Path
        Folder of logs.

    Returns
    -------
    tuple of NotUsed
        With a sentence each.
    """
    machine = answer.machine
    found = [NotUsed("machine", machine.name, machine.season_file.path.name, text) for text in answer.wrong]
    for log, sentences in answer.told.items():
        kind = "log" if log in answer.refused else "part of a log"
        found += [NotUsed(kind, machine.name, place_of(log.log_set.path, logs_dir), text) for text in sentences]
    folder = next((place_of(log.log_set.path.parent, logs_dir) for log in answer.logs), "")
    return (*found, *(NotUsed("copy", machine.name, folder, text) for text in each_drive_once(made_of(answer))[1]))


def plain_machine(answer: MachineAnswer, logs_dir: Path) -> dict[str, Any]:
    """Return what is said of one machine, as plain data.

    Parameters
    ----------
    answer : MachineAnswer
        What is said of it.
    logs_dir : Path
        Folder of logs.

    Returns
    -------
    dict
        Its ``plan`` is what `wetrun plan --json` prints over the same logs.
    """
    return {
        "name": answer.machine.name,
        "file": str(answer.machine.season_file.path),
        "wrong": list(answer.wrong),
        "logs": [_log(log, made, logs_dir) for log, made in answer.logs.items()],
        "plan": None if answer.report is None else plain_report(answer.report, ()),
    }


def made_of(answer: MachineAnswer) -> tuple[TalliedLog, ...]:
    """Return everything that was made of the logs of a machine."""
    return tuple(one for made in answer.logs.values() for one in made)


def driven_m2(made: Sequence[TalliedLog]) -> M2:
    """Return the area logs were driven over [m2], each drive once."""
    return sum(one.ledger.total_cm2 for one in each_drive_once(made)[0]) / CM2_PER_M2


def plain_parts(parts: Sequence[PartsLine]) -> Iterator[dict[str, Any]]:
    """Yield each line of the parts list as plain data."""
    for line in parts:
        yield {
            "tip": line.ident,
            "words": line.words,
            "size": line.size,
            "family": line.family,
            "count": line.count,
            "cost_cents": line.cost_cents,
            "for": [
                {"machine": one.machine, "customer": one.customer, "count": one.count, "cost_cents": one.cost_cents}
                for one in line.orders
            ],
        }


def plain_fleet(
    machines: Sequence[dict[str, Any]], parts: Sequence[PartsLine], not_used: Sequence[NotUsed], written: Sequence[Path]
) -> dict[str, Any]:
    """Return a fleet as plain data, ready for JSON but for infinities."""
    return {
        "format_version": FORMAT_VERSION,
        "machines": list(machines),
        "parts": list(plain_parts(parts)),
        "not_used": [asdict(one) for one in not_used],
        "written": [str(path) for path in written],
    }


def _log(log: FleetLog, made: Sequence[TalliedLog], logs_dir: Path) -> dict[str, Any]:
    return {
        "path": place_of(log.log_set.path, logs_dir),
        "rows": sum(one.facts.rows for one in made),
        "instants": sum(one.ledger.instants for one in made),
        "area_m2": driven_m2(made),
        "methods": sorted({f"{one.ledger.method}, number {one.ledger.method_number}" for one in made}),
    }
