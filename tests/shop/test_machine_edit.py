"""A machine taken down and changed on its sheet: kept as typed, refused at its fields, never lost."""

from __future__ import annotations

import pytest
from django.http import QueryDict
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop.form_reading import sent_by
from tests.shop_cases import demo, make_catalogue, make_machine, make_user

from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Customer, Machine, Trail


def form_at(client: Client, address: str, **typed: str) -> QueryDict:
    """What a browser sends of a page after some boxes were typed in."""
    posted = sent_by(client.get(address).content.decode())
    for name, text in typed.items():
        posted["machine." + name.replace("__", ".")] = text
    return posted


def sent(client: Client, address: str, posted: QueryDict):
    return client.post(address, posted.urlencode(), content_type="application/x-www-form-urlencoded")


def edit(machine: Machine) -> str:
    return f"/machines/{machine.pk}/edit/"


def test_a_new_machine_begins_with_a_usual_boom_and_is_kept_as_typed(specialist: Client, customer: Customer) -> None:
    address = f"/customers/{customer.pk}/machines/new/"
    posted = form_at(
        specialist, address, name="Number 9", tank="1200", boom__sections="8, 8, 8", control__loop="pressure"
    )
    answer = sent(specialist, address, posted)
    machine = Machine.objects.get(name="Number 9")
    assert answer["Location"] == f"/machines/{machine.pk}/"
    assert machine.document == {
        "name": "Number 9",
        "tank": "1200 gal",
        "boom": {"spacing": "20 in", "sections": [8, 8, 8]},
        "control": {"loop": "pressure"},
    }
    assert (machine.customer, machine.branch, machine.units) == (customer, customer.branch, "us")
    assert Trail.objects.get(kind="Machine").what == "taken down"


def test_a_reader_of_metric_units_begins_with_metric_spacing(customer: Customer, branch: Branch) -> None:
    client = Client()
    client.force_login(make_user(branch, Role.SPECIALIST, units="si"))
    address = f"/customers/{customer.pk}/machines/new/"
    sent(client, address, form_at(client, address, name="Nummer 4", tank="4000"))
    machine = Machine.objects.get()
    assert (machine.document["boom"]["spacing"], machine.document["tank"], machine.units) == ("50 cm", "4000 L", "si")


def test_what_nobody_touched_is_kept_to_the_letter(specialist: Client, machine: Machine) -> None:
    before = demo("season.toml")["machine"]
    sent(specialist, edit(machine), form_at(specialist, edit(machine), relief="110 psi"))
    machine.refresh_from_db()
    assert machine.document == {**before, "relief": "110 psi"}
    assert (machine.version, list(machine.document)) == (2, list(before))
    line = Trail.objects.get(kind="Machine", what="changed")
    assert (line.before["relief"], line.after["relief"]) == ("120 psi", "110 psi")


def test_bad_input_stays_on_the_page_with_what_is_wrong_at_its_field(specialist: Client, machine: Machine) -> None:
    posted = form_at(specialist, edit(machine), tank="1200 psi", boom__spacing="", control__max_pressure="20 psi")
    page = sent(specialist, edit(machine), posted).content.decode()
    assert 'value="1200 psi"' in page
    assert "3 things are not right yet" in page
    for ident in ("machine-tank", "machine-boom-spacing", "machine-control-hold-pressure"):
        assert f'<a href="#{ident}">' in page
        assert f'id="{ident}-wrong"' in page
    machine.refresh_from_db()
    assert machine.version == 1


def test_a_button_for_rows_keeps_nothing_and_loses_nothing(specialist: Client, machine: Machine) -> None:
    posted = form_at(specialist, edit(machine), relief="99 psi")
    posted["__do"] = "add:machine.owned"
    page = sent(specialist, edit(machine), posted).content.decode()
    machine.refresh_from_db()
    assert machine.version == 1
    again = sent_by(page)
    assert again.getlist("machine.owned") == ["", "0", "n0"]
    again["machine.owned.n0.tip"] = "iso-11004-ff"
    sent(specialist, edit(machine), again)
    machine.refresh_from_db()
    assert machine.document["owned"][1] == {"tip": "iso-11004-ff"}
    assert machine.document["relief"] == "99 psi"


def test_of_two_who_change_a_machine_the_second_sees_what_stands_and_loses_nothing(
    specialist: Client, machine: Machine
) -> None:
    first, second = (form_at(specialist, edit(machine), relief=text) for text in ("100 psi", "105 psi"))
    sent(specialist, edit(machine), first)
    page = sent(specialist, edit(machine), second).content.decode()
    machine.refresh_from_db()
    assert machine.document["relief"] == "100 psi"
    assert "Now stands there: 100 psi" in page
    assert 'value="105 psi"' in page
    sent(specialist, edit(machine), sent_by(page))
    machine.refresh_from_db()
    assert (machine.document["relief"], machine.version) == ("105 psi", 3)


def test_two_machines_of_a_customer_are_not_called_alike(specialist: Client, machine: Machine) -> None:
    address = f"/customers/{machine.customer.pk}/machines/new/"
    page = sent(specialist, address, form_at(specialist, address, name=f" {machine.name.upper()}")).content.decode()
    assert "Another machine of this customer is called that" in page
    assert Machine.objects.count() == 1


@pytest.mark.parametrize("sets", [1, 40])
def test_the_page_asks_the_database_as_often_for_many_rows_as_for_one(
    specialist: Client, customer: Customer, sets: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    document = {**demo("season.toml")["machine"], "owned": [{"tip": "iso-11004-ff"}] * sets}
    machine = make_machine(customer, document)
    specialist.get(edit(machine))
    with django_assert_num_queries(6):
        specialist.get(edit(machine))


def test_tips_of_the_branch_s_own_files_are_suggested_before_the_built_in_ones(
    specialist: Client, machine: Machine, branch: Branch
) -> None:
    make_catalogue(branch)
    page = specialist.get(edit(machine)).content.decode()
    assert page.index('<option value="saltlick-06-pre">') < page.index('<option value="iso-11004-ff">')


def test_a_stranger_finds_nothing(stranger: Client, machine: Machine) -> None:
    assert stranger.get(edit(machine)).status_code == 404
    assert stranger.post(edit(machine), {"machine.name": "Mine"}).status_code == 404
    assert stranger.get(f"/customers/{machine.customer.pk}/machines/new/").status_code == 404


def test_a_viewer_may_not_change_a_machine(viewer: Client, machine: Machine) -> None:
    assert viewer.get(edit(machine)).status_code == 403
    assert viewer.post(edit(machine), {"machine.name": "Mine"}).status_code == 403
    assert "/machines/new/" not in viewer.get(f"/customers/{machine.customer.pk}/").content.decode()
