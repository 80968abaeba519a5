"""A wet run as it begins: what it is proved for, the set the tip plan puts on, or all that an earlier run leaves it."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any, Final

from django.utils.translation import gettext as _

from wetrun.documents.wetrun_entry import WETRUN_VERSION
from wetrun.quantity import System
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.proving import follow_up
from wetrun.shop.answers.run_document import rows_of, table_of
from wetrun.shop.answers.season_logs import plain_name
from wetrun.shop.answers.tip_plans import standing_plan
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, Season, WetRun

_READ: Final = {
    "course": ("run",),
    "meter": ("catch",),
    "catch": ("readings", "swap", "low", "times", "before", "after", "section_pressures"),
    "pressure": ("gauge",),
    "ramp": ("step", "simulated_speed_off", "water_density_by", "density_restored"),
    "monitor": ("as_found", "as_left", "water_density", "density_signed_by"),
}
"""What was read on a day, by table: none of it holds on another."""
_OF_A_DAY: Final = frozenset({"on", "gates", "steady", "screen", "section", "timing", "stands", "evenness"})
"""Tables that were read as a whole; gates most of all are looked at anew."""


def passes_of_season(season: Season) -> list[str]:
    """Return the names of a season's passes."""
    return [name for one in rows_of(season.document, "pass") if isinstance(one, dict) and (name := plain_name(one))]


def tip_of_plan(season: Season | None, pass_name: str) -> str:
    """Return the tip the standing plan of a season puts on for a pass; empty if no plan says."""
    plan = None if season is None else standing_plan(season)
    passes = [] if plan is None else rows_of(plan.in_us, "passes")
    chosen: dict[str, Any] = next((one for one in passes if plain_name(one) == pass_name), {})
    return str(table_of(chosen, "set").get("ident", ""))


def tips_owned(machine: Machine) -> list[str]:
    """Return the tips a machine has sets of."""
    return [str(one["tip"]) for one in rows_of(machine.document, "owned") if isinstance(one, dict) and one.get("tip")]


def new_run(machine: Machine, season: Season | None, head: dict[str, Any], system: System) -> WetRun:
    """Return a new open wet run, not saved.

    Parameters
    ----------
    machine : Machine
        Its machine.
    season : Season or None
        The season it is proved for.
    head : dict
        Keys of its document: title, on, technician, pass, tips; what is empty is left out.
    system : System
        The units its file is written in.

    Returns
    -------
    WetRun
        With a document that nothing was read for yet.
    """
    typed = {key: value for key, value in head.items() if value}
    document = {"format_version": WETRUN_VERSION, "title": typed.pop("title"), "units": system.value, **typed}
    return WetRun(
        branch=machine.branch,
        machine=machine,
        season=season,
        title=document["title"],
        units=system.value,
        document=document,
        on=head.get("on"),
        technician=head.get("technician", ""),
    )


def successor(wet_run: WetRun, desk: Desk, *, with_readings: bool) -> WetRun:
    """Return a new open wet run that takes the place of a proven one once it is proven itself.

    Parameters
    ----------
    wet_run : WetRun
        Proven.
    desk : Desk
        Who begins it.
    with_readings : bool
        Whether what was read comes along, to be corrected; else only what a new day does not change.

    Returns
    -------
    WetRun
        Saved.
    """
    return follow_up(wet_run, desk) if with_readings else _anew(wet_run, desk)


def _anew(wet_run: WetRun, desk: Desk) -> WetRun:
    document = without_readings(wet_run.document) | {"on": desk.today, "technician": desk.user.name}
    following = WetRun(
        branch=wet_run.branch,
        machine=wet_run.machine,
        season=wet_run.season,
        title=wet_run.title,
        units=wet_run.units,
        document=document,
        on=desk.today,
        technician=desk.user.name,
        follows=wet_run,
    )
    return kept(following, desk, _("begun in place of the run of %(day)s") % {"day": wet_run.on or ""})


def without_readings(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a wet run's document says besides what was read on its day.

    Parameters
    ----------
    document : mapping
        Of an earlier run.

    Returns
    -------
    dict
        Course, sources, instruments and the monitor's profile stay; gates, numbers and readings do not.
    """
    left = {key: deepcopy(value) for key, value in document.items() if key not in _OF_A_DAY}
    for table, keys in _READ.items():
        if isinstance(left.get(table), dict):
            left[table] = {key: value for key, value in left[table].items() if key not in keys}
    return {key: value for key, value in left.items() if value != {}}
