"""A machine handed over by link: card, walk, numbers, signature, each operator for himself and without an account."""

from __future__ import annotations

import io
import json
import re
import zipfile
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from tests.paper_reading import text_of as words_of
from tests.shop.form_reading import sent_by
from tests.shop_cases import make_user, small_season
from tests.shop_handing import WALKED, make_settings, shown

from wetrun.machine.walk_round import WALK
from wetrun.proving.monitor import Setting
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of
from wetrun.shop.handing.models import Walk
from wetrun.shop.links.models import Link
from wetrun.shop.records.models import Handover, Machine, MonitorSettings, TipPlan, Trail


@pytest.fixture
def settings_left(machine: Machine) -> MonitorSettings:
    return make_settings(machine)


@pytest.fixture
def address(specialist: Client, machine: Machine, settings_left: MonitorSettings) -> str:
    return offered(specialist, machine)


@pytest.fixture
def phone() -> Client:
    """A browser of somebody without an account, who sends forms as no page of ours asked for them."""
    return Client(enforce_csrf_checks=True)


def offered(specialist: Client, machine: Machine, **more: str) -> str:
    """The address of a new link, as it stands on the one page that shows it."""
    until = (timezone.localdate() + timedelta(days=7)).isoformat()
    answer = specialist.post(
        f"/machines/{machine.pk}/handovers/link/", {"card": "", "units": "us", "until": until, **more}
    )
    (found,) = re.findall(r"readonly>http://testserver(/take-over/[^<]+)</textarea>", answer.content.decode())
    return str(found)


def begun(phone: Client, address: str, operator: str = "Bo Cole") -> str:
    """The address of a new walk."""
    return str(phone.post(address, {"operator": operator})["Location"])


def text_of(answer: Any) -> str:
    return unescape(answer.content.decode())


def walked(phone: Client, walk: str, settings: MonitorSettings, **other: str) -> None:
    """Every point right, every number as left, but for some."""
    assert phone.post(walk, WALKED)["Location"] == f"{walk}numbers/"
    assert phone.post(f"{walk}numbers/", shown(settings, **other)).status_code == 302


def signed(phone: Client, walk: str, name: str = "Bo Cole") -> Any:
    return phone.post(f"{walk}sign/", {"operator": name, "signed_name": name})


def test_a_wrong_number_is_found_over_the_link_with_what_it_does_to_the_rate_and_signed(
    phone: Client, address: str, settings_left: MonitorSettings, viewer: Client, machine: Machine
) -> None:
    walk = begun(phone, address)
    walked(phone, walk, settings_left, meter_number="720")
    page = text_of(phone.get(f"{walk}numbers/"))
    # A meter thought to give 720 pulses where it gives 748 lets 720/748 of the rate through: 3.7 % less.
    assert "Differs: it was left with 748." in page
    assert "Rate −3.7 % at every speed." in page
    assert "Rate −3.7 % at every speed." in text_of(phone.get(f"{walk}sign/"))
    assert "signed by Bo Cole" in text_of(signed(phone, walk))
    handover = Handover.objects.get()
    assert handover.signed_at is not None
    assert (handover.signed_name, handover.over_link, handover.made_by) == ("Bo Cole", True, None)
    assert [row["key"] for row in handover.differing] == ["meter_number"]
    for page in (f"/machines/{machine.pk}/handovers/", f"/handovers/{handover.pk}/", f"/machines/{machine.pk}/"):
        told = text_of(viewer.get(page))
        assert "over a link" in told, page
        assert "rate −3.7 % at every speed" in told, page
    board = text_of(viewer.get("/"))
    assert "Bo Cole, over a link" in board
    assert "meter number (rate −3.7 % at every speed)" in board


def test_the_numbers_left_in_the_monitor_are_not_shown_before_the_operator_typed_his(
    phone: Client, address: str, settings_left: MonitorSettings
) -> None:
    walk = begun(phone, address)
    page = phone.get(f"{walk}numbers/").content.decode()
    assert 'name="number-meter_number"' in page
    assert "748" not in page
    phone.post(f"{walk}numbers/", {"number-meter_number": "720"})
    assert "748" in phone.get(f"{walk}numbers/").content.decode()


def test_every_step_is_kept_as_typed_whatever_is_wrong_with_it(
    phone: Client, address: str, settings_left: MonitorSettings
) -> None:
    walk = begun(phone, address)
    phone.post(walk, {"look-leaks": "wrong"})
    phone.post(f"{walk}numbers/", {"number-meter_number": "7x8", "number-density": "1.0"})
    page = phone.get(f"{walk}numbers/").content.decode()
    assert sent_by(page)["number-meter_number"] == "7x8"
    assert "A number above zero belongs here" in page
    said = text_of(phone.post(f"{walk}sign/", {"operator": "Bo Cole", "remarks": "left mirror cracked"}))
    assert "Nobody signed. Type your full name." in said
    assert "“With water at working pressure nothing leaks” is wrong: write down what is." in said
    assert "Nobody looked yet: hoses" in said
    assert f"{Setting.METER_NUMBER.value}: A number above zero" in said
    handover = Handover.objects.get()
    assert (handover.signed_at, handover.remarks) == (None, "left mirror cracked")
    assert [line.by for line in Trail.objects.filter(kind="Handover")] == [None] * 4, "begun, and three steps"


