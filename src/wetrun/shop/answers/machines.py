"""What a machine's own page tells of it, in the reader's units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import ValidationError

from wetrun.documents.load_entry import FilledMachineEntry
from wetrun.documents.refusals import Document, problems_of
from wetrun.documents.season_build import sprayer_of_entry
from wetrun.documents.typed_texts import typed_texts
from wetrun.errors import Problem
from wetrun.machine.sprayer import Sprayer
from wetrun.papers.control_rows import limit_rows
from wetrun.papers.entered import Entered
from wetrun.papers.reader import Reader, listed
from wetrun.percent import off_per_cent
from wetrun.quantity import Kind, System
from wetrun.shop.records.models import Machine


@dataclass(frozen=True, slots=True)
class MachineTold:
    """A machine as its page shows it.

    Attributes
    ----------
    rows : tuple of (str, str, str)
        Name, value, note.
    problems : tuple of Problem
        What is not right in its document; then there are no rows.
    """

    rows: tuple[tuple[str, str, str], ...]
    problems: tuple[Problem, ...] = ()


def entry_of(machine: Machine) -> FilledMachineEntry:
    """Return a machine's document as an entry.

    Parameters
    ----------
    machine : Machine
        The record.

    Returns
    -------
    FilledMachineEntry
        Accepted.

    Raises
    ------
    ValidationError
        If it would be refused in a season file.
    """
    return FilledMachineEntry.model_validate(machine.document, context={"system": System(machine.units)})


def machine_told(machine: Machine, reader: Reader) -> MachineTold:
    """Return what is known of a machine.

    Parameters
    ----------
    machine : Machine
        The record.
    reader : Reader
        Whose units.

    Returns
    -------
    MachineTold
        Rows, or what is not right in its document.
    """
    try:
        entry = entry_of(machine)
    except ValidationError as refused:
        document = Document(machine.name, machine.document, FilledMachineEntry)
        return MachineTold((), problems_of(refused, document))
    texts = {f"machine.{key}": text for key, text in typed_texts(entry).items()}
    return MachineTold(tuple(_rows(sprayer_of_entry(entry), Entered(texts, reader), reader)))


def _rows(sprayer: Sprayer, entered: Entered, reader: Reader) -> Iterator[tuple[str, str, str]]:
    boom = sprayer.boom
    sections = listed([str(tips) for tips in boom.section_tips])
    spacing = entered.text("machine.boom.spacing", boom.spacing_m, Kind.SPACING)
    yield "Boom", reader.text(boom.width_m, Kind.WIDTH), f"{boom.tips} tips, {spacing} apart"
    yield "Sections", str(len(boom.section_tips)), f"tips from the left: {sections}"
    yield "Steers by", sprayer.control.loop.value, ""
    yield from limit_rows(sprayer, entered)
    if sprayer.tank_m3 is not None:
        yield "Tank", entered.text("machine.tank", sprayer.tank_m3, Kind.VOLUME), ""
    if sprayer.pump is not None:
        flow = entered.text("machine.pump.flow", sprayer.pump.capacity_m3s, Kind.BOOM_FLOW)
        agitation = entered.text("machine.pump.agitation", sprayer.pump.agitation_m3s, Kind.BOOM_FLOW)
        yield "Pump", flow, f"agitation takes {agitation}" if sprayer.pump.agitation_m3s else "no agitation typed"
    for one in sprayer.owned:
        yield "Owned set", one.tip, _worn(one.wear_ratio, one.count)


def _worn(wear_ratio: float, count: int | None) -> str:
    worn = f"worn {off_per_cent(wear_ratio - 1, places=0)} in flow" if wear_ratio != 1.0 else ""
    return ", ".join(part for part in ("" if count is None else f"{count} tips", worn) if part)
