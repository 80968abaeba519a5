"""Proofs that lapse, as the shop shows them: events entered on a machine, corrected, and told wherever it matters."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from importlib import import_module
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.shop_cases import (
    make_catalogue,
    make_customer,
    make_machine,
    make_season,
    make_user,
    make_wet_run,
    small_season,
    today_in,
)

from wetrun.shop.accounts.desk import desk_of
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.run_proofs import proofs_of_run
from wetrun.shop.answers.tip_plans import tip_plan_of
from wetrun.shop.answers.wet_runs import judge
from wetrun.shop.records.erasure import customer_erased
from wetrun.shop.records.models import (
    Booking,
    Customer,
    FillBook,
    FilledLoad,
    Handover,
    Machine,
    MachineEvent,
    Trail,
    WetRun,
    YardRules,
)

pytestmark = pytest.mark.django_db
PROVEN = ["WHEEL", "GPS", "METER", "CATCH", "PRESSURE", "HOLDS"]


def proven_run(machine: Machine, days_ago: int = 60) -> WetRun:
    run = make_wet_run(machine, verdict="pass", agrees=True, proofs=PROVEN)
    run.on, run.proven_at = today_in(machine.branch) - timedelta(days_ago), run.made_at
    run.save()
    return run


def typed(machine: Machine, kind: str, days_ago: int = 5, **more: Any) -> dict[str, Any]:
    return {"kind": kind, "on": (today_in(machine.branch) - timedelta(days_ago)).isoformat(), **more}


def enter(client: Client, machine: Machine, kind: str, days_ago: int = 5, **more: Any) -> Any:
    return client.post(f"/machines/{machine.pk}/events/new/", typed(machine, kind, days_ago, **more))


def text_of(client: Client, address: str) -> str:
    return client.get(address).content.decode()


def test_a_new_meter_takes_the_meter_number_away_on_board_file_and_proofs(
    signed_in: Callable[[Role], Client], machine: Machine
) -> None:
    technician = signed_in(Role.TECHNICIAN)
    proven_run(machine)
    assert "No longer proven" not in text_of(technician, f"/machines/{machine.pk}/")
    answer = enter(technician, machine, "NEW_METER", note="pump side", who="D. Hill")
    assert answer.status_code == 302
    for address in ("/", f"/machines/{machine.pk}/", f"/machines/{machine.pk}/proofs/"):
        page = text_of(technician, address)
        assert "meter number" in page
        assert "new flow meter" in page
    page = text_of(technician, f"/machines/{machine.pk}/")
    assert "No longer proven:" in page
    assert "Weigh meter catches at two flows" in page
    assert "catch of the tips</strong>" not in page
    event = MachineEvent.objects.get()
    assert (str(event.made_by), event.who, event.note) == ("Technician", "D. Hill", "pump side")
    assert Trail.objects.get(kind="MachineEvent").what == "entered"


def test_a_newer_wet_run_holds_again(specialist: Client, machine: Machine) -> None:
    proven_run(machine)
    enter(specialist, machine, "NEW_TIRES")
    assert "wheel speed number</strong>" in text_of(specialist, f"/machines/{machine.pk}/")
    proven_run(machine, days_ago=1)
    assert "No longer proven" not in text_of(specialist, f"/machines/{machine.pk}/")


def test_an_entry_is_corrected_or_taken_back_and_the_old_one_stays_to_be_read(
    specialist: Client, machine: Machine
) -> None:
    proven_run(machine)
    enter(specialist, machine, "NEW_METER")
    first = MachineEvent.objects.get()
    specialist.post(f"/events/{first.pk}/correct/", typed(machine, "NEW_TIRES"))
    page = text_of(specialist, f"/machines/{machine.pk}/")
    assert "wheel speed number</strong>" in page
    assert "meter number</strong>" not in page
    second = MachineEvent.objects.exclude(pk=first.pk).get()
    assert specialist.post(f"/events/{first.pk}/correct/", typed(machine, "NEW_RADAR")).status_code == 302
    assert MachineEvent.objects.count() == 2, "only what stands is corrected"
    specialist.post(f"/events/{second.pk}/correct/", typed(machine, "NEW_TIRES", void="yes"))
    assert "No longer proven" not in text_of(specialist, f"/machines/{machine.pk}/")
    page = text_of(specialist, f"/machines/{machine.pk}/proofs/")
    assert "<del>new flow meter</del>" in page
    assert "taken back" in page
    assert [line.what for line in Trail.objects.filter(kind="MachineEvent").order_by("pk")] == [
        "entered",
        "corrected",
        "taken back: entered by mistake",
    ]


def test_sent_twice_it_is_kept_once(specialist: Client, machine: Machine) -> None:
    entry = "5a5f1c1e-6d57-4f46-9b06-0d8a1de0aa01"
    for _ in range(2):
        assert enter(specialist, machine, "NEW_TIRES", entry=entry).status_code == 302
    assert MachineEvent.objects.count() == 1


def test_what_is_wrong_is_said_and_nothing_typed_is_lost(specialist: Client, machine: Machine) -> None:
    answer = enter(specialist, machine, "COUNTERS", days_ago=-3, note="shop's own clock", area="much")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "still to come" in page
    assert "much" in page
    assert "shop&#x27;s own clock" in page
    assert not MachineEvent.objects.exists()
    half = enter(specialist, machine, "NEW_CARRIER", density_was="8.34 lb/gal").content.decode()
    assert "Type both densities" in half
    far = enter(specialist, machine, "NEW_CARRIER", density_was="8.34", density_now="83.4").content.decode()
    assert "is not from" in far


def test_counters_lapse_a_proof_by_acres_and_quantities_stay_as_typed(specialist: Client, machine: Machine) -> None:
    proven_run(machine)
    enter(specialist, machine, "COUNTERS", days_ago=60, area="1200", hours="80")
    enter(specialist, machine, "COUNTERS", days_ago=2, area="2600 ha", hours="190")
    assert [one.typed for one in MachineEvent.objects.order_by("pk")] == [
        {"area": "1200 ac", "hours": "80 h"},
        {"area": "2600 ha", "hours": "190 h"},
    ]
    # 2600 ha are 6425 ac: 5225 since the wet run, and a meter number lasts 5000 unless the shop says otherwise.
    page = text_of(specialist, f"/machines/{machine.pk}/")
    assert "meter number</strong>: acres since" in page
    answer = specialist.post("/proof-limits/", {"METER-area": "6000 ac", "CATCH-area": "6000"})
    assert answer.status_code == 302
    assert "No longer proven" not in text_of(specialist, f"/machines/{machine.pk}/")
    assert YardRules.objects.get().lasts["CATCH"] == {"area": "6000 ac"}
    assert 'value="6000 ac"' in text_of(specialist, "/proof-limits/")


def test_limits_say_they_are_common_practice_until_the_shop_types_its_own(specialist: Client, viewer: Client) -> None:
    assert "common practice, no source" in text_of(viewer, "/proof-limits/")
    assert '<button class="main">' not in text_of(viewer, "/proof-limits/")
    wrong = specialist.post("/proof-limits/", {"METER-area": "many", "WHEEL-days": "0"}).content.decode()
    assert 'value="many"' in wrong
    assert "Nothing you typed is lost" in wrong
    specialist.post("/proof-limits/", {"WHEEL-days": "200"})
    assert "common practice, no source" not in text_of(viewer, "/proof-limits/")


def test_a_new_operator_who_signs_on_the_same_day_is_checked(specialist: Client, machine: Machine) -> None:
    own = {"branch": machine.branch, "machine": machine}
    Handover.objects.create(operator="B. Cole", signed_at=timezone.now() - timedelta(days=40), **own)
    enter(specialist, machine, "NEW_OPERATOR", days_ago=0, who="F. Dell")
    assert "operator&#x27;s check</strong>: new operator" in text_of(specialist, f"/machines/{machine.pk}/")
    Handover.objects.create(operator="F. Dell", signed_at=timezone.now(), **own)
    assert "No longer proven" not in text_of(specialist, f"/machines/{machine.pk}/")


def test_a_light_mix_changes_nothing_and_a_heavy_one_takes_the_hold(specialist: Client, machine: Machine) -> None:
    proven_run(machine)
    enter(specialist, machine, "NEW_CARRIER", density_was="8.34 lb/gal", density_now="8.40 lb/gal")
    assert "No longer proven" not in text_of(specialist, f"/machines/{machine.pk}/")
    enter(specialist, machine, "NEW_CARRIER", density_was="8.34 lb/gal", density_now="10.65 lb/gal")
    assert "minimum hold</strong>: density of the carrier changed" in text_of(specialist, f"/machines/{machine.pk}/")


def test_the_handover_pages_and_the_cab_card_say_it(specialist: Client, branch: Branch) -> None:
    from tests.paper_reading import text_of as words_of

    season = small_season(branch)
    machine = season.machine
    plan = tip_plan_of(season)
    plan.save()
    proven_run(machine)
    handed = Handover.objects.create(branch=branch, machine=machine, operator="B. Cole")
    before = b"".join(specialist.get(f"/tip-plans/{plan.pk}/cards/1.pdf").streaming_content)  # type: ignore[attr-defined]
    assert "Not proven" not in words_of(before)
    enter(specialist, machine, "NEW_METER")
    Booking.objects.create(
        branch=branch, machine=machine, on=date(2027, 5, 9), tests=["catch"], unproven=["single tips"]
    )
    assert "new flow meter" in text_of(specialist, f"/handovers/{handed.pk}/")
    assert "new flow meter" in text_of(specialist, f"/machines/{machine.pk}/handovers/new/")
    card = b"".join(specialist.get(f"/tip-plans/{plan.pk}/cards/1.pdf").streaming_content)  # type: ignore[attr-defined]
    words = " ".join(words_of(card).split())
    assert "Not proven: meter number (new flow meter," in words
    assert "single tips (booked for 9 May 2027)" in words
    assert "Booked: 9 May 2027, catch" in " ".join(text_of(specialist, "/").split())


def test_a_new_operator_s_name_goes_with_the_customer_s_data(
    signed_in: Callable[[Role], Client], machine: Machine
) -> None:
    enter(signed_in(Role.TECHNICIAN), machine, "NEW_OPERATOR", who="Wilma Ostrander", note="Wilma Ostrander drives now")
    manager = make_user(machine.branch, Role.MANAGER, "eraser")
    assert customer_erased(desk_of(manager, machine.branch.pk), machine.customer)
    event = MachineEvent.objects.get()
    assert "Ostrander" not in f"{event.who} {event.note}"
    assert "operator 1 of" in event.who


def test_the_demo_s_run_proves_what_passes_in_it_and_an_older_proven_run_is_read_alike(machine: Machine) -> None:
    make_catalogue(machine.branch)
    run = make_wet_run(machine, make_season(machine))
    judge(run)
    assert run.problems == []
    # Of the catch a plugged and a worn tip fail; everything else that was tested passes.
    assert run.proofs == ["WHEEL", "GPS", "METER", "PRESSURE", "HOLDS"]
    older = import_module("wetrun.shop.records.migrations.0003_proofs_of_proven_runs")
    assert older.proofs_of(run.document, run.in_us) == run.proofs


def test_only_tests_that_pass_prove() -> None:
    document = {"course": {"source": [{"name": "axle", "kind": "wheel sensor"}, {"name": "roof", "kind": "GPS"}]}}
    lines = [
        ("speed course", "speed by axle", "pass", True),
        ("speed course", "speed by roof", "undecided", True),
        ("flow meter", "error of the flow meter", "pass", True),
        ("flow meter", "change of its error", "fail", True),
        ("catch of the tips", "whole set", "pass", True),
        ("catch of the tips", "as found", "fail", False),
        ("ramp", "meter flow", "", True),
    ]
    data = {"tests": [dict(zip(("part", "thing", "verdict", "counts"), line, strict=True)) for line in lines]}
    assert proofs_of_run(document, data) == ["WHEEL", "CATCH"]
    assert proofs_of_run(document, None) == []


def eventful_machine(customer: Customer, name: str) -> None:
    """A machine with a wet run, events that cancel four proofs, loads, and something booked."""
    machine = make_machine(customer, {"name": name, "boom": {"spacing": "20 in", "sections": [4]}})
    own = {"branch": machine.branch, "machine": machine}
    make_season(machine)
    proven_run(machine)
    book = FillBook.objects.create(title="Loads", document={}, **own)
    for kind in ("NEW_TIRES", "NEW_METER", "TIPS_CHANGED"):
        MachineEvent.objects.create(kind=kind, on=today_in(machine.branch), **own)
        FilledLoad.objects.create(book=book, on=today_in(machine.branch), document={}, area_m2=4e5, **own)
    Booking.objects.create(on=today_in(machine.branch), tests=["catch"], **own)


def test_the_board_asks_as_often_with_events_of_30_machines_as_of_one(specialist: Client, customer: Customer) -> None:
    YardRules.objects.create(branch=customer.branch, lasts={"METER": {"area": "100 ac"}})
    eventful_machine(customer, "N 0")
    text_of(specialist, "/")
    asked = []
    for more in (0, 29):
        for n in range(more):
            eventful_machine(customer, f"N {n + 1}")
        with CaptureQueriesContext(connection) as queries:
            page = text_of(specialist, "/")
        asked.append(len(queries))
        assert page.count("Lapsed</a>") == 4 * (1 + more)
    assert asked[0] == asked[1]


def test_another_branch_s_machines_and_limits_do_not_count(
    specialist: Client, machine: Machine, other_branch: Branch
) -> None:
    YardRules.objects.create(branch=other_branch, lasts={"METER": {"days": "1"}})
    far = make_machine(make_customer(other_branch, "Far Side Farm"))
    MachineEvent.objects.create(branch=other_branch, machine=far, kind="NEW_METER", on=today_in(other_branch))
    proven_run(machine)
    assert "No longer proven" not in text_of(specialist, f"/machines/{machine.pk}/")
