"""A fleet as a person reads it in a terminal: machine by machine, then what to order, then what was not used."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wetrun.cli.fleet_notes import LogNote, doubts_of, note_lines
from wetrun.cli.plain_fleet import NotUsed, driven_m2, made_of
from wetrun.fieldlog.tallied import each_drive_once
from wetrun.fleet.answers import MachineAnswer
from wetrun.fleet.machines import Fleet
from wetrun.fleet.parts import PartsLine
from wetrun.papers.answer import answer_words, lost_words
from wetrun.papers.reader import Reader, money
from wetrun.papers.words import CAUTIONS, GENERIC_CAUTION
from wetrun.planning.report import PlanReport
from wetrun.quantity import System


def opening_line(fleet: Fleet, planned: int, logs: tuple[int, int]) -> str:
    """Return how much there was, as one sentence; ``logs`` are those used and those refused."""
    wrong, (used, refused) = len(fleet.wrong), logs
    parts = [
        f"{planned} of {_counted(len(fleet.machines) + wrong, 'machine')} planned",
        f"{_counted(used, 'log')} used",
    ]
    parts += [f"{refused} refused"] if refused else []
    parts += [f"{len(fleet.unmatched)} in no machine's folder"] if fleet.unmatched else []
    parts += [f"{_counted(wrong, 'season file')} with mistakes"] if wrong else []
    return f"{', '.join(parts)}."


def machine_lines(answer: MachineAnswer, system: System) -> Iterator[str]:
    """Yield what is said of one machine.

    Parameters
    ----------
    answer : MachineAnswer
        Its plan and logs.
    system : System
        The reader's unit system.

    Yields
    ------
    str
        A line.
    """
    season, reader = answer.machine.season_file.season, Reader(system)
    yield ""
    yield f"== {answer.machine.name}: {season.customer}, {season.sprayer.name} =="
    yield _evidence_line(answer, reader)
    yield from answer.wrong
    if answer.report is not None:
        yield f"{answer_words(answer.report.plan, reader)} {lost_words(answer.report.plan.proposed, reader)}"
        yield _to_buy(answer.report)


def closing_lines(parts: Sequence[PartsLine], notes: Sequence[LogNote], not_used: Sequence[NotUsed]) -> Iterator[str]:
    """Yield the parts list, logs to look at, what was not used, and the cautions.

    Parameters
    ----------
    parts : sequence of PartsLine
        The parts list.
    notes : sequence of LogNote
        What there is to look at in logs that were used.
    not_used : sequence of NotUsed
        Seasons, logs and parts of logs.

    Yields
    ------
    str
        A line.
    """
    yield ""
    yield "== To order =="
    yield from (_part_line(line) for line in parts)
    if not parts:
        yield "Nothing: no plan needs a tip that is not there."
    yield from note_lines(notes)
    if not_used:
        yield ""
        yield "== Not used =="
    for one in not_used:
        of = f" ({one.machine})" if one.machine else ""
        yield f"{one.kind}{of} {one.path} – {one.sentence}"
    yield ""
    yield from CAUTIONS
    if any(order.tip.generic for line in parts for order in line.orders):
        yield GENERIC_CAUTION


def _evidence_line(answer: MachineAnswer, reader: Reader) -> str:
    made, refused = made_of(answer), len(answer.refused)
    if not made:
        planned = ": planned on stated speeds alone" if answer.report is not None else ""
        return f"No log{f' ({refused} refused)' if refused else ''}{planned}."
    copies = len(each_drive_once(made)[1])
    parts = [f"{_counted(len(answer.logs), 'log')} over {reader.area(driven_m2(made))}"]
    parts += [f"{_counted(copies, 'drive')} there twice, counted once"] if copies else []
    parts += [f"{refused} refused"] if refused else []
    bare = [one.ident for one in answer.machine.season_file.season.passes if not answer.logs_of(one.ident)]
    parts += [f"on stated speeds alone: {', '.join(bare)}"] if bare and answer.report is not None else []
    doubted = sum(1 for made_of_log in answer.logs.values() if doubts_of(answer, made_of_log))
    parts += [f"{doubted} of {_counted(len(answer.logs), 'log')} with doubts"] if doubted else []
    return f"{'; '.join(parts)}."


def _to_buy(report: PlanReport) -> str:
    needed = [one for one in report.plan.proposed.tip_sets if one.needed]
    if not needed:
        return "Nothing to buy."
    return f"To buy: {', '.join(f'{one.needed} × {one.tip.ident}' for one in needed)}."


def _part_line(line: PartsLine) -> str:
    cost = "price not known" if line.cost_cents is None else money(line.cost_cents)
    who = ", ".join(f"{one.machine} ({one.count})" for one in line.orders)
    return f"{line.count:,} × {line.ident} – {line.family}, size {line.size}; {line.words}; {cost}; for {who}"


def _counted(count: int, thing: str) -> str:
    return f"{count:,} {thing}{'' if count == 1 else 's'}"
