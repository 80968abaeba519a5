"""What the tests of a wet-run file stand on: the machine, the set on its boom, and the pass it is proved for."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TypeVar

from pydantic_core import PydanticCustomError

from wetrun.documents.catalogue_file import read_catalogue
from wetrun.documents.refusals import Document, key_of_place, shown_value, typed_at
from wetrun.documents.season_build import sprayer_of_entry
from wetrun.documents.season_file import read_season
from wetrun.documents.wetrun_entry import WetRunEntry
from wetrun.errors import InputProblems, NotDefined, OutOfRange, Problem, ended
from wetrun.machine.catalogue import catalogue, tip_named
from wetrun.machine.sprayer import Sprayer
from wetrun.machine.tip import Tip
from wetrun.planning.passes import Pass
from wetrun.quantity import System, sentence
from wetrun.spray.flow_law import FlowLaw

Built = TypeVar("Built")
Typed = TypeVar("Typed")


@dataclass(frozen=True, slots=True)
class Building:
    """Makes records of entries; what cannot be made is kept as a problem with its key, and the rest goes on."""

    document: Document
    system: System
    problems: list[Problem] = field(default_factory=list)

    def made(self, key: str, maker: Callable[[], Built]) -> Built | None:
        """Return what a maker makes; None, and a problem at the key, if it refuses."""
        try:
            return maker()
        except InputProblems as wrong:
            self.problems.extend(wrong.problems)
        except PydanticCustomError as refused:
            context = refused.context or {}
            at = f"{key}.{context['at']}" if context.get("at") else key
            self.refuse(at, str(context.get("limit", refused.message())), str(context.get("remedy", "")))
        except NotDefined as refused:
            self.refuse(key, f"{refused.thing}: {refused.reason}", refused.remedy)
        except OutOfRange as refused:
            limit = sentence(refused, self.system).removesuffix(ended(refused.remedy)).strip()
            self.refuse(key, limit.removesuffix("."), refused.remedy)
        return None

    def of(self, key: str, entry: Typed | None, maker: Callable[[Typed], Built]) -> Built | None:
        """Return what a maker makes of an entry; None if there is no entry, or if the maker refuses it."""
        return None if entry is None else self.made(key, lambda: maker(entry))

    def refuse(self, key: str, limit: str, remedy: str) -> None:
        """Keep a problem at a key such as ``steady.2.tank``; positions count from 1."""
        place = tuple(int(step) - 1 if step.isdigit() else step for step in re.findall(r"\w+", key))
        typed = typed_at(self.document.raw, place)
        value = "" if typed is None else shown_value(typed)
        self.problems.append(Problem(self.document.file, key_of_place({}, place), value, limit, ended(remedy)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """Machine, tip and pass.

    Attributes
    ----------
    sprayer : Sprayer
        From the season, or from the file itself.
    tip : Tip
        The set on the boom, new.
    odd_tips : mapping of int to Tip
        Positions that carry a tip of their own.
    planned : Pass or None
        The pass the machine is proved for.
    customer : str
        As in the season.
    """

    sprayer: Sprayer
    tip: Tip
    odd_tips: Mapping[int, Tip]
    planned: Pass | None = None
    customer: str = ""

    @property
    def odd_laws(self) -> Mapping[int, FlowLaw]:
        """The laws of the tips at odd positions."""
        return {position: tip.law for position, tip in self.odd_tips.items()}


def ground_of(entry: WetRunEntry, folder: Path, building: Building) -> Ground | None:
    """Return what the tests stand on.

    Parameters
    ----------
    entry : WetRunEntry
        The file as typed.
    folder : Path
        Where names inside it are looked for.
    building : Building
        Keeps what is wrong.

    Returns
    -------
    Ground or None
        None if machine or tip cannot be made out; the problems say why.
    """
    sprayer, tips, planned, customer = machine_of(entry, folder, building)
    if entry.tips.catalogue is not None:
        more = building.made("tips.catalogue", lambda: read_catalogue(folder / str(entry.tips.catalogue)))
        tips = (*tips, *(more or ()))
    tip = building.made("tips.fitted", lambda: tip_named(tips, entry.tips.fitted))
    if sprayer is None or tip is None:
        return None
    # A pass may have the set's own tip at the odd positions too; then that is what is caught on its day.
    exceptions = () if planned is not None and not planned.odd_positions else sprayer.boom.exceptions
    odd: dict[int, Tip] = {}
    for part in exceptions:
        other = building.made("machine.boom.odd", partial(tip_named, tips, part.tip))
        odd |= {} if other is None else dict.fromkeys(part.positions, other)
    return Ground(sprayer=sprayer, tip=tip, odd_tips=odd, planned=planned, customer=customer)


def machine_of(
    entry: WetRunEntry, folder: Path, building: Building
) -> tuple[Sprayer | None, tuple[Tip, ...], Pass | None, str]:
    """Return the machine of a file, the tips it may carry, the pass it is proved for, and the customer.

    Parameters
    ----------
    entry : WetRunEntry
        The file as typed.
    folder : Path
        Where names inside it are looked for.
    building : Building
        Keeps what is wrong.

    Returns
    -------
    tuple of Sprayer or None, tuple of Tip, Pass or None, and str
        From the season it names, or from its own table; no machine if it cannot be made out.
    """
    if entry.machine is not None:
        machine = entry.machine
        return building.made("machine", lambda: sprayer_of_entry(machine)), catalogue(), None, ""
    read = building.made("season", lambda: read_season(folder / str(entry.season), logs_needed=False))
    if read is None:
        return None, catalogue(), None, ""
    season = read.season
    planned = next((each for each in season.passes if each.ident == entry.pass_name), None)
    if entry.pass_name is not None and planned is None:
        known = ", ".join(f"“{each.ident}”" for each in season.passes)
        building.refuse("pass", f"{entry.season} has no such pass", f"It has: {known}")
    return season.sprayer, read.catalogue, planned, season.customer
