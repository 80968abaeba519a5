"""The machine in trouble from a file: a wet run with its set and machine, or a season with the set that is named."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from pydantic_core import PydanticCustomError

from wetrun.documents.carrier_words import carrier_named
from wetrun.documents.plain_fields import positions_of
from wetrun.documents.season_file import read_season
from wetrun.documents.text_file import text_of_file
from wetrun.documents.toml_text import parsed_toml
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.errors import InputProblems, NotDefined, Problem
from wetrun.machine.sprayer import Sprayer
from wetrun.machine.tip import Tip
from wetrun.planning.passes import Pass
from wetrun.planning.tip_set import TipSet, hydraulics, tip_sets
from wetrun.proving.trouble_seen import TroubledMachine
from wetrun.quantity import System
from wetrun.spray.carrier import Carrier, water
from wetrun.spray.hydraulics import Hydraulics


@dataclass(frozen=True, slots=True)
class TroubleFile:
    """A machine in trouble and what stands beside it in its file.

    Attributes
    ----------
    title : str
        The machine, as its file calls it.
    machine : TroubledMachine
        With the set on its boom and the liquid in its tank.
    tip : str
        The set in words.
    carrier : str
        The liquid in words.
    units : System
        The unit system the file asks for.
    """

    title: str
    machine: TroubledMachine
    tip: str
    carrier: str
    units: System


@dataclass(frozen=True, slots=True)
class OnTheBoom:
    """What is fitted and in the tank, where somebody says it.

    Attributes
    ----------
    tip : str or None
        Ident of the set; None for the wet run's, or the first set on hand.
    carrier : str or None
        The liquid; None for that of the pass, else water.
    pass_name : str or None
        The pass of a season.
    """

    tip: str | None = None
    carrier: str | None = None
    pass_name: str | None = None


def read_trouble(path: Path, boom: OnTheBoom = OnTheBoom()) -> TroubleFile:
    """Return the machine in trouble of a file.

    Parameters
    ----------
    path : Path
        A wet-run file or a season file (TOML).
    boom : OnTheBoom
        What is fitted and in the tank.

    Returns
    -------
    TroubleFile
        The machine as its file has it.

    Raises
    ------
    InputProblems
        Everything wrong in the file, or a set or pass that it does not have.
    """
    raw = parsed_toml(path, text_of_file(path))
    # Only a wet run names a set on the boom, and only a season has a plan of passes.
    return _of_run(path, boom) if "tips" in raw else _of_season(path, boom)


def _of_run(path: Path, boom: OnTheBoom) -> TroubleFile:
    if boom.tip is not None or boom.pass_name is not None:
        problem = Problem(path.name, "tips.fitted", "", "a wet run names its own set and pass", "Leave --tip-set out.")
        raise InputProblems([problem])
    file = read_wetrun(path)
    proven, carrier = file.run.machine, _carrier(boom, water())
    machine = TroubledMachine(
        boom=proven.boom,
        setup=replace(proven.setup, density_kgpm3=carrier.density_kgpm3),
        size=proven.size,
        is_water=carrier.is_water,
        loss_known=_is_known(proven.setup),
        scales_meter_by_density=proven.scales_meter_by_density,
    )
    return TroubleFile(proven.name, machine, proven.tip, carrier.name, file.units)


def _of_season(path: Path, boom: OnTheBoom) -> TroubleFile:
    file = read_season(path, logs_needed=False)
    sprayer, planned = file.season.sprayer, _pass(path, file.season.passes, boom.pass_name)
    carrier = _carrier(boom, water() if planned is None else planned.carrier)
    fitted = _fitted(path, sprayer, file.catalogue, boom.tip)
    setup = hydraulics(fitted, sprayer, carrier)
    machine = TroubledMachine(
        boom=sprayer.boom,
        setup=setup,
        size=fitted.tip.size,
        is_water=carrier.is_water,
        loss_known=_is_known(setup),
        density_set_kgpm3=sprayer.control.density_setting_kgpm3,
    )
    return TroubleFile(sprayer.name, machine, fitted.tip.words, carrier.name, file.units)


def _fitted(path: Path, sprayer: Sprayer, tips: tuple[Tip, ...], ident: str | None) -> TipSet:
    """Return the set on the boom; the first on hand where none is named."""
    wanted = ident or next((have.tip for have in sprayer.owned), None)
    fitted = next((each for each in tip_sets(sprayer, tips) if each.tip.ident == wanted), None)
    if fitted is None:
        limit = "no set is on hand" if wanted is None else "the catalogue has no such tip"
        remedy = "Name the set on the boom with --tip-set; `wetrun tips list` shows the names."
        raise InputProblems([Problem(path.name, "tip set", wanted or "", limit, remedy)])
    return fitted


def _carrier(boom: OnTheBoom, usual: Carrier) -> Carrier:
    if boom.carrier is None:
        return usual
    try:
        return carrier_named(boom.carrier)
    except NotDefined as refused:
        raise InputProblems([Problem("--carrier", boom.carrier, "", refused.reason, refused.remedy)]) from None


def _pass(path: Path, passes: tuple[Pass, ...], name: str | None) -> Pass | None:
    found = next((each for each in passes if each.ident == name), None)
    if name is not None and found is None:
        known = ", ".join(f"“{each.ident}”" for each in passes)
        raise InputProblems([Problem(path.name, "pass", name, "the season has no such pass", f"It has: {known}.")])
    return found


def _is_known(setup: Hydraulics) -> bool:
    """Whether anybody measured, or worked out, what is lost between cab and tips."""
    return setup.loss.boom_paps2m6 > 0.0 or setup.loss.body_paps2m6 > 0.0


def sections_typed(key: str, text: str, count: int) -> tuple[int, ...]:
    """Return the sections that are on, as typed.

    Parameters
    ----------
    key : str
        Where it was typed.
    text : str
        Numbers and ranges, such as "1-6,9"; blank for all.
    count : int
        How many the boom has.

    Returns
    -------
    tuple of int
        From 1 at the left; empty for all.

    Raises
    ------
    InputProblems
        What is no section of this boom.

    Example
    -------
    >>> sections_typed("on", "1-3, 5", 9)
    (1, 2, 3, 5)
    """
    if not text.strip():
        return ()
    remedy = f"The boom has {count}: write the ones that are on, counted from 1 at the left, such as 1-{count}."
    try:
        found = positions_of(text)
    except PydanticCustomError:
        found = (0,)
    if not all(1 <= each <= count for each in found):
        raise InputProblems([Problem(key, text, "", "these are no sections of this boom", remedy)])
    return found
