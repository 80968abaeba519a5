"""One machine from its tallied logs to what is told of it: the second half of a run, done by the workers as well."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wetrun.cli.fleet_notes import Driven, LogNote, drives_of, notes_of
from wetrun.cli.fleet_text import machine_lines
from wetrun.cli.plain_fleet import NotUsed, not_used_of, plain_machine
from wetrun.errors import WetrunError, WorkersFailed
from wetrun.fleet.answers import answer_for
from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.engine import Died, Engine
from wetrun.fleet.machines import FleetLog, Machine
from wetrun.fleet.parts import Order, orders_of
from wetrun.fleet.tally_task import LogOutcome, LogTask
from wetrun.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineTask:
    """A machine to be planned, with what came of its logs.

    Attributes
    ----------
    machine : Machine
        The season with its logs.
    outcomes : mapping of FleetLog to LogOutcome
        What came of each log.
    tasks : mapping of FleetLog to LogTask
        What each log was asked, in case it has to be asked again.
    cache : LedgerCache
        Where tallied logs are kept.
    logs_dir : Path
        Folder of logs.
    system : System
        The reader's unit system.
    """

    machine: Machine
    outcomes: Mapping[FleetLog, LogOutcome]
    tasks: Mapping[FleetLog, LogTask]
    cache: LedgerCache
    logs_dir: Path
    system: System


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineTold:
    """What is told of one machine.

    Attributes
    ----------
    plain : dict
        As plain data, with its plan.
    lines : tuple of str
        For the terminal.
    orders : tuple of Order
        What to buy.
    not_used : tuple of NotUsed
        Logs and parts of logs, or the whole machine.
    notes : tuple of LogNote
        What there is to look at in logs that were used.
    drives : tuple of Driven
        To be held against those of other machines.
    used, refused : int
        Logs.
    exit_code : int
        That of what was wrong; 0 for a machine that is planned.
    """

    plain: dict[str, Any]
    lines: tuple[str, ...] = ()
    orders: tuple[Order, ...] = ()
    not_used: tuple[NotUsed, ...] = ()
    notes: tuple[LogNote, ...] = ()
    drives: tuple[Driven, ...] = ()
    used: int = 0
    refused: int = 0
    exit_code: int = 0


def machine_told(task: MachineTask) -> MachineTold:
    """Return what is told of one machine.

    Parameters
    ----------
    task : MachineTask
        The machine.

    Returns
    -------
    MachineTold
        A machine that cannot be planned comes back with its sentences.
    """
    machine = task.machine
    try:
        answer = answer_for(machine, task.outcomes, task.tasks, task.cache)
    except Exception as fault:  # noqa: BLE001 - one machine must not take four hundred others with it
        words = f"Wetrun failed on it ({type(fault).__name__}: {fault}). Send it to whoever keeps Wetrun."
        return failed(task, words, WetrunError.exit_code)
    return MachineTold(
        plain=plain_machine(answer, task.logs_dir),
        lines=tuple(machine_lines(answer, task.system)),
        orders=() if answer.report is None else orders_of(machine.name, answer.report),
        not_used=not_used_of(answer, task.logs_dir),
        notes=notes_of(answer, task.logs_dir),
        drives=drives_of(answer, task.logs_dir),
        used=len(answer.logs),
        refused=len(answer.refused),
        exit_code=answer.exit_code,
    )


def machines_told(tasks: Sequence[MachineTask], engine: Engine) -> tuple[MachineTold, ...]:
    """Return what is told of every machine, in the order given.

    Parameters
    ----------
    tasks : sequence of MachineTask
        The machines.
    engine : Engine
        What carries the work out.

    Returns
    -------
    tuple of MachineTold
        One each.
    """
    done = dict(engine.results(machine_told, tasks))
    ordered = ((task, done[at]) for at, task in enumerate(tasks))
    return tuple(
        failed(task, told.words, WorkersFailed.exit_code) if isinstance(told, Died) else told for task, told in ordered
    )


def failed(task: MachineTask, words: str, exit_code: int) -> MachineTold:
    """Return what is told of a machine whose plan came to nothing."""
    name, file = task.machine.name, task.machine.season_file.path
    plain = {"name": name, "file": str(file), "wrong": [words], "logs": [], "plan": None}
    heading = f"== {name}: {task.machine.season_file.season.customer} =="
    not_used = (NotUsed("machine", name, file.name, words),)
    return MachineTold(plain=plain, lines=("", heading, words), not_used=not_used, exit_code=exit_code)
