"""`wetrun fleet`: every machine's logs tallied, every machine planned, and the shop's parts list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

from wetrun.cli.fleet_files import FLEET_FILE, NOT_USED_FILE, NOTES_FILE, PARTS_FILE, parts_csv, plan_name, told_csv
from wetrun.cli.fleet_notes import LogNote, shared_drives
from wetrun.cli.fleet_progress import FleetProgress
from wetrun.cli.fleet_text import closing_lines, opening_line
from wetrun.cli.fleet_told import MachineTask, MachineTold, machines_told
from wetrun.cli.plain_fleet import NotUsed, plain_fleet, strangers
from wetrun.cli.shown_units import system_shown
from wetrun.cli.telling import json_text, print_json, progress_on_stderr, say
from wetrun.errors import CannotWrite, InputProblems
from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS, Limits
from wetrun.fleet.cache import LedgerCache, default_folder
from wetrun.fleet.cluster import Cluster, check_address
from wetrun.fleet.engine import Engine
from wetrun.fleet.journal import Journal
from wetrun.fleet.keys import method_words
from wetrun.fleet.machines import Fleet, FleetLog, Machine, fleet_in
from wetrun.fleet.parts import PartsLine, parts_list
from wetrun.fleet.pool import Pool, cores
from wetrun.fleet.probe import Probe
from wetrun.fleet.tally_task import LogOutcome
from wetrun.fleet.tallying import Keeping, outcomes_of
from wetrun.fleet.work import Work, moved, size_of, work_of
from wetrun.papers.folder import write_all


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetRequest:
    """What was asked on the command line."""

    seasons: tuple[Path, ...]
    logs_dir: Path
    cluster: str | None = None
    workers: int | None = None
    cache: Path | None = None
    limits: Limits = DEFAULT_LIMITS
    units: str | None = None
    out: Path | None = None
    as_json: bool = False


def run_fleet(request: FleetRequest) -> None:
    """Plan a fleet and tell the answer.

    Parameters
    ----------
    request : FleetRequest
        What was asked.

    Raises
    ------
    WetrunError
        If there is no season at all, the cluster's address is none, the workers cannot work, or a result cannot be
        written. What is wrong with single seasons and logs is told in the answer.
    SystemExit
        After the answer, with the number of what was wrong, where no machine at all could be planned.
    """
    if request.cluster is not None:
        check_address(request.cluster)
    fleet = fleet_in(request.seasons, request.logs_dir)
    cache = LedgerCache(request.cache or default_folder())
    cache.sweep()
    keeping = Keeping(cache, None if request.out is None else Journal(request.out))
    machines = _machines(fleet, keeping, request)
    parts = parts_list(order for one in machines for order in one.orders)
    not_used = (*strangers(fleet, request.logs_dir), *(found for one in machines for found in one.not_used))
    notes = (
        *shared_drives([found for one in machines for found in one.drives]),
        *(found for one in machines for found in one.notes),
    )
    plans = {str(one.plain["name"]): one.plain["plan"] for one in machines if one.plain["plan"] is not None}
    written: tuple[Path, ...] = ()
    if request.out is not None:
        written = write_all(request.out, _documents(plans, parts, notes, not_used), replaces=FLEET_FILE)
    if request.as_json:
        told = plain_fleet([one.plain for one in machines], parts, not_used, written)
        print_json({**told, "notes": [asdict(one) for one in notes]})
    else:
        _say_all(fleet, machines, closing_lines(parts, notes, not_used), written)
    if not plans:
        raise SystemExit(_exit_code(fleet, machines))


def _say_all(fleet: Fleet, machines: Sequence[MachineTold], closing: Iterable[str], written: Sequence[Path]) -> None:
    planned = sum(one.plain["plan"] is not None for one in machines)
    say(opening_line(fleet, planned, (sum(one.used for one in machines), sum(one.refused for one in machines))))
    for line in (*(line for one in machines for line in one.lines), *closing):
        say(line)
    for path in written:
        say(f"Written: {path}")


def _exit_code(fleet: Fleet, machines: Sequence[MachineTold]) -> int:
    """The least number of what was wrong, so that what somebody typed comes before what a log is like."""
    return min((*(InputProblems.exit_code for _ in fleet.wrong), *(one.exit_code for one in machines)))


def _machines(fleet: Fleet, keeping: Keeping, request: FleetRequest) -> tuple[MachineTold, ...]:
    """Every log tallied, then every machine planned, by the same workers wherever they see the cache."""
    work = work_of(fleet.machines, cache=keeping.cache.folder, limits=request.limits)
    with ExitStack() as stack:
        pool = stack.enter_context(Pool(request.workers or cores()))
        tallying: Engine = pool
        planning: Engine = pool
        if request.cluster is not None:
            cluster = stack.enter_context(Cluster(request.cluster))
            work, shared = _as_seen(work, cluster, keeping.cache)
            tallying, planning = cluster, cluster if shared else pool
        outcomes = _outcomes(work, tallying, keeping)
        tasks = [
            _machine_task(machine, work, outcomes, cache=keeping.cache, request=request) for machine in fleet.machines
        ]
        with progress_on_stderr() as bar:
            bar.add_task(f"planning {len(tasks)} machines", total=None)
            return machines_told(tasks, planning)


def _outcomes(work: Work, engine: Engine, keeping: Keeping) -> dict[FleetLog, LogOutcome]:
    sizes = [size_of(task) for task in work.tasks.values()]
    with FleetProgress(len(sizes), sum(sizes)) as progress:
        return outcomes_of(work, engine, keeping, watcher=progress)


def _machine_task(
    machine: Machine,
    work: Work,
    outcomes: Mapping[FleetLog, LogOutcome],
    *,
    cache: LedgerCache,
    request: FleetRequest,
) -> MachineTask:
    mine = dict.fromkeys(log for logs in machine.logs.values() for log in logs)
    return MachineTask(
        machine=machine,
        outcomes={log: outcomes[log] for log in mine},
        tasks={log: work.tasks[log] for log in mine},
        cache=cache,
        logs_dir=request.logs_dir,
        system=system_shown(request.units, machine.season_file.units),
    )


def _as_seen(work: Work, cluster: Cluster, cache: LedgerCache) -> tuple[Work, bool]:
    """The work as this cluster can do it, and whether every worker sees the cache; else tallied logs are sent back."""
    folders = {file.parent: file for task in work.tasks.values() for file in task.parts if file.is_file()}
    files = tuple((file, file.stat().st_size) for file in folders.values())
    mark = cache.folder / f".{uuid4().hex}.mark"
    try:
        cache.folder.mkdir(parents=True, exist_ok=True)
        mark.touch()
        shared = cluster.check_sees(Probe(method_words(), files, cache.folder, mark.name))
    except OSError as trouble:
        remedy = "Name another folder with --cache."
        raise CannotWrite(str(cache.folder), reason=(trouble.strerror or str(trouble)).lower(), remedy=remedy) from None
    finally:
        mark.unlink(missing_ok=True)
    return (work if shared else moved(work, None)), shared


def _documents(
    plans: Mapping[str, dict[str, Any]],
    parts: Sequence[PartsLine],
    notes: Sequence[LogNote],
    not_used: Sequence[NotUsed],
) -> dict[str, bytes]:
    """The files of the run, by name."""
    return {
        **{plan_name(name): f"{json_text(plan)}\n".encode() for name, plan in plans.items()},
        PARTS_FILE: parts_csv(parts),
        NOTES_FILE: told_csv(notes),
        NOT_USED_FILE: told_csv(not_used),
    }
