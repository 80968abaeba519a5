"""A machine's own page: its file, from intake to changeovers, with what is missing at each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, path, reverse

from wetrun.planning.readiness import Reached, Station
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.machines import machine_told
from wetrun.shop.intake.models import Intake
from wetrun.shop.records.models import Changeover, FieldLog, Machine, Season, WetRun
from wetrun.shop.records.readiness import MachineStand, stand_of

SEASONS: Final = 6
RUNS: Final = 12


@asks(Act.LOOK, machine=Machine)
def machine_page(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Show a machine's file."""
    stand = stand_of(machine, request.desk)
    told = {
        "machine": machine,
        "stand": stand,
        "stations": [_station(one, stand) for one in stand.readiness.stations],
        "told": machine_told(machine, request.desk.reader),
        "seasons": Season.objects.filter(machine=machine).defer("document", "received")[:SEASONS],
        "runs": _bare(WetRun.objects.filter(machine=machine))[:RUNS],
        "logs": FieldLog.objects.filter(machine=machine, taken_away_at=None).defer("in_us", "in_si")[:RUNS],
        "intakes": Intake.objects.filter(machine=machine).defer("document", "decisions", "remarks")[:SEASONS],
        "changeovers": Changeover.objects.filter(machine=machine).defer("document", "in_us", "in_si")[:RUNS],
    }
    return render(request, "machines/file.html", told)


def _bare(runs: Any) -> Any:  # noqa: ANN401 - a query of wet runs
    return runs.defer("document", "received", "machine_then", "in_us", "in_si")


def _station(one: Reached, stand: MachineStand) -> dict[str, Any]:
    return {"reached": one, "ways": list(_ways(one.station, stand))}


def _ways(station: Station, stand: MachineStand) -> Iterable[tuple[str, str]]:
    """Where a station's work is done: words and address, what is not built or not there left out."""
    season = None if stand.season is None else {"season": stand.season.pk}
    run = None if stand.run is None else {"wet_run": stand.run.pk}
    machine = {"machine": stand.machine.pk}
    offered: dict[Station, list[tuple[str, str, dict[str, int] | None]]] = {
        Station.INTAKE: [
            ("Ask the customer", "intake-new", machine),
            ("Season", "season", season),
            ("New season", "season-new", machine),
        ],
        Station.TIP_PLAN: [("Tip plan", "tip-plan", season), ("Tank loads", "loads", season)],
        Station.PARTS: [("Parts list", "machine-parts", machine)],
        Station.WET_RUN: [("Latest wet run", "wet-run", run), ("New wet run", "wet-run-new", machine)],
        Station.CROSS_CHECK: [("Cross-check", "cross-check", run)],
        Station.SETTINGS: [("Monitor settings", "monitor-settings", machine)],
        Station.HANDOVER: [("Handovers", "handovers", machine)],
    }
    for words, name, keys in offered[station]:
        if keys is not None and (address := _address(name, keys)):
            yield words, address


def _address(name: str, keys: dict[str, int]) -> str:
    try:
        return reverse(name, kwargs=keys)
    except NoReverseMatch:
        return ""


addresses = [path("machines/<int:machine>/", machine_page, name="machine")]
