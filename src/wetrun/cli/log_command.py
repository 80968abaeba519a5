"""`wetrun log inspect`: what a log holds, before anybody trusts it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from wetrun.cli.log_files import traces_of
from wetrun.cli.task_text import set_as_data, set_lines
from wetrun.cli.telling import print_json, say, tell_error
from wetrun.errors import LogRefused
from wetrun.fieldlog.inspect import PERCENTILES, LogInspection, inspection, speed_percentiles
from wetrun.fieldlog.readers.iso_log import TaskLogs, is_task_data, read
from wetrun.fieldlog.trace import Trace
from wetrun.papers.reader import Reader
from wetrun.quantity import Kind, System, sentence

FORMAT_VERSION: Final = 1


def run_inspect(
    files: tuple[Path, ...], *, log_map: Path | None, units: str | None, section: str | None, as_json: bool
) -> None:
    """Inspect logs one by one; a bad one is told and the rest go on.

    Parameters
    ----------
    files : tuple of Path
        Logs.
    log_map : Path or None
        Column map for all of them.
    units : str or None
        Unit system; US if none is given.
    section : str or None
        Speeds of this section's rows only.
    as_json : bool
        Print JSON.

    Raises
    ------
    SystemExit
        With the exit code of the first log that was refused.
    """
    reader, plain, code = Reader(System(units or System.US)), [], 0
    for file in files:
        try:
            if is_task_data(file):
                plain += _told_sets(read(file), reader, as_json=as_json)
                continue
            trace = traces_of([file], log_map)[0]
            found = inspection(trace)
            speeds = found.speeds if section is None else speed_percentiles(trace, section=section)
        except LogRefused as refused:
            told = tell_error(refused, reader.system)
            code = code or told
            plain.append({"file": refused.file, "refused": sentence(refused, reader.system)})
            continue
        if as_json:
            plain.append(_plain(found, trace, section))
        else:
            for line in _lines(found, reader):
                say(line)
            for line in _speed_lines(speeds, reader, section):
                say(line)
            say()
    if as_json:
        print_json({"format_version": FORMAT_VERSION, "logs": plain})
    if code:
        raise SystemExit(code)


def _told_sets(sets: tuple[TaskLogs, ...], reader: Reader, *, as_json: bool) -> list[dict[str, Any]]:
    """Say what sets of task data hold unless JSON is asked for, and return them as plain data."""
    if not as_json:
        for line in (line for one in sets for line in set_lines(one, reader)):
            say(line)
    return [set_as_data(one, reader) for one in sets]


def _lines(found: LogInspection, reader: Reader) -> Iterator[str]:
    facts = found.facts
    yield f"== {facts.file} =="
    yield (
        f"{facts.format}: {facts.rows:,} rows, {facts.instants:,} instants, {_counted(facts.recordings, 'recording')}, "
        f"{_counted(facts.backward_steps, 'backward clock step')}, {facts.gaps} gaps ({facts.gap_total_s / 60:.0f} min)"
    )
    groups = "; ".join(", ".join(group) for group in facts.section_groups)
    ids = sum(len(group) for group in facts.section_groups)
    if ids:
        width = reader.text(found.full_width_m, Kind.WIDTH)
        yield f"Sections: {ids} ids in {_counted(len(facts.section_groups), 'group')} ({groups}); full width {width}."
    hours = found.span_s / 3600
    yield f"Sprayed: {reader.area(found.area_m2)}; the log runs over {hours:.1f} h with every pause in it."
    yield from _column_lines(found, reader)
    for repair in facts.repairs:
        yield f"Repair: {repair.words} ({repair.count:,})"
    for left_out in facts.left_out:
        yield f"Left out: {left_out.why} ({left_out.count:,} instants, {reader.area(left_out.area_m2)})"
    for doubt in facts.doubts:
        yield f"Doubt: {doubt.words}. {doubt.remedy}"
    if found.disagreement:
        yield f"Finding: {found.disagreement}; a speed source may need calibrating."


def _column_lines(found: LogInspection, reader: Reader) -> Iterator[str]:
    for use in found.facts.columns:
        unit = f", {use.unit} ({'stated' if use.stated else 'inferred'})" if use.unit else ""
        yield f"Column {use.column}: {_plain_words(use.meaning)}{unit}; {use.evidence}".rstrip("; ")
    for raw in found.facts.raw_columns:
        values = f"{raw.p5:g}, {raw.p50:g}, {raw.p95:g}"
        yield f"Column {raw.column}: {_plain_words(raw.meaning)}, no unit; at 5, 50, 95 of 100: {values}"
    for rate in found.rates:
        values = ", ".join(reader.digits(float(value), Kind.RATE) for value in rate.percentiles_m3pm2[1:-1])
        words = _plain_words(rate.meaning).capitalize()
        yield f"{words} at 5, 25, 50, 75, 95 of 100: {values} {reader.unit(Kind.RATE)}"


def _plain_words(meaning: str) -> str:
    return meaning.replace("_", " ")


def _counted(count: int, thing: str) -> str:
    return f"{count} {thing}{'' if count == 1 else 's'}"


def _speed_lines(speeds: tuple[Any, ...], reader: Reader, section: str | None) -> Iterator[str]:
    levels = ", ".join(str(level) for level in PERCENTILES)
    of = "all instants" if section is None else f"rows of section {section}"
    yield f"Speed at {levels} of 100 ({of}):"
    for speed in speeds:
        values = ", ".join(reader.digits(float(value), Kind.SPEED) for value in speed.percentiles_mps)
        yield f"  {speed.source}: {values} {reader.unit(Kind.SPEED)} ({speed.words}; {speed.instants:,})"


def _plain(found: LogInspection, trace: Trace, section: str | None) -> dict[str, Any]:
    speeds = found.speeds if section is None else speed_percentiles(trace, section=section)
    return {
        **asdict(found.facts),
        "sections": [asdict(one) for one in found.sections],
        "full_width_m": found.full_width_m,
        "span_s": found.span_s,
        "area_m2": found.area_m2,
        "speed_levels": list(PERCENTILES),
        "speeds": [
            {"source": s.source, "instants": s.instants, "percentiles_mps": s.percentiles_mps.tolist()} for s in speeds
        ],
        "rates": [
            {"meaning": r.meaning, "instants": r.instants, "percentiles_m3pm2": r.percentiles_m3pm2.tolist()}
            for r in found.rates
        ],
        "disagreement": found.disagreement,
    }
