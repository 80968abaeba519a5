"""What every circuit of a machine holds after every step of a clean-out, and how well its volumes are known."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.network import concentrations
from wetrun.changeover.steps import AddWater, Circulate, Drain, FlushClean, RinseOn, SprayOut, Step
from wetrun.machine.circuits import MEASURED, Circuit, CircuitKind, Layout, Setting
from wetrun.machine.flushing import never_rinsed
from wetrun.papers.reader import Reader
from wetrun.papers.small_amounts import share_text, water_text
from wetrun.sources import source
from wetrun.units import Frac

_ROWS_OF: Final = {CircuitKind.SECTION: "boom sections", CircuitKind.BOOM_END: "boom ends"}
_LEAST_SHADE: Final[Frac] = 1e-4
"""At this concentration a cell is white; at 1 it is black."""


def held_data(answer: ChangeoverAnswer, reader: Reader) -> dict[str, Any]:
    """Return the concentration in every circuit after every step, as rows for a heat strip with numbers.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out, step by step.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        ``circuits`` (heads of the columns), ``rows`` (``rinse``, ``step``, ``last``, ``cells`` of text and shade).

    Notes
    -----
    Of boom sections and boom ends the highest is shown: a column each would not fit a page on wide booms.
    """
    layout, task = answer.question.layout, answer.plan.task
    groups = _columns(layout)
    before = _cells(groups, concentrations(task.setup.network, task.before))
    rows = [{"rinse": "", "step": "before the first step", "last": False, "cells": before}]
    rows += [
        {
            "rinse": str(held.rinse) if held.rinse else "",
            "step": step_words(held.after.step, layout, reader),
            "last": held.last_of_rinse,
            "cells": _cells(groups, held.concentrations_frac),
        }
        for held in answer.steps
    ]
    return {"circuits": [name for name, _ in groups], "rows": rows}


def volume_rows(layout: Layout, reader: Reader) -> list[dict[str, str | bool]]:
    """Return what each circuit holds in work and after draining, and where each number comes from.

    Parameters
    ----------
    layout : Layout
        The plumbing.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        One row for circuits that are alike: sections, ends.
    """
    never = {one.circuit for one in never_rinsed(layout)}
    rows: list[dict[str, str | bool]] = []
    for circuits in _alike(layout.circuits):
        first = circuits[0]
        rows.append(
            {
                "circuit": _names(circuits),
                "volume": water_text(first.volume_m3, reader),
                "volume_from": origin(first.volume_source),
                "residue": water_text(first.residue_m3, reader),
                "residue_from": origin(first.residue_source),
                "measured": first.measured,
                "never": "no valve position flushes it: by hand" if first.name in never else "",
            }
        )
    return rows


def origin(source_key: str) -> str:
    """Return where a volume comes from, in a word or two.

    Parameters
    ----------
    source_key : str
        Key of its source.

    Returns
    -------
    str
        Measured, or typical with the status of the source.

    Example
    -------
    >>> origin("user"), origin("common-practice-plumbing")
    ('measured', 'typical: common practice, no source')
    """
    return "measured" if source_key == MEASURED else f"typical: {source(source_key).status}"


def setting_words(layout: Layout, setting: Setting) -> str:
    """Return where valves stand that are not in their first position.

    Parameters
    ----------
    layout : Layout
        The plumbing.
    setting : Setting
        One position for every valve.

    Returns
    -------
    str
        "all valves in their first position" if none is moved.
    """
    usual = {valve.name: valve.positions[0] for valve in layout.valves}
    moved = [f"{valve}: {position}" for valve, position in setting.positions if usual[valve] != position]
    return ", ".join(moved) or "all valves in their first position"


def _columns(layout: Layout) -> list[tuple[str, tuple[str, ...]]]:
    """Heads and the circuits under each: sections together, ends together, every other alone."""
    columns: dict[str, list[str]] = {}
    for circuit in layout.circuits:
        columns.setdefault(_ROWS_OF.get(circuit.kind, circuit.name), []).append(circuit.name)
    return [
        (f"{head}, highest of {len(names)}" if len(names) > 1 else head, tuple(names))
        for head, names in columns.items()
    ]


def step_words(step: Step, layout: Layout, reader: Reader) -> str:
    """Return a step in a few words, with its valves.

    Parameters
    ----------
    step : Step
        The step.
    layout : Layout
        The plumbing.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        What is done.
    """
    if isinstance(step, Drain):
        where = ", ".join(step.circuits) or "everything that drains"
        return f"{'open and empty' if step.wholly else 'drain'} {where}"
    if isinstance(step, AddWater):
        return f"{water_text(step.volume_m3, reader)} in"
    if isinstance(step, Circulate):
        return f"circulate ({setting_words(layout, step.setting)})"
    if isinstance(step, SprayOut | FlushClean | RinseOn):
        return _out_words(step, layout, reader)
    return "let it stand"


def _out_words(step: SprayOut | FlushClean | RinseOn, layout: Layout, reader: Reader) -> str:
    stands = setting_words(layout, step.setting)
    if isinstance(step, SprayOut):
        return f"spray out ({stands})"
    water = water_text(step.volume_m3, reader)
    return f"{'rinse on with' if isinstance(step, RinseOn) else 'flush with'} {water} ({stands})"


def _cells(groups: Sequence[tuple[str, tuple[str, ...]]], held: Mapping[str, Frac]) -> list[dict[str, Any]]:
    return [_cell(max(held[name] for name in names)) for _, names in groups]


def _cell(share_frac: Frac) -> dict[str, Any]:
    """A number and how dark its ground is: even steps for even factors."""
    if share_frac <= 0.0:
        return {"text": "0", "shade": 0.0}
    shade = 1.0 - math.log10(min(max(share_frac, _LEAST_SHADE), 1.0)) / math.log10(_LEAST_SHADE)
    return {"text": share_text(share_frac).removesuffix(" %"), "shade": round(shade, 3)}


def _alike(circuits: Sequence[Circuit]) -> Iterator[list[Circuit]]:
    """Sections, and ends, that hold the same, together; every other circuit alone."""
    groups: dict[tuple[object, ...], list[Circuit]] = {}
    for circuit in circuits:
        held = (circuit.volume_m3, circuit.residue_m3, circuit.volume_source, circuit.residue_source)
        key = (circuit.kind, *held) if circuit.kind in _ROWS_OF else (circuit.name,)
        groups.setdefault(key, []).append(circuit)
    yield from groups.values()


def _names(circuits: Sequence[Circuit]) -> str:
    if len(circuits) == 1:
        return circuits[0].name
    if len(circuits) == 2:
        return f"{circuits[0].name} and {circuits[1].name}, each"
    return f"{circuits[0].name} to {circuits[-1].name}, each"