def test_the_walk_is_kept_wherever_its_button_leads(phone: Client, address: str) -> None:
    walk = begun(phone, address)
    leads = {"stay": walk, "photos": f"{walk}photos/?look=hoses", "": f"{walk}numbers/"}
    for number, (button, to) in enumerate(leads.items()):
        typed = WALKED | {"remark-hoses": f"look {number}", **({button: "hoses"} if button else {})}
        assert phone.post(walk, typed)["Location"] == to
        assert f"look {number}" in phone.get(walk).content.decode()
    assert phone.post(walk, WALKED | {"photos": "no such point"})["Location"] == f"{walk}numbers/"


def test_nothing_behind_the_link_needs_a_script_or_a_cookie(
    phone: Client, address: str, settings_left: MonitorSettings
) -> None:
    walk = begun(phone, address)
    for page in (address, walk, *(f"{walk}{step}/" for step in ("numbers", "photos", "sign"))):
        answer = phone.get(page)
        assert answer.status_code == 200
        assert "<script" not in answer.content.decode()
        assert (answer["Referrer-Policy"], answer["Cache-Control"]) == ("no-referrer", "no-store")
    assert not phone.cookies


def test_a_text_too_long_is_said_at_its_field_and_stays_in_it(phone: Client, address: str) -> None:
    walk = begun(phone, address)
    page = phone.post(walk, WALKED | {"remark-hoses": "x" * 301}).content.decode()
    assert "Not kept yet. Nothing you typed is lost." in page
    assert sent_by(page)["remark-hoses"] == "x" * 301
    assert not Handover.objects.get().checks


def test_two_operators_at_once_have_a_walk_each(phone: Client, address: str, settings_left: MonitorSettings) -> None:
    first, second = begun(phone, address, "Bo Cole"), begun(Client(), address, "Ann Dell")
    phone.post(first, WALKED)
    phone.post(second, WALKED | {"look-leaks": "wrong", "remark-leaks": "left wing drips"})
    found = {one.operator: one.checks for one in Handover.objects.all()}
    assert [row["found"] for row in found["Bo Cole"]] == ["right"] * len(WALK)
    assert [row["remark"] for row in found["Ann Dell"] if row["found"] == "wrong"] == ["left wing drips"]


def test_of_two_windows_on_one_walk_the_second_is_told_and_loses_nothing(phone: Client, address: str) -> None:
    walk = begun(phone, address)
    version = sent_by(phone.get(walk).content.decode())["version"]
    phone.post(walk, WALKED | {"version": version})
    page = phone.post(walk, {"remark-hoses": "worn", "version": version}).content.decode()
    assert "Somebody else changed" in page
    assert "Now stands there: right" in page
    again = sent_by(page)
    assert again["remark-hoses"] == "worn"
    assert phone.post(walk, WALKED | {"remark-hoses": "worn", "version": again["version"]}).status_code == 302
    assert [row["remark"] for row in Handover.objects.get().checks if row["key"] == "hoses"] == ["worn"]


def test_what_is_signed_is_never_edited_but_done_again(
    phone: Client, address: str, settings_left: MonitorSettings, viewer: Client
) -> None:
    walk = begun(phone, address)
    walked(phone, walk, settings_left)
    signed(phone, walk)
    first = Handover.objects.get()
    for step in ("", "numbers/", "photos/", "sign/"):
        phone.post(f"{walk}{step}", WALKED | {"operator": "Somebody else", "signed_name": "Somebody else"})
    first.refresh_from_db()
    assert (first.operator, first.version, first.signed_name) == ("Bo Cole", first.version, "Bo Cole")
    again = phone.post(walk, {"again": "yes"})["Location"]
    assert again != walk
    walked(phone, again, settings_left, density="1.10")
    signed(phone, again)
    assert "Done again since" in text_of(viewer.get(f"/handovers/{first.pk}/"))
    later = Handover.objects.exclude(pk=first.pk).get()
    assert "It stands in for the one of" in text_of(viewer.get(f"/handovers/{later.pk}/"))
    assert Handover.objects.get(pk=first.pk).differing == []


def test_a_new_operator_repeats_it_on_the_same_link_and_sees_nobody_s_signed_walk(
    phone: Client, address: str, settings_left: MonitorSettings
) -> None:
    for name in ("Bo Cole", "Ann Dell"):
        walk = begun(phone, address, name)
        assert name in text_of(phone.get(address)), "until it is signed it can be gone on with after a dead battery"
        walked(phone, walk, settings_left)
        assert f"signed by {name}" in text_of(signed(phone, walk, name))
    assert Handover.objects.exclude(signed_at=None).count() == 2
    assert "Cole" not in text_of(phone.get(address))


