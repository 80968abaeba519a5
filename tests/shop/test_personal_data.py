"""A person's data: all of it handed over, and none of it left once erased – searched for in every table there is."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, models
from django.test import Client
from tests.shop_addresses import sample_records
from tests.shop_cases import demo, make_branch, make_customer, make_machine, make_season, make_user, make_wet_run

from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.records.models import (
    ChangeoverNote,
    Customer,
    FieldLog,
    Handover,
    Machine,
    MonitorSettings,
    Reading,
    Replay,
    Season,
    TipPlan,
    Trail,
    WetRun,
)
from wetrun.shop.records.reach import OF_THE_BRANCH, kinds, way_to
from wetrun.shop.records.trail import told

NAME = "Ödland & Söhne Farm"
PERSON = "Zita Quist"
OPERATOR = "Old Barnaby Tull"
TECHNICIAN = "Wilhelmina Oakes"
WAYS = ("Ödland & Söhne Farm", "ödland_&_söhne_farm.csv", "ÖDLAND  &  SÖHNE FARM", "Ödland &amp; Söhne Farm")


@pytest.fixture
def manager(branch: Branch) -> Client:
    client = Client()
    client.force_login(make_user(branch, Role.MANAGER, "boss", name="Boss"))
    return client


@pytest.fixture
def oakes(branch: Branch) -> User:
    return make_user(branch, Role.TECHNICIAN, "woakes", name=TECHNICIAN)


@pytest.fixture
def farm(branch: Branch, oakes: User) -> Customer:
    """A customer whose name stands wherever one can stand."""
    farm = make_customer(
        branch,
        NAME,
        person=PERSON,
        phone="555 0123",
        email="zita@farm.example",
        place="Mill road",
        remarks=f"{PERSON}!",
    )
    machine = make_machine(farm, {**demo("season.toml")["machine"], "name": f"Number 7 of {NAME}"})
    season = make_season(machine, {**_season(), "title": f"{WAYS[2]} 2027"})
    season.received = f'title = "{NAME} 2027" # {WAYS[1]}\n[customer]\nname = "{NAME}"\n'
    season.save()
    run = make_wet_run(machine, season, in_us=_result(), in_si=_result())
    run.document |= {"customer": NAME, "technician": TECHNICIAN}
    run.technician, run.sentence, run.problems = TECHNICIAN, f"{NAME}: the meter is off.", [f"{NAME} has no tips."]
    run.received = 'customer = "\\u00d6dland & S\\u00f6hne Farm"\n'
    run.proven_at, run.proven_by = datetime(2027, 3, 12, tzinfo=UTC), oakes
    run.save()
    own: dict[str, Any] = {"branch": branch}
    TipPlan.objects.create(
        season=season, digest="d", method="m", answer=f"One set for {NAME}.", in_us=_result(), in_si={}, **own
    )
    Reading.objects.create(wet_run=run, place="catch.readings.72", typed="39.1", by=oakes, number=1)
    Reading.objects.create(wet_run=run, place="remarks", typed=f"{NAME} watched", by=oakes, number=2)
    MonitorSettings.objects.create(
        machine=machine, document={"by": TECHNICIAN}, on=date(2027, 3, 12), by=TECHNICIAN, **own
    )
    Handover.objects.create(
        machine=machine, operator=OPERATOR, signed_name=OPERATOR, remarks=f"{OPERATOR} signed", **own
    )
    _log(machine, season)
    told(farm, f"“{NAME}” taken down", oakes, after={"name": NAME, "phone": "555 0123"})
    told(machine, f"changed for {PERSON}", oakes, before={"owner": {NAME: [NAME]}}, after={"by": TECHNICIAN})
    job = {"kind": "tip plan", "words": f"Tip plan for {NAME}", "problem": f"{NAME} has none", "branch": branch}
    Job.objects.create(**job, subject="season", subject_key=str(season.pk), state=State.FAILED, ended_at=_NOON)
    Job.objects.create(**{**job, "kind": "fleet"}, result={"rows": [NAME]}, state=State.DONE, ended_at=_NOON)
    return farm


_NOON = datetime(2027, 3, 12, 12, tzinfo=UTC)


def _season() -> dict[str, Any]:
    return {key: value for key, value in demo("season.toml").items() if key not in {"machine", "customer"}}


def _result() -> dict[str, Any]:
    return {"head": NAME, "picture": f"<svg><title>{WAYS[3]}</title></svg>", "rows": [{NAME: [WAYS[1], 7, None]}]}


def _log(machine: Machine, season: Season) -> None:
    stored = "logs/ab/abcdef.csv"
    file = Path(settings.UPLOADS) / stored
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text("lat,lon\n52,9\n", encoding="utf-8")
    facts: dict[str, Any] = {"name": WAYS[1], "stored": stored, "sha256": "0" * 64, "in_us": {"file": WAYS[1]}}
    log = FieldLog.objects.create(branch=machine.branch, machine=machine, season=season, refused=f"{NAME}?", **facts)
    Replay.objects.create(
        branch=machine.branch,
        log=log,
        season=season,
        digest="d",
        method="m",
        in_us={"place": [9.1, 52.123456]},
        in_si={},
        map={"at": 52.123456},
    )


def traces(*words: str) -> Iterator[str]:
    """Every place in the database where one of these words stands, however its capitals; whole tables are read."""
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")  # noqa: S608 - a name of our own
            columns = [column[0] for column in cursor.description]
            for row in cursor.fetchall():
                for column, value in zip(columns, row, strict=True):
                    text = str(value).casefold()
                    yield from (f"{table}.{column}: {text[:200]}" for word in words if word.casefold() in text)


def erase(client: Client, address: str, name: str, also: str = ""):
    return client.post(f"{address}erase/", {"name": name, "also": also})


def test_the_names_stand_in_many_tables_before(farm: Customer) -> None:
    tables = {place.partition(".")[0] for place in traces("söhne", "Quist", "Barnaby", "Oakes")}
    assert len(tables) >= 12, "or the test of what is left after proves little"


def test_after_erasing_no_trace_of_a_customer_is_left_in_any_table(
    manager: Client, farm: Customer, django_capture_on_commit_callbacks
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        answer = erase(manager, f"/customers/{farm.pk}/", NAME)
    assert answer["Location"] == f"/customers/{farm.pk}/"
    # What was shown to the manager stands in the visit, until the next page.
    manager.get("/customers/")
    left = list(traces("söhne", "ödland", "s\\u00f6hne", "Quist", "555 0123", "farm.example", "Mill road", "Barnaby"))
    assert not left, "\n".join(left)


def test_a_customer_s_records_stay_as_they_were_under_the_pseudonym(manager: Client, farm: Customer) -> None:
    readings = list(Reading.objects.values_list("entry", "place", "by", "number"))
    erase(manager, f"/customers/{farm.pk}/", NAME)
    farm.refresh_from_db()
    pseudonym = f"Customer {farm.pk}"
    assert (farm.name, farm.person, farm.phone, farm.email, farm.place, farm.remarks) == (pseudonym, *[""] * 5)
    assert farm.erased_at is not None
    run = WetRun.objects.get()
    assert run.document["customer"] == pseudonym
    assert run.sentence == f"{pseudonym}: the meter is off."
    assert run.in_us["rows"] == [{pseudonym: [f"{pseudonym}.csv", 7, None]}]
    assert f"<title>{pseudonym}</title>" in run.in_us["picture"]
    assert run.technician == TECHNICIAN
    assert (run.version, run.proven_at) == (1, datetime(2027, 3, 12, tzinfo=UTC))
    assert run.document["course"] == demo("wetrun.toml")["course"]
    assert list(Reading.objects.values_list("entry", "place", "by", "number")) == readings
    assert Season.objects.get().document["title"] == f"{pseudonym} 2027"
    assert f'name = "{pseudonym}"' in Season.objects.get().received
    assert run.received == "", "a name hidden by escapes takes the file as handed in with it"
    handover = Handover.objects.get()
    assert handover.operator == handover.signed_name == f"operator 1 of {pseudonym}"
    assert Machine.objects.get().name == f"Number 7 of {pseudonym}"


def test_the_files_and_maps_of_a_customer_are_gone_and_the_tallies_stay(
    manager: Client, farm: Customer, django_capture_on_commit_callbacks
) -> None:
    file = Path(settings.UPLOADS) / FieldLog.objects.get().stored
    assert file.exists()
    with django_capture_on_commit_callbacks(execute=True):
        erase(manager, f"/customers/{farm.pk}/", NAME)
    assert not file.exists()
    assert FieldLog.objects.get().taken_away_at is not None
    assert not Replay.objects.exists(), "its map and its worst places are where the customer's fields are"
    assert not list(traces("52.123456"))


def test_the_trail_says_that_it_was_done_and_keeps_its_other_lines(manager: Client, farm: Customer) -> None:
    before = Trail.objects.count()
    erase(manager, f"/customers/{farm.pk}/", NAME)
    assert Trail.objects.count() == before + 1
    last = Trail.objects.order_by("pk").last()
    assert last is not None
    assert (last.what, last.name, last.by and last.by.login) == ("personal data erased", f"Customer {farm.pk}", "boss")
    machine_line = Trail.objects.get(kind="Machine")
    pseudonym = f"Customer {farm.pk}"
    assert machine_line.before == {"owner": {pseudonym: [pseudonym]}}
    assert machine_line.what == f"changed for person of {pseudonym}"


def test_no_other_customer_is_touched(manager: Client, farm: Customer, branch: Branch) -> None:
    other = sample_records(make_branch("South yard"))
    beside = make_customer(branch, "Ödland Dairy", person=PERSON, remarks=NAME)
    run = make_wet_run(make_machine(beside), sentence=f"{NAME} lent the trailer.")
    rows = {model: list(model._default_manager.values()) for model in other if model._meta.app_label == "records"}
    kept = (Customer.objects.values().get(pk=beside.pk), WetRun.objects.values().get(pk=run.pk))
    erase(manager, f"/customers/{farm.pk}/", NAME)
    assert (Customer.objects.values().get(pk=beside.pk), WetRun.objects.values().get(pk=run.pk)) == kept
    for model, before in rows.items():
        ours = [row for row in before if row.get("branch_id", other[Branch].pk) == other[Branch].pk]
        now = model._default_manager.filter(pk__in=[row[model._meta.pk.attname] for row in ours]).values()
        by_key = {row[model._meta.pk.attname]: row for row in now}
        if any("branch_id" in row for row in ours):
            assert [by_key[row[model._meta.pk.attname]] for row in ours] == ours, model.__name__


@pytest.mark.parametrize("typed", ["", "Ödland", "ödland & söhne farm", "Customer 1"])
def test_nothing_is_erased_without_the_name_typed(manager: Client, farm: Customer, typed: str) -> None:
    page = manager.post(f"/customers/{farm.pk}/erase/", {"name": typed, "also": "Söhne"}).content.decode()
    assert 'class="wrong-words"' in page
    assert ">\nSöhne</textarea>" in page
    farm.refresh_from_db()
    assert farm.name == NAME


def test_other_ways_a_name_was_written_are_replaced_when_they_are_told(manager: Client, farm: Customer) -> None:
    run = WetRun.objects.get()
    WetRun.objects.update(sentence="OSF 7 is off, and so is the old one of Oesoehne; OSFX is not.")
    erase(manager, f"/customers/{farm.pk}/", NAME, "OSF\nOesoehne\n\n")
    run.refresh_from_db()
    assert run.sentence == f"Customer {farm.pk} 7 is off, and so is the old one of Customer {farm.pk}; OSFX is not."


def test_nothing_is_erased_while_work_on_it_is_under_way(manager: Client, farm: Customer) -> None:
    season = Season.objects.get()
    words = {"words": "Reading a log", "kind": "log", "subject": "season", "subject_key": str(season.pk)}
    Job.objects.create(branch=farm.branch, **words)
    page = erase(manager, f"/customers/{farm.pk}/", NAME).content.decode()
    assert "“Reading a log” is still under way" in page
    farm.refresh_from_db()
    assert farm.name == NAME


def test_the_page_says_what_will_happen_before_it_does(manager: Client, farm: Customer) -> None:
    page = manager.get(f"/customers/{farm.pk}/erase/").content.decode()
    for words in (
        f"“Customer {farm.pk}”",
        "1 file: field logs as they were handed in",
        "readings",
        "cannot be taken back",
    ):
        assert words in page
    farm.refresh_from_db()
    assert farm.name == NAME


@pytest.mark.parametrize("role", [Role.SPECIALIST, Role.TECHNICIAN, Role.VIEWER])
def test_only_a_manager_hands_over_or_erases(branch: Branch, farm: Customer, role: Role) -> None:
    client = Client()
    client.force_login(make_user(branch, role))
    assert client.get(f"/customers/{farm.pk}/export/").status_code == 403
    assert erase(client, f"/customers/{farm.pk}/", NAME).status_code == 403
    page = client.get(f"/customers/{farm.pk}/").content.decode()
    assert "/erase/" not in page
    assert "/export/" not in page


def data_of(answer: Any) -> dict[str, Any]:
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        assert set(archive.namelist()) == {"about.txt", "data.json"}
        return json.loads(archive.read("data.json"))  # type: ignore[no-any-return]


def test_what_is_handed_over_of_a_customer_is_every_row_about_it(manager: Client, farm: Customer) -> None:
    make_wet_run(make_machine(make_customer(farm.branch, "Other Farm")))
    answer = manager.get(f"/customers/{farm.pk}/export/")
    assert answer["Content-Type"] == "application/zip"
    document = data_of(answer)
    assert document["format_version"] == 1
    kept = document["kept"]
    (customer,) = kept["Customer"]
    assert (customer["name"], customer["phone"], customer["remarks"]) == (NAME, "555 0123", f"{PERSON}!")
    (run,) = kept["WetRun"]
    assert run["document"]["course"] == json.loads(json.dumps(demo("wetrun.toml")["course"], default=str))
    assert run["proven_by"] == TECHNICIAN
    assert {reading["typed"] for reading in kept["Reading"]} == {"39.1", f"{NAME} watched"}
    for kind in ("Machine", "Season", "TipPlan", "MonitorSettings", "Handover", "FieldLog", "Replay", "Job", "Trail"):
        assert kept[kind], kind
    assert len(kept["Job"]) == 1, "work for the whole branch tells of other customers too"
    assert "Other Farm" not in json.dumps(document)
    assert "data handed over" in {line["what"] for line in kept["Trail"]}


def test_every_kind_of_record_is_a_customer_s_or_said_to_be_the_branch_s() -> None:
    nobody_s = {model.__name__ for model in kinds() if way_to(model, Customer) is None}
    assert nobody_s == OF_THE_BRANCH, "a new kind without a way to its customer would be forgotten when data is erased"
    assert all(way_to(model, Branch) for model in kinds())


def test_after_erasing_no_trace_of_somebody_of_the_shop_is_left_in_any_table(
    manager: Client, farm: Customer, oakes: User
) -> None:
    from axes.models import AccessAttempt

    AccessAttempt.objects.create(username="woakes", ip_address="192.0.2.7", failures_since_start=1)
    place = oakes.memberships.get()
    manager.post(f"/people/{place.pk}/edit/", {"name": TECHNICIAN, "login": "woakes", "role": "viewer"})
    assert erase(manager, f"/people/{place.pk}/", TECHNICIAN)["Location"] == "/people/"
    manager.get("/customers/")
    left = list(traces("Oakes", "Wilhelmina", "192.0.2.7"))
    assert not left, "\n".join(left)


def test_what_somebody_measured_and_proved_stays_as_that_of_the_pseudonym(
    manager: Client, farm: Customer, oakes: User
) -> None:
    erase(manager, f"/people/{oakes.memberships.get().pk}/", TECHNICIAN)
    pseudonym = f"Person {oakes.pk}"
    run = WetRun.objects.get()
    assert run.technician == run.document["technician"] == pseudonym
    assert run.proven_by is not None
    assert run.proven_by.name == pseudonym
    assert MonitorSettings.objects.get().by == pseudonym
    assert {reading.by and reading.by.name for reading in Reading.objects.all()} == {pseudonym}
    assert set(Trail.objects.filter(kind="User").values_list("name", flat=True)) == {pseudonym}
    oakes.refresh_from_db()
    assert (oakes.is_active, oakes.has_usable_password(), oakes.memberships.count()) == (False, False, 0)
    assert run.document["customer"] == NAME


def test_the_visits_of_who_is_erased_end(manager: Client, oakes: User) -> None:
    client = Client()
    client.force_login(oakes)
    erase(manager, f"/people/{oakes.memberships.get().pk}/", TECHNICIAN)
    assert client.get("/customers/")["Location"].startswith("/sign-in/")


def test_a_name_in_a_branch_somebody_once_worked_in_is_erased_too_and_elsewhere_not(
    manager: Client, oakes: User, branch: Branch, other_branch: Branch
) -> None:
    place = Membership.objects.create(user=oakes, branch=other_branch, role=Role.VIEWER.value)
    told(oakes, "taken in from another branch", None, branch=other_branch)
    place.delete()
    third = make_branch("Third yard")
    for each in (other_branch, third):
        make_wet_run(make_machine(make_customer(each))).__class__.objects.filter(branch=each).update(
            technician=TECHNICIAN
        )
    erase(manager, f"/people/{oakes.memberships.get().pk}/", TECHNICIAN)
    assert WetRun.objects.get(branch=other_branch).technician == f"Person {oakes.pk}"
    assert WetRun.objects.get(branch=third).technician == TECHNICIAN


def test_nobody_erases_themselves_the_last_manager_or_who_is_in_another_branch_too(
    manager: Client, oakes: User, branch: Branch, other_branch: Branch
) -> None:
    boss = User.objects.get(login="boss").memberships.get()
    assert "You cannot erase yourself" in erase(manager, f"/people/{boss.pk}/", "Boss").content.decode()
    Membership.objects.create(user=oakes, branch=other_branch, role=Role.MANAGER.value)
    page = erase(manager, f"/people/{oakes.memberships.get(branch=branch).pk}/", TECHNICIAN).content.decode()
    assert "is in another branch too" in page
    group = Client()
    group.force_login(make_user(branch, Role.MANAGER, "group", is_group=True))
    page = erase(group, f"/people/{oakes.memberships.get(branch=branch).pk}/", TECHNICIAN).content.decode()
    assert "is the only manager of “South yard”" in page
    oakes.refresh_from_db()
    assert oakes.name == TECHNICIAN


def test_what_is_handed_over_of_somebody_holds_no_password(manager: Client, farm: Customer, oakes: User) -> None:
    own = Client()
    own.force_login(oakes)
    place = oakes.memberships.get()
    for answer in (own.get("/my-data/"), manager.get(f"/people/{place.pk}/export/")):
        document = data_of(answer)
        (account,) = document["kept"]["User"]
        assert (account["login"], account["name"]) == ("woakes", TECHNICIAN)
        assert "password" not in json.dumps(account)
        assert len(document["kept"]["Reading"]) == 2
        named = {(row["kind"], row["as"]) for row in document["kept"]["named in"]}
        assert ("WetRun", "proven_by") in named
        assert document["kept"]["Membership"]


def test_every_column_that_names_a_person_of_the_shop_is_a_key_and_so_becomes_the_pseudonym_by_itself() -> None:
    """Columns with somebody's name as words are few, and known: a new one has to be thought of here."""
    words = {
        f"{model.__name__}.{field.name}"
        for model in kinds()
        for field in model._meta.concrete_fields
        if isinstance(field, models.CharField)
        and field.name in {"by", "technician", "signed_by", "operator", "signed_name"}
    }
    assert words == {
        "WetRun.technician",
        "MonitorSettings.by",
        "ChangeoverNote.by",
        "Changeover.signed_by",
        "Handover.operator",
        "Handover.signed_name",
    }
    assert ChangeoverNote._meta.get_field("user").related_model is User
