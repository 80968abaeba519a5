"""Reads a wet-run file for its day's plan: before anything was tested, a machine is all it has to name."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import sqrt
from pathlib import Path
from typing import Final

from wetrun.documents.refusals import Document
from wetrun.documents.season_file import read_season
from wetrun.documents.wetrun_entry import WetRunEntry
from wetrun.documents.wetrun_file import WetRunFile, entry_of, wetrun_document, wetrun_of
from wetrun.documents.wetrun_ground import machine_of
from wetrun.errors import InputProblems, Problem
from wetrun.machine.catalogue import catalogue, tip_named
from wetrun.machine.sprayer import Sprayer
from wetrun.machine.tip import Tip
from wetrun.planning.passes import Pass
from wetrun.spray.demand import demand_per_tip_m3s
from wetrun.units import M3s

_ANY_TIP: Final = catalogue()[0].ident
"""Stands where a set must be named while the machine is looked up; nothing is worked out of it."""


def read_wetrun_day(path: Path) -> tuple[WetRunFile, str]:
    """Return a wet run to plan its day by, and which set was taken where the file names none.

    Parameters
    ----------
    path : Path
        A TOML file; ``[tips]`` may be missing.

    Returns
    -------
    tuple of WetRunFile and str
        The file, and a sentence on the set that was taken; empty if the file names its own.

    Raises
    ------
    InputProblems
        Everything wrong in it, and a set that cannot be guessed at.

    Notes
    -----
    Taken is the first set on hand; else the tip that, in the middle of its pressure range, is nearest to the flow the
    pass, or the first one with speeds, asks for at its usual speed. Only times and water rest on it, never a verdict.
    """
    document = wetrun_document(path)
    if "tips" in document.raw:
        return wetrun_of(path, document), ""
    tip, why = _likely_tip(_with_set(document, _ANY_TIP), path.parent)
    words = f"The file names no set under [tips]: planned with {tip.words}, {why}."
    return wetrun_of(path, _with_set(document, tip.ident)), words


def _with_set(document: Document, ident: str) -> Document:
    return replace(document, raw={**document.raw, "tips": {"fitted": ident}})


def _likely_tip(document: Document, folder: Path) -> tuple[Tip, str]:
    entry, building = entry_of(document)
    sprayer, tips, planned, _ = machine_of(entry, folder, building)
    if building.problems or sprayer is None:
        raise InputProblems(building.problems)
    if sprayer.owned:
        return tip_named(tips, sprayer.owned[0].tip), "the first set on hand"
    flow_m3s = _demand_m3s(sprayer, (planned,) if planned is not None else _passes(entry, folder))
    if flow_m3s is None:
        limit = "no set is named, none is on hand, and no pass with a usual speed tells how much a tip has to give"
        remedy = 'Add a table [tips] with fitted = "the tip on the boom".'
        raise InputProblems([Problem(document.file, "tips", "", limit, remedy)])
    return min(tips, key=lambda tip: abs(_usual_m3s(tip) - flow_m3s)), "the nearest to what the pass asks for"


def _usual_m3s(tip: Tip) -> M3s:
    """Return what a tip gives in the middle of its pressure range [m3/s]."""
    return float(tip.law.flow_m3s(sqrt(tip.low_pa * tip.high_pa)))


def _passes(entry: WetRunEntry, folder: Path) -> tuple[Pass, ...]:
    return () if entry.season is None else read_season(folder / entry.season, logs_needed=False).season.passes


def _demand_m3s(sprayer: Sprayer, passes: Iterable[Pass]) -> M3s | None:
    """Return what a tip gives at the usual speed of the first pass that has one [m3/s]."""
    for planned in passes:
        if planned.speeds is not None:
            return demand_per_tip_m3s(planned.rate_m3pm2, planned.speeds.usual_mps, sprayer.boom.spacing_m)
    return None
