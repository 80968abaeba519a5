"""The two tanks of a changeover file: passes of its season, or typed, and the machine they were in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.changeover.question import TankUse
from wetrun.documents.changeover_entry import ChangeoverEntry, NextEntry, TankEntry
from wetrun.documents.refusing import refuse
from wetrun.documents.season_build import sprayer_of_entry
from wetrun.documents.season_file import read_season
from wetrun.documents.wetrun_build import si_or_none
from wetrun.documents.wetrun_ground import Building
from wetrun.machine.sprayer import Sprayer
from wetrun.planning.changeovers_needed import changeovers_of_order
from wetrun.planning.order_limits import written_order
from wetrun.planning.passes import Pass, Season
from wetrun.planning.residue import Residue, residues_on
from wetrun.units import M3, Frac, M3s, Mps

_USUALLY_FULL: Final = 0.95
"""Share of a tank a load fills where nobody typed what is usable: room for foam; own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tanks:
    """What a clean-out lies between.

    Attributes
    ----------
    sprayer : Sprayer
        The machine.
    tank_m3 : float
        Its tank [m3].
    customer : str
        As in the season; empty without one.
    earlier, later : TankUse
        From what to what.
    speed_mps, out_m3s : float
        Ground speed and boom flow of the later use [m/s], [m3/s].
    load_m3 : float
        Its first load [m3].
    tolerated_frac : float or None
        Least share of its own dose that a label in the season says the next crop stands [frac].
    """

    sprayer: Sprayer
    tank_m3: M3
    customer: str
    earlier: TankUse
    later: TankUse
    speed_mps: Mps
    out_m3s: M3s
    load_m3: M3
    tolerated_frac: Frac | None = None


def tanks_of(entry: ChangeoverEntry, folder: Path, building: Building) -> Tanks | None:
    """Return the two tanks of a file and the machine.

    Parameters
    ----------
    entry : ChangeoverEntry
        The file as typed.
    folder : Path
        Where the season is looked for.
    building : Building
        Keeps what is wrong.

    Returns
    -------
    Tanks or None
        None if machine or passes cannot be made out; the problems say why.
    """
    sprayer, season = _machine(entry, folder, building)
    if sprayer is None:
        return None
    passes = {} if season is None else {_folded(each.ident): each for each in season.passes}
    before = _planned("from", entry.earlier, passes, building)
    after = _planned("to", entry.later, passes, building)
    if before is not None and before is after:
        building.refuse("to", "it is the same pass as from", "Name the pass that comes next")
    if sprayer.tank_m3 is None:
        key = "machine" if season is None else "season"
        building.refuse(key, "the machine has no tank", 'Add tank = "1200 gal" to it')
    ground = _Ground(sprayer, season, before, after)
    if not building.problems:
        return building.made("to", lambda: _tanks(entry, ground))
    return None


@dataclass(frozen=True, slots=True)
class _Ground:
    """The machine, and the season with its two passes if there is one."""

    sprayer: Sprayer
    season: Season | None
    before: Pass | None
    after: Pass | None


def _machine(entry: ChangeoverEntry, folder: Path, building: Building) -> tuple[Sprayer | None, Season | None]:
    if entry.machine is not None:
        machine = entry.machine
        return building.made("machine", lambda: sprayer_of_entry(machine)), None
    read = building.made("season", lambda: read_season(folder / str(entry.season), logs_needed=False))
    return (None, None) if read is None else (read.season.sprayer, read.season)


def _planned(key: str, tank: TankEntry, passes: Mapping[str, Pass], building: Building) -> Pass | None:
    if tank.pass_name is None:
        return None
    found = passes.get(_folded(tank.pass_name))
    if found is None:
        known = ", ".join(f"“{each.ident}”" for each in passes.values())
        building.refuse(key, "the season has no such pass", f"It has: {known}")
    return found


def _tanks(entry: ChangeoverEntry, ground: _Ground) -> Tanks:
    season, before, after = ground.season, ground.before, ground.after
    inside: tuple[str, ...] = ()
    residues: tuple[Residue, ...] = ()
    if season is not None and before is not None and after is not None:
        inside, residues = _inside(season, before, after), residues_on(before, after)
    later = _use(entry.later, after, ())
    speed_mps, out_m3s = _driven(entry.later, ground, later)
    tank_m3 = ground.sprayer.tank_m3 or 0.0
    return Tanks(
        sprayer=ground.sprayer,
        tank_m3=tank_m3,
        customer="" if season is None else season.customer,
        earlier=_use(entry.earlier, before, inside),
        later=later,
        speed_mps=speed_mps,
        out_m3s=out_m3s,
        load_m3=_load_m3(entry.later, ground, later),
        tolerated_frac=min((each.tolerated_frac for each in residues if each.tolerated_frac), default=None),
    )


def _inside(season: Season, before: Pass, after: Pass) -> tuple[str, ...]:
    """Everything since the last clean-out by the season's own order, if these two follow each other in it."""
    changes = changeovers_of_order(written_order(season.passes))
    return next((each.inside for each in changes if each.earlier is before and each.later is after), ())


def _use(tank: TankEntry, planned: Pass | None, inside: tuple[str, ...]) -> TankUse:
    typed_m3pm2 = 0.0 if tank.rate is None else tank.rate.si_value
    if planned is None:
        crop = str(tank.crop)
        return TankUse(name=tank.name or crop, crop=crop, contents=tuple(tank.contents), rate_m3pm2=typed_m3pm2)
    carrier = () if planned.carrier.is_water else (planned.carrier.name,)
    own = inside or (*(product.name for product in planned.products), *carrier)
    return TankUse(
        name=tank.name or planned.ident,
        crop=tank.crop or planned.crop,
        contents=tuple(dict.fromkeys((*own, *tank.contents))),
        rate_m3pm2=typed_m3pm2 or planned.rate_m3pm2,
        first_day=planned.first_day,
        last_day=planned.last_day,
    )


def _driven(tank: NextEntry, ground: _Ground, use: TankUse) -> tuple[Mps, M3s]:
    """Speed and boom flow: one is typed, or the pass states its speeds; the other follows."""
    per_speed = use.rate_m3pm2 * ground.sprayer.boom.width_m
    stated = None if ground.after is None else ground.after.speeds
    if tank.boom_flow is not None:
        return tank.boom_flow.si_value / per_speed, tank.boom_flow.si_value
    if tank.speed is None and stated is None:
        raise refuse("how fast it is sprayed is not known", 'Add speed = "12 mph", or boom_flow', at="speed")
    speed_mps = stated.usual_mps if tank.speed is None and stated is not None else (si_or_none(tank.speed) or 0.0)
    return speed_mps, speed_mps * per_speed


def _load_m3(tank: NextEntry, ground: _Ground, use: TankUse) -> M3:
    """First load: typed, or as full as the tank goes and the area needs."""
    if tank.load is not None:
        return tank.load.si_value
    fill = ground.sprayer.fill.usable_m3
    full_m3 = _USUALLY_FULL * (ground.sprayer.tank_m3 or 0.0) if fill is None else fill
    return full_m3 if ground.after is None else min(full_m3, ground.after.area_m2 * use.rate_m3pm2)


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()
