"""What a log holds, as lines for a person, whatever its format.

Of the readers only the records of what was found are known here; nothing is opened.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from wetrun.fieldlog.inspect import (
    PERCENTILES,
    LogInspection,
    RatePercentiles,
    SpeedPercentiles,
    inspection,
    speed_percentiles,
)
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.fieldlog.readers.patches import Patches
from wetrun.fieldlog.readers.record_facts import RecordFacts
from wetrun.fieldlog.trace import ColumnUse, LogFacts, RawColumn
from wetrun.papers.reader import Reader
from wetrun.quantity import Kind, sentence


def set_lines(found: FoundLogs, reader: Reader, section: str | None = None) -> Iterator[str]:
    """Yield the lines on a file or set of files and each of its logs.

    Parameters
    ----------
    found : FoundLogs
        The file or set.
    reader : Reader
        Whose units.
    section : str or None
        Speeds of this section's rows only.
    """
    yield f"== {found.name} =="
    yield f"{found.format}{machines_words(found)}."
    for doubt in found.doubts:
        yield f"Doubt: {doubt.words}. {doubt.remedy}"
    for refused in found.refused:
        yield f"Left out: {sentence(refused, reader.system)}"
    for log in found.logs:
        if found.machines or len(found.logs) > 1:
            yield ""
            yield f"-- {log.name}: {log.kind} --"
        yield from log_lines(log, reader, section)
    yield ""


def machines_words(found: FoundLogs) -> str:
    """Return which machines a set describes, as the end of a line; how many logs it holds, if it describes none."""
    if not found.machines:
        return "" if len(found.logs) == 1 else f"; logs: {len(found.logs)}"
    kinds = ", ".join(f"{count} x {kind}" if count > 1 else kind for kind, count in Counter(found.machines).items())
    return f"; machines described: {kinds}; time logs: {len(found.logs)} read, {len(found.refused)} not"


def log_lines(log: FoundLog, reader: Reader, section: str | None = None) -> Iterator[str]:
    """Yield the lines on one log; speeds of a section's rows only, if one is named."""
    seen = inspection(log.trace) if log.trace else None
    yield from fact_lines(log, seen, reader)
    yield from _column_lines(seen.facts.columns if seen else log.columns, raw_columns_of(log, seen))
    if log.holds and not seen:  # what is driven again says so with its clock
        yield f"{log.holds[:1].upper()}{log.holds[1:]}."
    yield from _rate_lines(rates_of(log, seen), reader)
    yield from _speed_lines(log.facts.speeds, reader, "all records, road and standing too")
    if log.trace and seen:
        speeds = seen.speeds if section is None else speed_percentiles(log.trace, section=section)
        yield from _speed_lines(speeds, reader, "sprayed instants" if section is None else f"rows of section {section}")
    for repair in seen.facts.repairs if seen else log.repairs:
        yield f"Repair: {repair.words} ({repair.count:,})"
    for left_out in seen.facts.left_out if seen else ():
        yield f"Left out: {left_out.why} ({left_out.count:,} instants, {reader.area(left_out.area_m2)})"
    for doubt in seen.facts.doubts if seen else log.doubts:
        yield f"Doubt: {doubt.words}. {doubt.remedy}"
    yield from last_lines(log, seen)


def fact_lines(log: FoundLog, seen: LogInspection | None, reader: Reader) -> Iterator[str]:
    """Yield what a log is: records, clock and gaps, or patches; and what of it can be driven again."""
    yield from _patch_lines(log.patches, log.facts, reader) if log.patches else [_clock_line(log)]
    if seen:
        yield from _driven_lines(seen, reader)


def last_lines(log: FoundLog, seen: LogInspection | None) -> Iterator[str]:
    """Yield what is said last: what columns may mean, a finding, why a log is not driven again."""
    for line in log.proposed:
        yield f"  {line}"
    if seen and seen.disagreement:
        yield f"Finding: {seen.disagreement}; a speed source may need calibrating."
    if log.pieces is not None:
        yield "Too long to be held at once: plans, fleets and conversion take all of it, in pieces."
    elif log.lacks:
        yield f"Left out of plans and replays: {log.lacks.reason}. {log.lacks.remedy}."


def _clock_line(log: FoundLog) -> str:
    facts = log.facts
    of = f" of section {log.of_section}" if log.of_section else ""
    if facts.records and facts.untimed == facts.records:
        return f"{facts.records:,} records{of} without times"
    values = "" if facts.values is None else f" with {facts.values:,} values"
    back = f", {_counted(facts.backward_steps, 'step')} of the clock backward" if facts.backward_steps else ""
    return (
        f"{_counted(facts.records, 'record')}{of} over {_lasting(facts.span_s)}{values}; {_counted(facts.gaps, 'gap')} "
        f"({_lasting(facts.gap_total_s)}), {facts.same_time:,} records at the clock reading of the one before{back}"
    )


