"""Parts lists: what plans need bought, by tip and by machine, how far each order is, and the same as files."""

from __future__ import annotations

import csv
import html
import io
import re
from copy import deepcopy
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone
from openpyxl import load_workbook
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import (
    SMALL_MACHINE,
    SMALL_SEASON,
    make_customer,
    make_machine,
    make_season,
    small_season,
    today_in,
)

from wetrun.fleet.parts import orders_of
from wetrun.planning.over_logs import report_over_logs
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.seasons import season_file_of
from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of
from wetrun.shop.records.models import Customer, Machine, Season, TipPlan, Trail

AI_04: dict[str, Any] = {
    "ident": "saltlick-04-ai",
    "words": "Saltlick 110-04 air induction",
    "size": "04",
    "family": "air-induction flat fan",
    "count": 70,
    "cost_cents": 65_800,
}
PRE_05: dict[str, Any] = {
    "ident": "saltlick-05-pre",
    "words": "Saltlick 110-05 pre-orifice",
    "size": "05",
    "family": "pre-orifice flat fan",
    "count": 18,
    "cost_cents": None,
}


def named_machine(customer: Customer, name: str) -> Machine:
    return make_machine(customer, deepcopy(SMALL_MACHINE) | {"name": name})


def coming(machine: Machine, days: int = 10) -> Season:
    season = make_season(machine, deepcopy(SMALL_SEASON))
    season.first_day = today_in(machine.branch) + timedelta(days)
    season.last_day = season.first_day + timedelta(30)
    season.save()
    return season


def plan_of(season: Season, *rows: dict[str, Any], **more: Any) -> TipPlan:
    """A plan made after everything it rests on."""
    return TipPlan.objects.create(
        branch=season.branch,
        season=season,
        digest="x",
        method="m",
        in_us={},
        in_si={},
        parts=list(rows),
        made_at=timezone.now(),
        **more,
    )


@pytest.fixture
def plan(customer: Customer) -> TipPlan:
    return plan_of(coming(named_machine(customer, "Number 7")), AI_04)


@pytest.fixture
def second(customer: Customer) -> TipPlan:
    return plan_of(coming(named_machine(customer, "Number 8"), 3), AI_04 | {"count": 36, "cost_cents": 33_840}, PRE_05)


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", page)).split())


def shown(client: Client, address: str = "/parts/", **asked: str) -> str:
    return words(client.get(address, asked).content.decode())


def sent(plan: TipPlan, state: str, **more: str) -> dict[str, str]:
    return {"plan": f"{plan.pk}:{plan.version}", "state": state, **more}


def test_tips_of_all_machines_are_added_up_by_tip(specialist: Client, plan: TipPlan, second: TipPlan) -> None:
    told = shown(specialist)
    assert "Saltlick 110-04 air induction saltlick-04-ai 04 air-induction flat fan 106 996.40" in told
    assert "Number 7 (70) Low Fork Farm Number 8 (36) Low Fork Farm" in told
    assert "Together 124 996.40 18 without a known price" in told
    assert "The tips at odd positions are not in the list; spares are not counted." in told
    by_machine = told[told.index("By machine") :]
    assert by_machine.index("Number 8") < by_machine.index("Number 7")


def test_the_list_is_what_the_core_orders(specialist: Client, branch: Branch) -> None:
    season = small_season(branch)
    season.machine.document = deepcopy(SMALL_MACHINE) | {"owned": []}
    season.machine.save()
    keep_plan(tip_plan_of(season), None)
    file = season_file_of(season)
    (order,) = orders_of(season.machine.name, report_over_logs(file.season, file.catalogue, {}, file="season.toml"))
    told = shown(specialist, f"/machines/{season.machine_id}/parts/")
    assert f"{order.tip.words} {order.tip.ident} {order.tip.size} {order.tip.family} {order.count}" in told
    assert "price not known" in told
    assert "Import the maker's own rows before you order or spray." in told


def test_owned_sets_need_nothing(specialist: Client, customer: Customer) -> None:
    machine = named_machine(customer, "Number 9")
    plan_of(coming(machine))
    assert "Nothing." in shown(specialist)
    assert "Nothing to order: every set of the plan is owned." in shown(specialist, f"/machines/{machine.pk}/parts/")


def test_a_machine_without_a_plan_is_told_of(specialist: Client, customer: Customer, plan: TipPlan) -> None:
    named_machine(customer, "Number 9")
    told = shown(specialist)
    assert "1 machine has no tip plan for a season to come: its tips are not in the list." in told
    assert "not known of what to order" not in told
    assert "No tip plan yet" in shown(specialist, f"/machines/{Machine.objects.get(name='Number 9').pk}/parts/")


