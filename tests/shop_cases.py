"""Records the shop's tests share: two branches, one person per role, and the demo's machine, season and wet run."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Catalogue, Changeover, Customer, Machine, Season, WetRun

DEMO = Path(__file__).parents[1] / "demo"
PASSWORD = "wet gloves at seven"  # noqa: S105 - of people who do not exist


def demo(name: str) -> dict[str, Any]:
    """A document of the demo, as parsed."""
    return tomllib.loads((DEMO / name).read_text(encoding="utf-8"))


def make_branch(name: str = "North yard", **more: Any) -> Branch:
    return Branch.objects.create(name=name, **more)


def today_in(branch: Branch) -> date:
    """The day it is in a branch, as its pages count."""
    return datetime.now(ZoneInfo(branch.time_zone)).date()


def make_user(branch: Branch, role: Role = Role.SPECIALIST, login: str = "", **more: Any) -> User:
    user = User.objects.make(
        login or f"{role.value}-{branch.pk}", PASSWORD, name=more.pop("name", role.value.title()), **more
    )
    Membership.objects.create(user=user, branch=branch, role=role.value)
    return user


def make_customer(branch: Branch, name: str = "Low Fork Farm", **more: Any) -> Customer:
    return Customer.objects.create(branch=branch, name=name, **more)


def make_machine(customer: Customer, document: dict[str, Any] | None = None, **more: Any) -> Machine:
    """A machine; without a document the demo's."""
    if document is None:
        document = demo("season.toml")["machine"]
    return Machine.objects.create(branch=customer.branch, customer=customer, document=document, **more)


def make_catalogue(branch: Branch, name: str = "tips.csv") -> Catalogue:
    text = (DEMO / "tips.csv").read_text(encoding="utf-8")
    return Catalogue.objects.create(branch=branch, name=name, text=text, tips=16)


def season_document(*, logs: bool = False) -> dict[str, Any]:
    """The demo's season without machine and customer; passes that name logs drive stated speeds unless asked."""
    document = {key: value for key, value in demo("season.toml").items() if key not in {"machine", "customer"}}
    if not logs:
        for each in document["pass"]:
            if each.pop("logs", None):
                each.pop("log_map", None)
                each["speeds"] = {"slow": "9 mph", "usual": "12 mph", "fast": "15 mph"}
    return document


def make_season(machine: Machine, document: dict[str, Any] | None = None, **more: Any) -> Season:
    document = document or season_document()
    return Season.objects.create(
        branch=machine.branch,
        machine=machine,
        title=document["title"],
        document=document,
        first_day=date(2027, 4, 15),
        last_day=date(2027, 10, 5),
        **more,
    )


def make_wet_run(machine: Machine, season: Season | None = None, **more: Any) -> WetRun:
    document = {key: value for key, value in demo("wetrun.toml").items() if key != "season"}
    return WetRun.objects.create(
        branch=machine.branch,
        machine=machine,
        season=season,
        title=document["title"],
        document=document,
        on=date(2027, 3, 12),
        technician="A. Reed",
        **more,
    )


def make_changeover(machine: Machine, season: Season | None = None, **more: Any) -> Changeover:
    document = {key: value for key, value in demo("changeover.toml").items() if key != "season"}
    return Changeover.objects.create(
        branch=machine.branch,
        machine=machine,
        season=season,
        title=document["title"],
        document=document,
        on=date(2027, 7, 8),
        **more,
    )


SMALL_MACHINE: dict[str, Any] = {
    "name": "Number 2, 30 ft",
    "tank": "300 gal",
    "boom": {"spacing": "20 in", "sections": [6, 6, 6]},
    "control": {"loop": "flow meter", "hold": {"pressure": "20 psi"}},
    "owned": [{"tip": "iso-11004-ai"}],
}
SMALL_SEASON: dict[str, Any] = {
    "format_version": 1,
    "title": "Small season",
    "units": "us",
    "plan": {"most_sets": 1},
    "pass": [
        {
            "name": "Burndown",
            "crop": "soybeans",
            "area": "100 ac",
            "first": date(2027, 4, 15),
            "last": date(2027, 5, 10),
            "carrier": "water",
            "rate": "15 gal/ac",
            "speeds": {"slow": "6 mph", "usual": "9 mph", "fast": "11 mph"},
        }
    ],
}


def small_season(branch: Branch) -> Season:
    """A season that is planned in a moment: 18 tips, one pass, one owned set."""
    machine = make_machine(make_customer(branch), deepcopy(SMALL_MACHINE))
    return make_season(machine, deepcopy(SMALL_SEASON))


LOG_MAP = (DEMO / "log_map.toml").read_text(encoding="utf-8").replace("120", "30")


def log_text(instants: int = 300) -> str:
    """A log of the small machine, in the demo's columns: three sections, 7 to 10 mph, northward."""
    rows = ["Clock,Sec,Dist,Swath,Gs,Track,Lon,Lat,RateSet,RateOut"]
    north_deg = 41.0
    for second in range(instants):
        speed_mph = 8.5 + 1.5 * ((second // 20) % 3 - 1)
        feet = speed_mph * 5280 / 3600
        north_deg += feet * 0.3048 / 111_194.93
        clock = f"2026-05-01T09:{second // 60:02d}:{second % 60:02d}"
        for section in (1, 2, 3):
            east_deg = -93.0 + section * 4e-5
            places = f"{east_deg:.7f},{north_deg:.7f}"
            rows.append(f"{clock},{section},{feet:.2f},10,{speed_mph:.1f},0.0,{places},15.0,15.0")
    return "\n".join(rows) + "\n"
