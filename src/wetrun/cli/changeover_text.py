"""A clean-out as it reads in a terminal: the answer, the same water in three ways, skips, circuits, the yard's list."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.yard_step import StepKind, YardStep
from wetrun.cli.telling import console, say
from wetrun.documents.changeover_file import ChangeoverFile
from wetrun.papers.reader import Reader
from wetrun.quantity import Kind

_WORDS: Final = frozenset({"", "for", "pressure valve", "boom valve", "return valve", "suction valve", "flushes"})
"""Columns of words, which start at the left."""

if TYPE_CHECKING:
    from rich.table import Table


def tell_changeover(file: ChangeoverFile, answer: ChangeoverAnswer, sheet: dict[str, Any], reader: Reader) -> None:
    """Print the answer to a clean-out.

    Parameters
    ----------
    file : ChangeoverFile
        Where it comes from.
    answer : ChangeoverAnswer
        The answer.
    sheet : dict
        The same as plain data in the reader's units.
    reader : Reader
        Whose units.
    """
    say(" – ".join(filter(None, (file.title, file.customer, answer.question.machine, sheet["on"]))))
    say()
    _answered(sheet)
    _three_ways(sheet)
    _skips(sheet["skips"])
    _circuits(sheet["volumes"])
    say()
    for words in sheet["priming"]:
        say(words)
    _yard(sheet, answer, reader)
    _record(sheet["yard"]["record"])
    say()
    for caution in answer.cautions:
        say(f"Caution: {caution}")


def headline(sheet: dict[str, Any]) -> str:
    """Return what to do and how far it dilutes, in two or three sentences.

    Parameters
    ----------
    sheet : dict
        A clean-out as plain data.

    Returns
    -------
    str
        Never more than “if nothing is bound”.
    """
    level = sheet["tolerated"]
    refills = {"0": "no refill", "1": "1 refill"}.get(sheet["refills"], f"{sheet['refills']} refills")
    water = f" The rinse tank holds {sheet['tank']}: {refills}." if sheet["rinses"] else ""
    status = f"; {level['source']}, {level['status']}" if level["source"] else ""
    return (
        f"From {sheet['from']['name']} ({sheet['from']['crop']}) to {sheet['to']['name']} ({sheet['to']['crop']}): "
        f"{_small(sheet['sentence'])}{water} Tolerated: {level['level']} ({level['words']}{status})."
    )


def _small(sentence: str) -> str:
    return f"{sentence[:1].lower()}{sentence[1:]}"


def _answered(sheet: dict[str, Any]) -> None:
    say(headline(sheet))
    say(f"Comes out: {sheet['from']['contents']}. Goes in: {sheet['to']['contents']}.")
    say(f"Most of what is left in the first drop stands in {sheet['binding']}.")
    if not sheet["reached"]:
        say("What helps:")
    for remedy in sheet["remedies"]:
        say(f"– {remedy}")


def _three_ways(sheet: dict[str, Any]) -> None:
    rows = sheet["carry_rows"]
    if not rows:
        return
    say()
    say(f"The same water in {len(rows)} ways ({sheet['share_words']}):")
    for row in rows:
        say(f"{row['letter']}  {row['name']}{' – cannot be done: ' if row['cannot'] else ''}{row['cannot']}")
    console().print(_table(("", *sheet["carry_heads"]), [(row["letter"], *row["cells"]) for row in rows]))
    for words in sheet["carry_words"]:
        say(words)


def _skips(skips: dict[str, Any]) -> None:
    say()
    say("What skipping a circuit costs, the water being the same:")
    heads = ("skipped", "first drop", "end of load", "above the level", "worst at")
    rows = [(row["what"], row["first"], row["end"], row["above"], row["section"]) for row in skips["rows"]]
    console().print(_table(heads, rows))
    for words in skips["lower"]:
        say(words)
    if skips["never"]:
        say(f"Cannot be skipped, since every line passes them: {skips['never']}.")


def _circuits(volumes: Sequence[dict[str, Any]]) -> None:
    say()
    say("Circuits: what they hold in work and what stays after draining; measured figures win over typical ones:")
    rows = [
        (row["circuit"], row["volume"], _known(row["volume_from"]), row["residue"], _known(row["residue_from"]))
        for row in volumes
    ]
    console().print(_table(("circuit", "holds", "", "stays", ""), rows))


def _known(origin: str) -> str:
    """Measured or typical; the status of the source stands on the sheet and in the JSON."""
    return origin.partition(":")[0]


def _yard(sheet: dict[str, Any], answer: ChangeoverAnswer, reader: Reader) -> None:
    valves = sheet["yard"]["valves"]
    say()
    say(f"Valves in each rinse ({valves['still']}):")
    rows = [(row["letter"], row["what"], *row["positions"], row["flushes"]) for row in valves["rows"]]
    console().print(_table(("", "for", *valves["names"], "flushes"), rows))
    for words in sheet["yard"]["by_hand"]:
        say(f"By hand: {words}.")
    letters = {row["what"]: row["letter"] for row in valves["rows"]}
    say()
    say("In the yard, in this order (in brackets the step's own name, for the record):")
    for circuits, run in groupby(answer.yard.steps, key=lambda step: step.kind is StepKind.CIRCUIT):
        if circuits:
            say("; ".join(f"[] {_circuit(step, letters)} [{step.ident}]" for step in run))
            continue
        for step in run:
            say(f"[] {step.do}{_amounts(step, reader)} [{step.ident}]")
    for title, steps in (("Put away for the winter", answer.winter), ("In spring", answer.spring)):
        if steps:
            say()
            say(f"{title}:")
        for step in steps:
            say(f"[] {step.do} [{step.ident}]")
    for gap in sheet["yard"]["gaps"]:
        say(f"Missing: {gap}")


def _circuit(step: YardStep, letters: dict[str, str]) -> str:
    name = step.do.partition(": ")[0]
    return f"{letters.get(name, 'by hand')} {name}"


def _amounts(step: YardStep, reader: Reader) -> str:
    water = "" if step.water_m3 is None else f" Water: {reader.text(step.water_m3, Kind.VOLUME)}."
    if step.stand_s is None:
        return water
    return f"{water} Standing time: {timedelta(seconds=step.stand_s) / timedelta(minutes=1):g} min."


def _record(record: dict[str, Any] | None) -> None:
    if record is None:
        return
    say()
    say(f"The record is {'complete' if record['complete'] else 'not complete'}. {record['result']}")
    say(f"Water written down: {record['water']}.")
    for line in record["lacking"]:
        say(f"– {line}")
    for note in record["notes"]:
        say(f"Note: {note}")


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_edge=False)
    for at, head in enumerate(heads):
        table.add_column(head, justify="left" if at == 0 or head in _WORDS else "right", overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table