def test_only_the_season_a_machine_is_made_ready_for_is_bought_for(specialist: Client, plan: TipPlan) -> None:
    later = coming(plan.season.machine, 200)
    plan_of(later, AI_04 | {"count": 33})
    over = coming(plan.season.machine, -300)
    plan_of(over, AI_04 | {"count": 44})
    replaced = plan_of(later, AI_04 | {"count": 55}, replaced_at=timezone.now())
    assert replaced.pk
    told = shown(specialist)
    assert "Together 70 658.00" in told
    of_machine = shown(specialist, f"/machines/{plan.season.machine_id}/parts/")
    assert re.findall(r"air-induction flat fan (\d+)", of_machine) == ["44", "70", "33"]


def test_a_plan_whose_season_is_over_is_bought_for_no_more(specialist: Client, plan: TipPlan) -> None:
    plan.season.first_day, plan.season.last_day = date(2020, 4, 1), date(2020, 9, 1)
    plan.season.save()
    assert "Nothing." in shown(specialist)


def test_ordered_and_here_are_taken_down_with_who_and_when(
    signed_in: Any, specialist: Client, plan: TipPlan, second: TipPlan
) -> None:
    technician = signed_in(Role.TECHNICIAN)
    address = f"/tip-plans/{plan.pk}/parts/"
    answer = technician.post(address, sent(plan, "ordered", back="parts"))
    assert answer["Location"] == "/parts/"
    plan.refresh_from_db()
    assert (plan.parts_state, plan.parts_by.name) == ("ordered", "Technician")  # type: ignore[union-attr]
    line = Trail.objects.get(kind="TipPlan", key=str(plan.pk))
    assert (line.what, line.by, line.machine) == ("tips ordered", plan.parts_by, plan.season.machine)
    assert (line.before, line.after) == ({"parts_state": "needed"}, {"parts_state": "ordered"})
    assert "Number 7" not in shown(specialist)
    told = shown(specialist, state="ordered")
    assert "Number 7" in told
    assert "Technician" in told
    answer = technician.post(address, sent(plan, "here", back="machine"))
    assert answer["Location"] == f"/machines/{plan.season.machine_id}/parts/"
    technician.post(address, {"plan": f"{plan.pk}:3", "state": "needed"})
    plan.refresh_from_db()
    assert plan.parts_state == "needed"
    assert [one.what for one in Trail.objects.filter(kind="TipPlan")] == [
        "tips to be ordered after all",
        "tips are here",
        "tips ordered",
    ]


def test_a_button_pressed_twice_does_it_once(specialist: Client, plan: TipPlan) -> None:
    for _ in range(2):
        specialist.post(f"/tip-plans/{plan.pk}/parts/", sent(plan, "ordered"))
    assert Trail.objects.filter(kind="TipPlan").count() == 1


def test_of_two_the_second_is_told_and_nothing_is_written_over(specialist: Client, plan: TipPlan) -> None:
    specialist.post(f"/tip-plans/{plan.pk}/parts/", sent(plan, "here"))
    told = words(specialist.post(f"/tip-plans/{plan.pk}/parts/", sent(plan, "ordered"), follow=True).content.decode())
    plan.refresh_from_db()
    assert plan.parts_state == "here"
    assert "somebody else was quicker: Number 7." in told


@pytest.mark.parametrize(
    "data", [{}, {"state": "eaten"}, {"state": "here", "plan": "999999:1"}, {"state": "here", "plan": "x"}]
)
def test_what_makes_no_sense_changes_nothing(specialist: Client, plan: TipPlan, data: dict[str, str]) -> None:
    assert specialist.post(f"/tip-plans/{plan.pk}/parts/", data).status_code == 302
    assert specialist.post("/parts/", data).status_code == 302
    plan.refresh_from_db()
    assert plan.parts_state == "needed"


def test_everything_shown_is_ordered_at_once_and_nothing_else(
    specialist: Client, customer: Customer, plan: TipPlan, second: TipPlan
) -> None:
    page = specialist.get("/parts/").content.decode()
    (seen,) = re.findall(r'name="plans" value="([^"]*)"', page)
    keep_plan(TipPlan(branch=plan.branch, season=plan.season, digest="y", method="m", in_us={}, in_si={}), None)
    unseen = plan_of(coming(named_machine(customer, "Number 9")), AI_04)
    told = words(specialist.post("/parts/", {"state": "ordered", "plans": seen}, follow=True).content.decode())
    assert "Taken down for 1 machine: ordered." in told
    assert "a new plan was made or somebody else was quicker: Number 7." in told
    states = dict(TipPlan.objects.values_list("pk", "parts_state"))
    assert states[second.pk] == "ordered"
    assert {state for pk, state in states.items() if pk != second.pk} == {"needed"}
    assert states[unseen.pk] == "needed"
    assert [line.key for line in Trail.objects.filter(kind="TipPlan")] == [str(second.pk)]


