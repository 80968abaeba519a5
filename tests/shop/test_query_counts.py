"""Every page asks the database as often for 400 machines as for one: read off the URL table, so that none is missed.

Whatever can be looked at is counted in a branch with one record of every kind, and again once there are 400 machines,
each with its season, tip plan, wet run and changeover, and every list that hangs on one record has grown as well.
"""

from __future__ import annotations

from copy import copy, deepcopy
from datetime import timedelta
from typing import Final
from uuid import uuid4

import pytest
from django.db import connection, models
from django.test import Client
from django.test.utils import CaptureQueriesContext
from tests.shop_addresses import Records, addresses, sample_records
from tests.shop_cases import make_branch, make_user

from wetrun.shop.accounts.models import Branch, Membership
from wetrun.shop.accounts.roles import Role
from wetrun.shop.jobs.models import Job
from wetrun.shop.records.models import (
    Catalogue,
    Changeover,
    ChangeoverNote,
    ColumnMap,
    Customer,
    FieldLog,
    Handover,
    Machine,
    MonitorSettings,
    Reading,
    Replay,
    Season,
    TipPlan,
    WetRun,
)
from wetrun.shop.records.trail import told

pytestmark = pytest.mark.django_db

MANY: Final = 400
LONG: Final = 30
"""How many records then hang on one: seasons and wet runs of a machine, logs, notes of a changeover."""
NO_LISTS: Final = frozenset({"first-run", "fieldlog-file", "season-zip"})
"""Gone once somebody is there; a file from the disk; a folder of files, which reads every wet run whole."""


def more_of(record: models.Model, count: int, **columns: object) -> list[models.Model]:
    """Copies of a record that were never saved, with other columns: what is callable is asked for the nth."""
    made = []
    for n in range(count):
        another = copy(record)
        another._state = copy(record._state)
        another._state.fields_cache = {}
        another._state.adding = True
        another.pk = None
        for name, value in columns.items():
            setattr(another, name, value(n) if callable(value) else value)
        made.append(another)
    return made


def saved(copies: list[models.Model]) -> list[models.Model]:
    return type(copies[0])._default_manager.bulk_create(copies)


def many_machines(records: Records) -> None:
    """Fill the branch: a hundred customers of four machines, each machine with all that one has."""
    season, day = records[Season], records[Season].first_day  # type: ignore[attr-defined]
    customers = saved(more_of(records[Customer], MANY // 4, name=lambda n: f"Farm {n}"))
    machines = more_of(records[Machine], MANY, customer_id=lambda n: customers[n // 4].pk)
    for n, machine in enumerate(machines):
        machine.document = deepcopy(machine.document) | {"name": f"Number {n}"}  # type: ignore[attr-defined]
        machine.name = f"Number {n}"  # type: ignore[attr-defined]
    keys = [machine.pk for machine in saved(machines)]
    of_machine = {"machine_id": lambda n: keys[n]}
    days = {"first_day": lambda n: day + timedelta(n % 90), "last_day": lambda n: day + timedelta(n % 90 + 90)}
    seasons = [one.pk for one in saved(more_of(season, MANY, **of_machine, **days))]
    runs = saved(more_of(records[WetRun], MANY, **of_machine, season_id=lambda n: seasons[n]))
    saved(more_of(records[TipPlan], MANY, season_id=lambda n: seasons[n]))
    saved(more_of(records[Changeover], MANY, **of_machine, season_id=lambda n: seasons[n]))
    saved(more_of(records[MonitorSettings], MANY, **of_machine, wet_run_id=lambda n: runs[n].pk))
    saved(more_of(records[Handover], MANY, **of_machine, season_id=lambda n: seasons[n]))
    saved(more_of(records[Job], MANY, subject_key=str, question=str))


def long_lists(records: Records) -> None:
    """Let everything that hangs on one record grow long."""
    day = records[Season].first_day  # type: ignore[attr-defined]
    saved(more_of(records[Machine], LONG, name=lambda n: f"Another {n}"))
    days = {"first_day": lambda n: day + timedelta(n + 1), "last_day": lambda n: day + timedelta(n + 90)}
    seasons = [one.pk for one in saved(more_of(records[Season], LONG, **days))]
    saved(more_of(records[TipPlan], LONG, season_id=lambda n: seasons[n]))
    saved(more_of(records[WetRun], LONG))
    saved(more_of(records[Changeover], LONG))
    saved(more_of(records[ChangeoverNote], LONG))
    places = {"place": lambda n: f"catch.readings.{n + 1}", "number": lambda n: n + 2}
    saved(more_of(records[Reading], LONG, entry=lambda _: uuid4(), **places))
    saved(more_of(records[Catalogue], LONG, name=lambda n: f"tips {n}.csv"))
    saved(more_of(records[ColumnMap], LONG, name=lambda n: f"columns {n}.toml"))
    logs = saved(more_of(records[FieldLog], LONG, name=lambda n: f"log {n}.csv", sha256=lambda n: f"{n:064}"))
    saved(more_of(records[Replay], LONG, log_id=lambda n: logs[n].pk))
    people = [make_user(records[Branch], Role.TECHNICIAN, f"one-of-many-{n}") for n in range(LONG)]  # type: ignore[arg-type]
    assert Membership.objects.filter(user__in=people).count() == LONG
    for n in range(LONG):
        told(records[Machine], f"looked at {n}", people[n])
        make_branch(f"Branch {n}")


def asked_by(client: Client, address: str) -> list[str] | None:
    """What an address asks the database; None if there is nothing to be looked at."""
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(address)
    answer.getvalue()  # a file is closed at its end
    if answer.status_code != 200:
        return None
    asks = (query["sql"] for query in asked.captured_queries)
    # A message that waits in the session is shown, and taken out of it, by whichever page comes next.
    return [sql for sql in asks if "django_session" not in sql and "SAVEPOINT" not in sql]


def counted(client: Client, records: Records) -> dict[str, list[str]]:
    """What every address that can be looked at asks."""
    places = {one.name: one.filled(records) for one in addresses() if one.name not in NO_LISTS}
    asked = {name: asked_by(client, place) for name, place in places.items()}
    return {name: asks for name, asks in asked.items() if asks is not None}


def test_every_page_asks_as_often_for_400_machines_as_for_one() -> None:
    branch = make_branch()
    manager = make_user(branch, Role.MANAGER, "manager", is_group=True)
    client = Client()
    client.force_login(manager)
    records = sample_records(branch)
    few = counted(client, records)
    many_machines(records)
    long_lists(records)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")  # it does so by itself a minute after, and takes its tables for empty until then
    many = counted(client, records)
    assert few.keys() == many.keys()
    assert len(few) > 40
    # What was worked out anew because readings were added is kept at the first look.
    again = [one for one in addresses() if one.name in few and len(many[one.name]) > len(few[one.name])]
    many |= {one.name: asked_by(client, one.filled(records)) or [] for one in again}
    grown = {name: (len(few[name]), len(many[name])) for name in few if len(many[name]) > len(few[name])}
    assert not grown, "asked (with one machine, with many): " + ", ".join(f"{name} {n}" for name, n in grown.items())
