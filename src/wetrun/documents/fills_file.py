"""Reads a fills file: loads in season, checked as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

from wetrun.documents.fills_entry import FILLS_VERSION, FilledLoadEntry, FillsEntry, FillToolsEntry
from wetrun.documents.preamble import check_version, entry_in
from wetrun.documents.refusals import Document
from wetrun.documents.text_file import text_of_file
from wetrun.documents.toml_text import parsed_toml
from wetrun.documents.wetrun_ground import Building
from wetrun.documents.wetrun_monitor_entry import form_named
from wetrun.errors import InputProblems
from wetrun.proving.filled_load import FilledLoad, FillTools
from wetrun.proving.monitor import Setting
from wetrun.proving.number_form import TypedNumber
from wetrun.quantity import System, Typed

_TOOLS: Final = {
    "fill_meter": "fill_meter_frac",
    "fill_step": "fill_step_m3",
    "scale": "scale_frac",
    "scale_step": "scale_step_kg",
    "density": "density_frac",
    "mark": "mark_m3",
    "monitor_step": "monitor_step_m3",
    "area_step": "area_step_m2",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FillsFile:
    """Loads in season and what stands beside them.

    Attributes
    ----------
    title, machine : str
        As typed; the machine may be empty.
    number : TypedNumber or None
        The meter number they were counted with.
    tools : FillTools
        How far each tool may be off.
    usual_tools : bool
        Whether any of that is common practice and not typed.
    loads : tuple of FilledLoad
        In the order of the file.
    passes : tuple of str
        The pass of each load; empty where none is named.
    units : System
        The unit system the file asks for.
    """

    title: str
    machine: str
    number: TypedNumber | None
    tools: FillTools
    usual_tools: bool
    loads: tuple[FilledLoad, ...]
    passes: tuple[str, ...]
    units: System


def read_fills(path: Path) -> FillsFile:
    """Return the loads of a file.

    Parameters
    ----------
    path : Path
        A TOML file.

    Returns
    -------
    FillsFile
        Loads with their numbers in SI.

    Raises
    ------
    InputProblems
        Everything wrong in it at once.
    """
    return fills_of(parsed_toml(path, text_of_file(path)), path.name)


def fills_of(raw: Mapping[str, Any], file: str) -> FillsFile:
    """Return the loads of a parsed fills file.

    Parameters
    ----------
    raw : mapping
        As parsed.
    file : str
        What it is called in a refusal.

    Returns
    -------
    FillsFile
        As `read_fills`.

    Raises
    ------
    InputProblems
        Everything wrong in it at once.
    """
    document = Document(file, dict(raw), FillsEntry)
    check_version(document, FILLS_VERSION)
    entry, system = entry_in(document, FillsEntry)
    building = Building(document, system)
    loads = _loads(entry, building)
    if building.problems:
        raise InputProblems(building.problems)
    meter = entry.meter
    return FillsFile(
        title=entry.title,
        machine=entry.machine or "",
        number=None if meter is None else TypedNumber(meter.number, form_named(Setting.METER_NUMBER, meter.form)),
        tools=tools_of(entry.tools),
        usual_tools=len(entry.tools.model_fields_set) < len(_TOOLS),
        loads=tuple(loads),
        passes=tuple(one.pass_name or "" for one in entry.load),
        units=system,
    )


def tools_of(entry: FillToolsEntry) -> FillTools:
    """Return how far each tool may be off; the usual where nothing is typed."""
    typed = {name: getattr(entry, key) for key, name in _TOOLS.items()}
    return FillTools(**{name: value.si_value for name, value in typed.items() if value is not None})


def _loads(entry: FillsEntry, building: Building) -> list[FilledLoad]:
    found: list[FilledLoad] = []
    before: FilledLoad | None = None
    for nth, one in enumerate(entry.load, start=1):
        load = building.made(f"load[{nth}]", partial(_load, one, nth, before))
        found += [] if load is None else [load]
        before = load
    names = [load.name for load in found]
    for nth, name in enumerate(names, start=1):
        if name in names[: nth - 1]:
            building.refuse(f"load[{nth}].name", f"another load is called {name}", "Name each load once, or none.")
    return found


def _load(entry: FilledLoadEntry, nth: int, before: FilledLoad | None) -> FilledLoad:
    carried = before is not None and entry.carried
    load = FilledLoad(
        name=entry.name or str(nth),
        on=entry.on,
        filled_m3=_si(entry.filled),
        weighed_kg=_si(entry.weight),
        density_kgpm3=_si(entry.density),
        carried_m3=before.left_m3 if before is not None and carried else _si(entry.aboard) or 0.0,
        carried_from=before.name if before is not None and carried else "",
        left_m3=_si(entry.left) or 0.0,
        counted_m3=_si(entry.counted) or 0.0,
        area_m2=_si(entry.area),
        rate_m3pm2=_si(entry.rate),
    )
    _ = load.put_out_m3  # refused here, at its own place, and not when all are held together
    return load


def _si(typed: Typed | None) -> float | None:
    return None if typed is None else typed.si_value