def test_what_was_ordered_for_an_earlier_plan_is_told_before_it_is_ordered_again(
    specialist: Client, plan: TipPlan
) -> None:
    specialist.post(f"/tip-plans/{plan.pk}/parts/", sent(plan, "ordered"))
    newer = TipPlan(branch=plan.branch, season=plan.season, digest="y", method="m", in_us={}, in_si={})
    newer.parts = [AI_04 | {"count": 72}]
    keep_plan(newer, None)
    for told in (shown(specialist), shown(specialist, f"/machines/{plan.season.machine_id}/parts/")):
        assert "Tips were ordered for an earlier plan of this season: 70 × saltlick-04-ai" in told
        assert "Count them before you order again." in told


def test_a_plan_that_a_change_came_after_is_told_of(specialist: Client, plan: TipPlan) -> None:
    assert "was changed after this plan was made" not in shown(specialist)
    plan.season.save()
    assert "The season or the machine was changed after this plan was made." in shown(specialist)


def read_csv(raw: bytes, delimiter: str = ",") -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"), newline=""), delimiter=delimiter))


def test_the_csv_has_the_page_s_rows_with_numbers_as_numbers(
    specialist: Client, plan: TipPlan, second: TipPlan
) -> None:
    specialist.post(f"/tip-plans/{plan.pk}/parts/", sent(plan, "ordered"))
    answer = specialist.get("/parts/parts.csv", {"state": "all"})
    assert answer["Content-Disposition"] == 'attachment; filename="parts.csv"'
    assert answer.content.startswith(b"\xef\xbb\xbf")
    rows = read_csv(answer.content)
    assert [(row["machine"], row["tip"], row["size"], row["count"], row["cost"], row["state"]) for row in rows] == [
        ("Number 8", "saltlick-04-ai", "04", "36", "338.40", "to order"),
        ("Number 8", "saltlick-05-pre", "05", "18", "", "to order"),
        ("Number 7", "saltlick-04-ai", "04", "70", "658.00", "ordered"),
    ]
    assert rows[2]["since"] == today_in(plan.branch).isoformat()
    assert rows[2]["by"] == "Specialist"
    assert rows[0]["first_day"] == second.season.first_day.isoformat()  # type: ignore[union-attr]
    assert {row["format_version"] for row in rows} == {"1"}
    assert len(read_csv(specialist.get("/parts/parts.csv", {"state": "ordered"}).content)) == 1


def test_the_csv_can_be_had_with_a_decimal_comma_and_without_a_mark(specialist: Client, plan: TipPlan) -> None:
    raw = specialist.get("/parts/parts.csv", {"comma": "yes", "plain": "yes"}).content
    assert raw.startswith(b"family;size;tip;")
    assert read_csv(raw, ";")[0]["cost"] == "658,00"


def test_the_workbook_says_what_the_page_says(specialist: Client, plan: TipPlan, second: TipPlan) -> None:
    book = load_workbook(io.BytesIO(specialist.get("/parts/parts.xlsx").content))
    told = shown(specialist)
    header, *tips = [[cell.value for cell in row] for row in book["tips"].iter_rows()]
    assert header[:6] == ["family", "size", "tip", "words", "count", "cost"]
    assert len(tips) == 2
    for family, size, ident, name, count, cost, machines, _version in tips:
        money = f"{Decimal(str(cost)):.2f}" if cost is not None else f"{count} without a known price"
        assert f"{name} {ident} {size} {family} {count} {money}" in told
        assert isinstance(count, int)
        assert machines in {1, 2}
    head, *rows = [[cell.value for cell in row] for row in book["machines"].iter_rows()]
    by_machine = told[told.index("By machine") :]
    for row in rows:
        one = dict(zip(head, row, strict=True))
        assert f"{one['count']} × {one['words']} {one['tip']}" in by_machine
        assert f"{one['machine']} {one['customer']}, {one['season']}" in by_machine
        assert one["first_day"].date() in {plan.season.first_day, second.season.first_day}
    assert [row[head.index("machine")] for row in rows] == ["Number 8", "Number 8", "Number 7"]
    assert sum(row[head.index("count")] for row in rows) == 124


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t="])
def test_a_name_that_looks_like_a_formula_is_a_text_in_both_files(
    specialist: Client, customer: Customer, start: str
) -> None:
    name = f"{start}HYPERLINK(1)"
    machine = named_machine(customer, name)
    plan_of(coming(machine), AI_04 | {"words": f"{start}2+2"})
    row = read_csv(specialist.get("/parts/parts.csv").content)[0]
    assert (row["machine"], row["words"]) == (f"'{name}", f"'{start}2+2")
    book = load_workbook(io.BytesIO(specialist.get(f"/machines/{machine.pk}/parts/parts.xlsx").content))
    cells = {cell.value: cell for sheet in book for line in sheet.iter_rows() for cell in line}
    for text in (name, f"{start}2+2"):
        assert (cells[text].data_type, cells[text].quotePrefix) == ("s", True)
    assert not cells["saltlick-04-ai"].quotePrefix