def _lasting(time_s: float) -> str:
    """A time as people say it: minutes, or hours where it is more than three, or days where it is more than two."""
    for unit_s, unit, most_s in ((60.0, "min", 3 * 3600.0), (3600.0, "h", 48 * 3600.0)):
        if time_s <= most_s:
            return f"{time_s / unit_s:.1f} {unit}"
    return f"{time_s / 86400:.1f} days"


def _patch_lines(patches: Patches, facts: RecordFacts, reader: Reader) -> Iterator[str]:
    reach = " by ".join(reader.text(one, Kind.LENGTH) for one in (patches.east_m, patches.north_m))
    timed = facts.records - facts.untimed
    yield (
        f"{patches.count:,} patches, "
        + (f"{timed:,} of them with a time, over {facts.span_s / 60:.1f} min" if timed else "without times")
    )
    yield (
        f"Patches cover {reader.area(patches.area_m2)}, ground under two of them counted twice; "
        f"their middles reach over {reach}, east by north."
    )
    if patches.put_down_m3 is not None:
        yield f"Put down by the applied rate of each: {reader.text(patches.put_down_m3, Kind.VOLUME)}."


def _driven_lines(seen: LogInspection, reader: Reader) -> Iterator[str]:
    facts = seen.facts
    yield (
        f"To drive again: {facts.rows:,} rows, {facts.instants:,} instants, {_counted(facts.recordings, 'recording')}, "
        f"{_counted(facts.backward_steps, 'backward clock step')}, {_counted(facts.gaps, 'gap')} "
        f"({_lasting(facts.gap_total_s)})"
    )
    yield _boom_line(facts, reader.text(seen.full_width_m, Kind.WIDTH))
    hours = seen.span_s / 3600
    yield f"Sprayed: {reader.area(seen.area_m2)}; the log runs over {hours:.1f} h with every pause in it."


def _boom_line(facts: LogFacts, width: str) -> str:
    ids = sum(len(group) for group in facts.section_groups)
    if not ids:
        return f"Sections are not told apart; full width {width}."
    groups = "; ".join(", ".join(group) for group in facts.section_groups)
    return f"Sections: {ids} ids in {_counted(len(facts.section_groups), 'group')} ({groups}); full width {width}."


def raw_columns_of(log: FoundLog, seen: LogInspection | None) -> tuple[RawColumn, ...]:
    """Return the columns of a log whose unit nobody knows."""
    return seen.facts.raw_columns if seen else log.raw_columns


def _column_lines(columns: Sequence[ColumnUse], raw_columns: Sequence[RawColumn]) -> Iterator[str]:
    for use in columns:
        unit = f", {use.unit} ({'stated' if use.stated else 'inferred'})" if use.unit else ""
        yield f"{column_words(use.column)}: {plain_words(use.meaning)}{unit}; {use.evidence}".rstrip("; ")
    for raw in raw_columns:
        values = f"{raw.p5:g}, {raw.p50:g}, {raw.p95:g}"
        yield f"{column_words(raw.column)}: {plain_words(raw.meaning)}, no unit; at 5, 50, 95 of 100: {values}"


def rates_of(log: FoundLog, seen: LogInspection | None) -> Sequence[RatePercentiles]:
    """Return the rates of a log, or of the patches of a map."""
    if seen:
        return seen.rates
    return log.patches.rates if log.patches else ()


def _rate_lines(rates: Sequence[RatePercentiles], reader: Reader) -> Iterator[str]:
    for rate in rates:
        values = ", ".join(reader.digits(float(value), Kind.RATE) for value in rate.percentiles_m3pm2[1:-1])
        words = plain_words(rate.meaning).capitalize()
        yield f"{words} at 5, 25, 50, 75, 95 of 100: {values} {reader.unit(Kind.RATE)}"


def _speed_lines(speeds: tuple[SpeedPercentiles, ...], reader: Reader, of: str) -> Iterator[str]:
    if not speeds:
        yield "Speed: no source tells one."
        return
    yield f"Speed at {', '.join(str(level) for level in PERCENTILES)} of 100 ({of}):"
    for speed in speeds:
        values = ", ".join(reader.digits(float(value), Kind.SPEED) for value in speed.percentiles_mps)
        yield f"  {speed.source}: {values} {reader.unit(Kind.SPEED)} ({speed.words}; {speed.instants:,})"


def column_words(name: str) -> str:
    """Return the name of a column as it begins a line."""
    return name.capitalize() if name.startswith("column ") else f"Column {name}"


def plain_words(meaning: str) -> str:
    """Return what a column means, in words."""
    return meaning.replace("_", " ")


def _counted(count: int, thing: str) -> str:
    return f"{count:,} {thing}{'' if count == 1 else 's'}"
