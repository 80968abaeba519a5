"""A wet run as a technician reads it in a terminal: what is wrong first, then the verdicts, then what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from wetrun.cli.telling import console, say
from wetrun.documents.wetrun_file import WetRunFile
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import limits, measured
from wetrun.percent import more_or_less, off_per_cent, per_cent
from wetrun.proving.session import Asked, Evidence, Moved, NewNumber, Untested, WetRunResult
from wetrun.proving.verdict import Verdict
from wetrun.quantity import sentence

if TYPE_CHECKING:
    from rich.table import Table

VERDICTS: Final = {Verdict.PASS: "PASS", Verdict.FAIL: "FAIL", Verdict.UNDECIDED: "UNDECIDED", None: "–"}
_DIGITS: Final = 6


def tell_wet_run(file: WetRunFile, result: WetRunResult, moved: Sequence[Moved], reader: Reader) -> None:
    """Print a wet run.

    Parameters
    ----------
    file : WetRunFile
        Its file, for title and what was typed.
    result : WetRunResult
        What it says.
    moved : sequence of Moved
        What changed since an earlier run; empty if none was given.
    reader : Reader
        The reader's units.
    """
    run = result.run
    say(" – ".join(part for part in (file.title, run.customer, run.machine.name, run.on, run.by) if part))
    say()
    say(result.sentence)
    say()
    if result.evidence:
        say(f"Verdicts, with the ± of 95 %. Over all that counts: {VERDICTS[result.verdict]}.")
        console().print(_table(result.evidence, reader))
        say()
    for line in (*_lists(result, reader), *_moved_lines(moved, reader)):
        say(line)
    for caution in result.cautions:
        say(f"Caution: {caution}")
    say()
    say(result.statement)


def _table(evidence: Sequence[Evidence], reader: Reader) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_edge=False)
    for heading in ("test", "what", "value", "limit", "verdict"):
        table.add_column(heading, overflow="fold", no_wrap=heading == "verdict")
    for line in evidence:
        if not line.counts and line.verdict is Verdict.PASS:
            continue  # found as it should be, and left so: one line is enough
        value = measured(line.value, line.expanded, line.unit, reader).text
        limit = limits(line.low, line.high, line.unit, reader)
        shown = VERDICTS[line.verdict]
        table.add_row(line.part.value, line.thing, value, limit, shown if line.counts else shown.lower())
    return table


def _lists(result: WetRunResult, reader: Reader) -> Iterator[str]:
    yield from _listed("Questions about the readings; nothing was corrected:", [_asked(q) for q in result.questions])
    if any(asked.names for asked in result.questions):
        yield "What stands as typed is answered in the file, by the name in brackets:"
        yield from ("  [[stands]]", '  reading = "the name"', '  by = "who looked again"')
        yield ""
    yield from _listed("Answers to questions:", [answer.words for answer in result.answers])
    second = None if result.findings.answer is None else result.findings.answer.second
    yield from _listed("A second way to what lies:", [] if second is None else [second.words])
    yield from _listed("Next steps:", result.next_steps)
    yield from _listed("New numbers:", [_number(number) for number in result.numbers])
    swapped = {swap.odd: swap.verdict.outcome.value for swap in result.findings.swaps if swap.verdict is not None}
    tips = [
        f"tip {tip.caught.tip}, section {tip.caught.section}: {tip.fault.value}, "
        f"{more_or_less(tip.to_boom_ratio - 1.0)} than its boom; "
        f"swap test: {swapped.get(tip.caught.tip, 'to be done')}"
        for tip in result.tips
    ]
    yield from _listed("Tips to change or to look at:", tips)
    unproven = [_untested(each, reader) for each in result.untested]
    answer = result.findings.answer
    unproven += [] if answer is None else [f"not seen by these readings: {each.sentence}" for each in answer.hidden]
    yield from _listed("Stays unproven:", unproven)
    cautions = dict.fromkeys(f"{line.rule}: {line.caution}" for line in result.evidence if line.caution)
    yield from _listed("Limits to check before you rely on them:", tuple(cautions))


def _asked(asked: Asked) -> str:
    return f"{asked.words} [{'; '.join(asked.names)}]" if asked.names else asked.words


def _listed(heading: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield heading
        yield from (f"  – {line}" for line in lines)
        yield ""


def _number(number: NewNumber) -> str:
    """A calibration number with its unit and convention, the exact one beside the one to type."""
    found, exact = number.found, f"{number.new:.{_DIGITS}g}"
    said = f"{number.thing}: {found.text} → {exact} {found.form.words} ({found.form.convention.value})"
    said += f", ± {per_cent(number.expanded_ratio)}"
    enter = number.enter
    if enter is None:
        return f"{said}; round it as the monitor takes it"
    beyond = "" if enter.in_range else "; the monitor does not take so large or small a number"
    return f"{said}; enter {enter.text}: rounding puts it {off_per_cent(enter.off_ratio, places=2)} off{beyond}"


def _untested(each: Untested, reader: Reader) -> str:
    if each.error is None:
        return f"{each.part.value}, not tested: {each.unproven}"
    return f"{each.part.value}, tried: {each.unproven} – {sentence(each.error, reader.system)}"


def _moved_lines(moved: Sequence[Moved], reader: Reader) -> Iterator[str]:
    if not moved:
        return
    told = [_moved(each, reader) for each in moved if each.told]
    still = len(moved) - len(told)
    quiet = f"{still} other lines did not change by more than their doubt."
    yield from _listed("Since the earlier run:", [*told, quiet] if still else told)


def _moved(each: Moved, reader: Reader) -> str:
    before, after = (_value(line, reader) for line in (each.before, each.after))
    sure = "" if each.moved is None or each.beyond_doubt else ", within the doubt of both"
    return f"{each.part.value}, {each.thing}: {before} → {after}{sure}"


def _value(line: Evidence | None, reader: Reader) -> str:
    if line is None:
        return "not tested"
    return f"{measured(line.value, line.expanded, line.unit, reader).text} {VERDICTS[line.verdict]}".removesuffix(" –")
