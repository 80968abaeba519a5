"""Brings a machine of the demo as far as it should be, by the same doors that pages and jobs go through."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from wetrun.machine.walk_round import WALK, Found
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.files import keep_season, keep_test, season_from, wet_run_from
from wetrun.shop.answers.handovers import compared_numbers, left_numbers, steering_of_machine
from wetrun.shop.answers.laid_out import toml_text
from wetrun.shop.answers.parts_orders import take_down
from wetrun.shop.answers.proving import prove
from wetrun.shop.answers.tip_plans import keep_plan, standing_plan, tip_plan_of
from wetrun.shop.demo.between import change_meter
from wetrun.shop.demo.documents import machine_document, season_document, wet_run_document
from wetrun.shop.demo.farms import Farm, Stage
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Customer, Handover, Machine, MonitorSettings, Season, TipPlan, WetRun

Desks = Mapping[Role, Desk]


def bring(farm: Farm, desks: Desks, today: date) -> None:
    """Take a farm down and bring its machine to its stage.

    Parameters
    ----------
    farm : Farm
        Whose, and how far.
    desks : mapping of Role to Desk
        Who does what.
    today : date
        The day it is in the branch.
    """
    specialist, technician = desks[Role.SPECIALIST], desks[Role.TECHNICIAN]
    first_day = today + timedelta(days=farm.in_days)
    customer = Customer(name=farm.customer, person=farm.person, phone=farm.phone, place=farm.place)
    kept(customer, specialist, "taken down")
    if farm.stage is Stage.BARE:
        kept(Machine(customer=customer, document=machine_document(farm, first_day)), specialist, "taken down")
        return
    season = take_season(toml_text(season_document(farm, first_day)), specialist)
    if farm.stage >= Stage.PLANNED:
        plan = make_plan(season, specialist)
        _go_through(plan, farm.stage, specialist)
    if farm.stage >= Stage.RUN:
        _run_wet(farm, season, (specialist, technician), today)
    if farm.stage >= Stage.HANDED:
        _hand_over(season, farm.person, technician)
    if farm.new_meter:
        change_meter(season.machine, technician, today)
    if farm.changed_since:
        _change(season, specialist)


def take_season(text: str, desk: Desk) -> Season:
    """Keep a season file with its customer and machine, and return the season."""
    return keep_season(season_from(text, desk, "season.toml"), desk)


def make_plan(season: Season, desk: Desk) -> TipPlan:
    """Make the tip plan of a season, and keep it."""
    keep_plan(tip_plan_of(season), desk.user)
    plan = standing_plan(season)
    assert plan is not None  # noqa: S101 - it was kept a line above
    return plan


def take_run(text: str, season: Season, desk: Desk) -> WetRun:
    """Keep a wet-run file of a season's machine, and return the run."""
    run = keep_test(wet_run_from(text, season.machine, "wetrun.toml", season), desk)
    assert isinstance(run, WetRun)  # noqa: S101 - that is what was taken
    return run


def _go_through(plan: TipPlan, stage: Stage, desk: Desk) -> None:
    if stage >= Stage.AGREED:
        plan.agreed_at, plan.agreed_by = timezone.now(), desk.user
        kept(plan, desk, "agreed with the customer")
    for reached, state in ((Stage.ORDERED, "ordered"), (Stage.HERE, "here")):
        if stage >= reached:
            plan.refresh_from_db()
            take_down(desk, {plan.pk: plan.version}, state)


def _run_wet(farm: Farm, season: Season, desks: tuple[Desk, Desk], today: date) -> None:
    specialist, technician = desks
    document: dict[str, Any] = wet_run_document(farm, today + timedelta(days=farm.in_days))
    document |= {"on": today - timedelta(days=3), "technician": technician.user.name}
    run = take_run(toml_text(document), season, technician)
    if farm.stage >= Stage.PROVEN:
        prove(run, specialist)


def _hand_over(season: Season, operator: str, desk: Desk) -> None:
    machine = season.machine
    left = left_numbers(MonitorSettings.objects.filter(machine=machine).latest("pk"))
    shown = {one.key: one.text for one in left}
    handover = Handover(
        machine=machine,
        season=season,
        pass_name=str(season.document["pass"][0]["name"]),
        operator=operator,
        checks=[{"key": look.key, "found": Found.RIGHT.value, "remark": ""} for look in WALK],
        numbers=list(compared_numbers(left, shown, steering_of_machine(machine))),
        signed_name=operator,
        signed_at=timezone.now(),
    )
    kept(handover, desk, f"signed by {operator}")


def _change(season: Season, desk: Desk) -> None:
    season.refresh_from_db()
    season.document = {**season.document, "pass": [{**one, "area": "900 ac"} for one in season.document["pass"]]}
    kept(season, desk, "area of every pass changed: the customer called")
