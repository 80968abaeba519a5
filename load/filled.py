"""Fills an empty shop with machines, seasons, plans and open wet runs: ``python -m load.filled MACHINES SEASONS``."""

from __future__ import annotations

import json
import os
import sys
from copy import deepcopy
from datetime import date, timedelta
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "wetrun.shop.settings")

WRITERS = 20
READERS = 30


def fill(machines: int, seasons: int) -> dict[str, list[int]]:
    """Return the keys of what was put there, by kind."""
    from tests.shop_cases import make_branch, make_user, small_season

    from wetrun.shop.accounts.roles import Role
    from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of

    branch = make_branch()
    for number in range(WRITERS):
        make_user(branch, Role.TECHNICIAN, f"writer-{number}")
    make_user(branch, Role.TECHNICIAN, "technician")  # who types while the server is killed
    for number in range(READERS):
        make_user(branch, Role.VIEWER, f"reader-{number}")
    first = small_season(branch)
    plan = keep_plan(tip_plan_of(first), None)
    return _many(first, plan, machines, seasons)


def _many(first: Any, plan: Any, machines: int, seasons: int) -> dict[str, list[int]]:  # noqa: ANN401 - records
    from wetrun.shop.records.models import Customer, Machine, Season, TipPlan, WetRun

    branch, made = first.branch, {"machine": [first.machine_id], "season": [first.pk], "wet_run": []}
    customers = Customer.objects.bulk_create(
        Customer(branch=branch, name=f"Farm {n}") for n in range(max(1, machines // 4))
    )
    for number in range(machines - 1):
        document = deepcopy(first.machine.document) | {"name": f"Number {number}"}
        machine = Machine.objects.create(
            branch=branch, customer=customers[number // 4 % len(customers)], document=document
        )
        made["machine"].append(machine.pk)
        for year in range(seasons):
            day = date(2026 + year, 4, 1) + timedelta(number % 90)
            season = Season.objects.create(
                branch=branch,
                machine=machine,
                title=f"Season {2026 + year}",
                document=deepcopy(first.document),
                first_day=day,
                last_day=day + timedelta(60),
            )
            made["season"].append(season.pk)
            TipPlan.objects.create(
                branch=branch,
                season=season,
                digest=plan.digest,
                method=plan.method,
                answer=plan.answer,
                parts=plan.parts,
                in_us=plan.in_us,
                in_si=plan.in_si,
            )
        run = WetRun.objects.create(
            branch=branch,
            machine=machine,
            title="Before the season",
            on=date(2027, 3, 1),
            document={"format_version": 1, "title": "Before the season", "tips": {"fitted": "iso-11004-ai"}},
        )
        made["wet_run"].append(run.pk)
    return made


if __name__ == "__main__":
    import django

    django.setup()
    sys.stdout.write(json.dumps(fill(int(sys.argv[1]), int(sys.argv[2]))) + "\n")