def test_a_link_for_one_operator_closes_with_the_signature(
    phone: Client, specialist: Client, machine: Machine, settings_left: MonitorSettings
) -> None:
    address = offered(specialist, machine, once="on")
    walk = begun(phone, address)
    other = begun(Client(), address, "Ann Dell")
    walked(phone, walk, settings_left)
    walked(phone, other, settings_left)
    assert "This link opens nothing any more." in text_of(signed(phone, walk))
    for gone in (address, walk, f"{walk}sign/", f"{other}sign/"):
        answer = phone.get(gone)
        assert (answer.status_code, "This link was used" in text_of(answer)) == (410, True)
    assert signed(phone, other, "Ann Dell").status_code == 410
    assert Handover.objects.exclude(signed_at=None).count() == 1


def test_links_expired_revoked_tampered_or_of_another_walk_are_refused_in_a_sentence(
    phone: Client, address: str, specialist: Client, machine: Machine
) -> None:
    walk = begun(phone, address)
    foreign = begun(phone, offered(specialist, machine))
    key = foreign.removesuffix("/").rpartition("/")[2]
    assert "This link has no such walk round" in text_of(phone.get(f"{address}{key}/"))
    changed = address.replace("/take-over/", "/take-over/A")
    assert "This link is not whole" in text_of(phone.get(changed))
    assert phone.get(address.replace("take-over", "intake")).status_code == 404
    first = Link.objects.order_by("pk")[0]
    Link.objects.filter(pk=first.pk).update(until=timezone.now() - timedelta(minutes=1))
    assert "This link has expired" in text_of(phone.post(walk, WALKED))
    Link.objects.filter(pk=first.pk).update(until=timezone.now() + timedelta(days=1))
    specialist.post(f"/links/{first.pk}/revoke/")
    for step in ("", "numbers/", "photos/", "sign/"):
        assert "This link was taken back" in text_of(phone.post(f"{walk}{step}", WALKED)), step
    assert not Handover.objects.filter(checks__contains="right").exists()


def test_more_walks_than_any_machine_has_drivers_are_refused(
    phone: Client, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("wetrun.shop.answers.handing.MOST_WALKS", 1)
    begun(phone, address)
    assert "no more are taken" in text_of(phone.post(address, {"operator": "Ann Dell"}))
    assert Walk.objects.count() == 1


@pytest.fixture
def plan(branch: Branch) -> TipPlan:
    return keep_plan(tip_plan_of(small_season(branch)), None)


def test_page_and_paper_show_the_same_card_and_the_paper_carries_the_code_only_once(
    phone: Client, specialist: Client, plan: TipPlan
) -> None:
    machine = plan.season.machine
    card: dict[str, Any] = next(one for one in plan.in_si["cards"] if one)
    until = (timezone.localdate() + timedelta(days=7)).isoformat()
    asked = {"card": card["name"], "units": "si", "until": until}
    made = specialist.post(f"/machines/{machine.pk}/handovers/link/", asked)
    (token,) = re.findall(r'name="token" value="([^"]+)"', made.content.decode())
    page = text_of(phone.get(f"/take-over/{token}/"))
    assert card["window"] in page
    for row in card["monitor"]:
        assert f"<strong>{row['value']}</strong>" in page
    assert all(caution in page for caution in card["cautions"])
    link = Link.objects.get()
    paper = specialist.post(f"/links/{link.pk}/cab-card.pdf", {"token": token})
    assert "Walk round, numbers, signature: until" in words_of(paper.getvalue())
    assert (paper["Cache-Control"], token.encode() in paper.getvalue()) == ("no-store", False)
    bare = specialist.get(f"/tip-plans/{plan.pk}/cards/1.pdf").getvalue()
    assert "Walk round, numbers, signature" not in words_of(bare), "printed later it has no code"
    for wrong in ("", token[:-1] + ("0" if token[-1] != "0" else "1")):
        answer = specialist.post(f"/links/{link.pk}/cab-card.pdf", {"token": wrong}, follow=True)
        assert "has to be made anew" in text_of(answer)
    TipPlan.objects.update(replaced_at=timezone.now())
    assert "A newer plan was made since" in text_of(phone.get(f"/take-over/{token}/"))


def test_a_handover_by_link_is_handed_over_and_erased_with_the_customer_s_data(
    phone: Client, address: str, settings_left: MonitorSettings, branch: Branch, machine: Machine
) -> None:
    walk = begun(phone, address, "Xaver Quill")
    walked(phone, walk, settings_left)
    signed(phone, walk, "Xaver Quill")
    boss = Client()
    boss.force_login(make_user(branch, Role.MANAGER, "boss"))
    customer = machine.customer
    with zipfile.ZipFile(io.BytesIO(boss.get(f"/customers/{customer.pk}/export/").content)) as handed:
        kept = json.loads(handed.read("data.json"))["kept"]
    assert [row["signed_name"] for row in kept["Handover"]] == ["Xaver Quill"]
    assert len(kept["Walk"]) == len(kept["Offer"]) == 1
    boss.post(f"/customers/{customer.pk}/erase/", {"name": customer.name})
    assert "Quill" not in Handover.objects.get().signed_name
    assert not any("Quill" in json.dumps([line.before, line.after], default=str) for line in Trail.objects.all())
    assert "This link was taken back" in text_of(phone.get(address))