def test_a_letter_no_workbook_can_hold_is_put_out_of_the_way(specialist: Client, customer: Customer) -> None:
    plan_of(coming(named_machine(customer, "Number 7")), AI_04 | {"words": "Salt\x07lick"})
    book = load_workbook(io.BytesIO(specialist.get("/parts/parts.xlsx").content))
    assert book["tips"]["D2"].value == "Salt\ufffdlick"


def test_a_machine_s_own_files_are_named_for_it(specialist: Client, plan: TipPlan, second: TipPlan) -> None:
    answer = specialist.get(f"/machines/{plan.season.machine_id}/parts/parts.csv")
    assert answer["Content-Disposition"] == 'attachment; filename="parts Number 7.csv"'
    assert [row["machine"] for row in read_csv(answer.content)] == ["Number 7"]


@pytest.mark.parametrize("count", [1, 400])
def test_the_list_asks_as_often_for_many_machines_as_for_one(
    specialist: Client, customer: Customer, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        plan_of(coming(named_machine(customer, f"Number {n}")), AI_04)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            # It does so by itself a minute after; until then it takes its tables for empty and tries all pairs.
            cursor.execute("ANALYZE")
    specialist.get("/parts/")
    with django_assert_num_queries(6):
        page = specialist.get("/parts/").content.decode()
    assert f"Together {70 * count} " in words(page)
    with django_assert_num_queries(6):
        rows = read_csv(specialist.get("/parts/parts.csv").content)
    assert len(rows) == count


def test_another_branch_s_tips_are_not_there(
    stranger: Client, specialist: Client, other_branch: Branch, plan: TipPlan
) -> None:
    far = plan_of(coming(named_machine(make_customer(other_branch, "Far Side Farm"), "Far machine")), AI_04)
    assert "Far machine" not in shown(specialist)
    assert "Far machine" not in specialist.get("/parts/parts.csv").content.decode()
    for address in ("", "parts.csv", "parts.xlsx"):
        assert stranger.get(f"/machines/{plan.season.machine_id}/parts/{address}").status_code == 404
    assert stranger.post(f"/tip-plans/{plan.pk}/parts/", sent(plan, "here")).status_code == 404
    stranger.post("/parts/", {"state": "here", "plans": f"{plan.pk}:1 {far.pk}:1"})
    plan.refresh_from_db()
    assert plan.parts_state == "needed"
    assert TipPlan.objects.get(pk=far.pk).parts_state == "here"


def test_a_viewer_sees_the_list_and_no_buttons(viewer: Client, plan: TipPlan) -> None:
    for address in ("/parts/", f"/machines/{plan.season.machine_id}/parts/"):
        page = viewer.get(address).content.decode()
        assert "saltlick-04-ai" in page
        assert 'name="plan"' not in page
        assert 'name="plans"' not in page
    assert viewer.post(f"/tip-plans/{plan.pk}/parts/", sent(plan, "here")).status_code == 403
    assert viewer.post("/parts/", {"state": "here", "plans": f"{plan.pk}:1"}).status_code == 403
    assert viewer.get("/parts/parts.xlsx").status_code == 200


def test_a_technician_orders_for_one_machine_and_not_for_all_at_once(signed_in: Any, plan: TipPlan) -> None:
    technician = signed_in(Role.TECHNICIAN)
    page = technician.get("/parts/").content.decode()
    assert 'name="plan"' in page
    assert 'name="plans"' not in page
    assert technician.post("/parts/", {"state": "here", "plans": f"{plan.pk}:1"}).status_code == 403
