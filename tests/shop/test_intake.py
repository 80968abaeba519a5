"""The intake: asked over a link, typed by a customer without an account, looked through value by value, taken over."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from pytest_django import Settings
from tests.shop_cases import log_text, make_customer, make_machine, make_season, season_document

from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.field_logs import keep_reading_of, read_log
from wetrun.shop.answers.intake_logs import log_taken
from wetrun.shop.answers.season_logs import logs_of_season
from wetrun.shop.answers.seasons import problems_of_season
from wetrun.shop.intake.models import Intake, Stand
from wetrun.shop.jobs.models import Job
from wetrun.shop.links.models import Link
from wetrun.shop.links.sight import LinkRefused
from wetrun.shop.records.erasure import customer_erased
from wetrun.shop.records.models import FieldLog, Machine, Season, Trail
from wetrun.shop.records.personal_data import customer_data

SOON = timezone.localdate() + timedelta(days=10)


def asked(specialist: Client, machine: Machine, **more: Any) -> str:
    """Ask the customer of a machine; the path behind the link, as the one page shows it."""
    typed = {"title": "Season 2027", "units": "us", "wanted_by": SOON, "until": SOON + timedelta(days=9)} | more
    page = specialist.post(f"/machines/{machine.pk}/intake/new/", typed)
    return path_on(page.content.decode())


def path_on(page: str) -> str:
    found = re.search(r"http://testserver(/intake/[\w-]+/)", page)
    assert found is not None
    return found[1]


CROP = {
    "sheet.crop": "soybeans",
    "sheet.name": "Burndown",
    "sheet.area": "640",
    "sheet.first": "2027-04-15",
    "sheet.last": "2027-05-10",
}
MIX = {
    "sheet.carrier.name": "water",
    "sheet.rate.target": "15",
    "sheet.product": ["", "n0"],
    "sheet.product.n0.name": "Invented 3",
    "sheet.product.n0.rate": "32 fl oz/ac",
    "sheet.product.n0.droplets": "C or coarser",
    "sheet.product.n0.max_wind": "10",
}
GROUND = {"sheet.speeds.usual": "12", "sheet.speeds.fast": "22 km/h", "sheet.speeds.waterways": "6"}


def filled_in(
    path: str, crop: dict[str, Any] = CROP, mix: dict[str, Any] = MIX, ground: dict[str, Any] = GROUND
) -> Client:
    """Type one pass behind a link, as a customer without an account and without JavaScript does."""
    customer = Client(enforce_csrf_checks=True)
    step = customer.post(path, {"do": "add"})["Location"]
    for typed in (crop, mix, ground):
        answer = customer.post(step, typed)
        step = answer["Location"] if answer.status_code == 302 else step.replace("/crop/", "/mix/")
    return customer


def handed_in(path: str, **more: Any) -> Intake:
    customer = filled_in(path, **more)
    thanks = customer.post(f"{path}hand-in/", {"filled_in_by": "Zita Quist", "remarks": "Call me in the evening."})
    assert "Handed in" in thanks.content.decode()
    assert not customer.cookies
    return Intake.objects.latest("pk")


def draft(intake: Intake) -> dict[str, Any]:
    typed: dict[str, Any] = intake.document["passes"][0]["typed"]
    return typed


def test_what_a_customer_types_lands_as_typed_and_waits_for_the_specialist(
    specialist: Client, machine: Machine
) -> None:
    path = asked(specialist, machine)
    intake = handed_in(path)
    assert intake.stand is Stand.ANSWERED
    assert draft(intake) == {
        "crop": "soybeans",
        "name": "Burndown",
        "area": "640 ac",
        "first": date(2027, 4, 15),
        "last": date(2027, 5, 10),
        "carrier": "water",
        "rate": "15 gal/ac",
        "product": [{"name": "Invented 3", "rate": "32 fl oz/ac", "droplets": "C or coarser", "max_wind": "10 mph"}],
        "speeds": {"usual": "12 mph", "fast": "22 km/h", "waterways": "6 mph"},
    }
    assert not Season.objects.filter(machine=machine).exists()
    page = specialist.get(f"/intakes/{intake.pk}/").content.decode()
    for words in ("Zita Quist", "Call me in the evening.", "22 km/h", "Look it through"):
        assert words in page
    assert Client().get(path).status_code == 410


def test_taken_values_make_a_season_by_the_season_s_own_rules(specialist: Client, machine: Machine) -> None:
    intake = handed_in(asked(specialist, machine))
    address = f"/intakes/{intake.pk}/review/"
    page = unescape(specialist.get(address).content.decode())
    assert "the slowest that was typed: along waterways" in page.lower()
    answer = specialist.post(
        address, {"do": "accept", "do.1.area": "other", "text.1.area": "600", "do.1.product.0.max_wind": "out"}
    )
    season = Season.objects.get(machine=machine)
    assert answer["Location"] == f"/seasons/{season.pk}/"
    assert not [one for one in problems_of_season(season, logs=True) if one.key.startswith("pass")]
    (one,) = season.document["pass"]
    assert one["area"] == "600 ac"
    assert one["product"] == [{"name": "Invented 3", "rate": "32 fl oz/ac", "droplets": "C or coarser"}]
    assert one["speeds"] == {"slow": "6 mph", "usual": "12 mph", "fast": "22 km/h", "waterways": "6 mph"}
    assert (one["rate"], one["carrier"], one["first"]) == ("15 gal/ac", "water", date(2027, 4, 15))
    intake.refresh_from_db()
    assert (intake.stand, intake.season) == (Stand.SETTLED, season)
    assert draft(intake)["area"] == "640 ac", "what was typed is kept"
    decided = {row["place"]: (row["typed"], row["decided"], row["value"]) for row in intake.decisions}
    assert decided["1.area"] == ("640 ac", "other", "600")
    assert decided["1.product.0.max_wind"] == ("10 mph", "out", "")
    lines = set(Trail.objects.filter(machine=machine).values_list("what", flat=True))
    assert {"customer asked", "link made", "link used", "handed in over the link"} <= lines
    assert "looked through and settled" in lines


def test_values_stand_beside_what_the_record_has_and_what_is_left_out_stays(
    specialist: Client, machine: Machine
) -> None:
    season = make_season(machine)
    before = season.document["pass"]
    intake = handed_in(
        asked(specialist, machine, season=season.pk), crop=CROP | {"sheet.name": before[0]["name"].upper()}
    )
    address = f"/intakes/{intake.pk}/review/"
    page = unescape(specialist.get(address).content.decode())
    assert before[0]["area"] in page
    decided = {
        "do.1.name": "out",
        "do.1.crop": "out",
        "do.1.first": "out",
        "do.1.last": "out",
        "do.1.carrier.name": "out",
    }
    assert "10 mph" in page, "the record's speed along waterways stands beside the customer's"
    out = {f"do.1.speeds.{name}": "out" for name in ("usual", "slow", "fast", "waterways")}
    products = {f"do.1.product.0.{name}": "out" for name in ("name", "rate", "droplets", "max_wind")}
    specialist.post(address, {"do": "accept", "unfinished": "yes"} | decided | out | products)
    season.refresh_from_db()
    after = season.document["pass"]
    assert len(after) == len(before)
    assert after[0] == before[0] | {"area": "640 ac", "rate": after[0]["rate"]}
    assert str(after[0]["rate"]).count("15 gal/ac") == 1
    assert after[1:] == before[1:]


def test_a_pass_that_goes_nowhere_changes_nothing(specialist: Client, machine: Machine) -> None:
    season = make_season(machine)
    before = season.document
    intake = handed_in(asked(specialist, machine, season=season.pk))
    specialist.post(f"/intakes/{intake.pk}/review/", {"do": "accept", "to.1": "out", "unfinished": "yes"})
    season.refresh_from_db()
    assert season.document == before
    assert Intake.objects.get().stand is Stand.SETTLED


def test_what_cannot_be_read_is_kept_as_typed_and_said_to_both(specialist: Client, machine: Machine) -> None:
    path = asked(specialist, machine)
    customer = Client()
    step = customer.post(path, {"do": "add"})["Location"]
    page = unescape(customer.post(step, CROP | {"sheet.area": "the whole north side"}).content.decode())
    assert "kept as you typed it" in page
    assert "the whole north side" in page
    assert 'aria-invalid="true"' in page
    intake = Intake.objects.get()
    assert draft(intake)["area"] == "the whole north side"
    assert "1 cannot be read yet" in customer.get(path).content.decode()
    customer.post(f"{path}hand-in/", {"filled_in_by": "Zita Quist"})
    address = f"/intakes/{intake.pk}/review/"
    page = unescape(specialist.get(address).content.decode())
    assert "the whole north side" in page
    assert re.search(r'name="do\.1\.area" value="other" checked', page)
    page = unescape(specialist.post(address, {"do": "accept"}).content.decode())
    assert "Nothing was kept yet" in page
    assert not Season.objects.exists()
    specialist.post(address, {"do": "accept", "unfinished": "yes", "do.1.area": "take"})
    season = Season.objects.get()
    assert season.document["pass"][0]["area"] == "the whole north side"
    assert season.problems > 0


def test_a_customer_comes_back_and_reads_metric(specialist: Client, machine: Machine) -> None:
    path = asked(specialist, machine, units="si")
    customer = filled_in(path, mix={"sheet.rate.target": "140", "sheet.carrier.name": "water"})
    assert draft(Intake.objects.get())["rate"] == "140 L/ha"
    assert draft(Intake.objects.get())["area"] == "640 ha"
    customer.post(path, {"do": "units", "units": "us"})
    again = Client().get(f"{path}passes/1/mix/").content.decode()
    assert "140 L/ha" in again
    assert "that is 15" in again
    assert draft(Intake.objects.get())["rate"] == "140 L/ha", "what was typed keeps its unit"


def test_passes_are_put_in_order_and_taken_out_and_a_second_window_spoils_nothing(
    specialist: Client, machine: Machine
) -> None:
    path = asked(specialist, machine)
    one, other = Client(), Client()
    for crop in ("corn", "soybeans", "wheat"):
        step = one.post(path, {"do": "add"})["Location"]
        one.post(step, {"sheet.crop": crop})
    other.post(path, {"do": "out:1"})
    one.post(path, {"do": "up:3"})
    one.post(f"{path}passes/2/crop/", {"sheet.crop": "soybeans", "sheet.area": "80"})
    kept = [(each["key"], each["typed"]["crop"]) for each in Intake.objects.get().document["passes"]]
    assert kept == [(3, "wheat"), (2, "soybeans")]
    assert one.post(f"{path}passes/1/crop/", {"sheet.crop": "corn"}).status_code == 404
    assert one.get(f"{path}passes/2/nothing/").status_code == 404


def test_a_draft_can_begin_with_what_the_season_says(specialist: Client, machine: Machine) -> None:
    season = make_season(machine)
    path = asked(specialist, machine, season=season.pk, begin="on")
    page = unescape(Client().get(path).content.decode())
    for one in season_document()["pass"]:
        assert one["name"] in page
    assert "budget" not in page.lower()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"wanted_by": "2020-01-01"}, "That day is over"),
        ({"until": SOON - timedelta(days=5)}, "would end before the answer is wanted"),
        ({"until": SOON + timedelta(days=900)}, "a year from now"),
        ({"title": ""}, "not right yet"),
    ],
)
def test_what_is_asked_wrongly_is_said_and_no_link_is_made(
    specialist: Client, machine: Machine, typed: dict[str, Any], words: str
) -> None:
    usual = {"title": "Season 2027", "units": "us", "wanted_by": SOON, "until": SOON}
    page = specialist.post(f"/machines/{machine.pk}/intake/new/", usual | typed)
    assert words in unescape(page.content.decode())
    assert not Link.objects.exists()
    assert not Intake.objects.exists()


def test_links_that_expired_were_revoked_tampered_with_or_used_open_no_page(
    specialist: Client, machine: Machine
) -> None:
    def opens(path: str) -> tuple[int, str]:
        pages = [path, f"{path}passes/1/crop/", f"{path}logs/", f"{path}hand-in/"]
        answers = [*map(Client().get, pages), *map(Client().post, pages)]
        (status,) = {answer.status_code for answer in answers}
        bodies = [unescape(answer.content.decode()) for answer in answers]
        assert not any(machine.name in body or "Low Fork" in body for body in bodies)
        (title,) = {re.search("<h1>(.*)</h1>", body)[1] for body in bodies}  # type: ignore[index]
        return status, title

    path = asked(specialist, machine)
    intake = Intake.objects.get()
    assert opens(f"{path[:-2]}x/") == (404, "This link is not whole")
    Link.objects.update(until=timezone.now())
    assert opens(path) == (410, "This link has expired")
    newer = path_on(specialist.post(f"/intakes/{intake.pk}/link/", {"wanted_by": SOON}).content.decode())
    assert opens(path) == (410, "This link was taken back")
    Link.objects.filter(revoked_at=None).update(purpose="handover")
    assert opens(newer) == (404, "This link is for something else")
    Link.objects.filter(revoked_at=None).update(purpose="intake")
    Client().post(f"{newer}hand-in/", {"filled_in_by": "Z"})
    assert opens(newer) == (410, "This link was used")
    last = path_on(specialist.post(f"/intakes/{intake.pk}/link/", {"wanted_by": SOON}).content.decode())
    assert Client().get(last).status_code == 200
    assert Intake.objects.get().stand is Stand.BEGUN
    specialist.post(f"/intakes/{intake.pk}/put-away/")
    assert opens(last) == (410, "This link was taken back")


def test_a_link_shows_nothing_else_of_the_branch_whoever_looks(
    specialist: Client, machine: Machine, branch: Branch
) -> None:
    other = make_machine(make_customer(branch, "Other Hollow Farm"), machine.document | {"name": "Number 99"})
    make_season(other)
    path = asked(specialist, machine)
    for client in (Client(), specialist):
        page = client.get(path)
        words = page.content.decode()
        assert machine.name in words
        assert not any(name in words for name in ("Other Hollow", "Number 99", "Sign out", 'href="/customers/'))
        assert (page["Referrer-Policy"], page["Cache-Control"]) == ("no-referrer", "no-store")


def test_a_log_comes_in_is_read_and_counts_only_once_it_is_accepted(specialist: Client, machine: Machine) -> None:
    season = make_season(machine)
    path = asked(specialist, machine, season=season.pk)
    customer = Client()
    for name in ("north.csv", "south.csv"):
        text = log_text(200 if name == "north.csv" else 100)
        assert customer.post(f"{path}logs/", {"sent": SimpleUploadedFile(name, text.encode())}).status_code == 302
    north, south = FieldLog.objects.order_by("pk")
    assert set(Job.objects.filter(kind="field log").values_list("subject_key", flat=True)) == {
        str(north.pk),
        str(south.pk),
    }
    FieldLog.objects.update(season=season)  # even so, none of them counts
    assert logs_of_season(season) == ()
    read_log(north)
    keep_reading_of(north)
    assert "north.csv" in customer.get(f"{path}logs/").content.decode()
    FieldLog.objects.update(season=None)
    customer.post(f"{path}hand-in/", {"filled_in_by": "Zita Quist"})
    intake = Intake.objects.get()
    page = specialist.get(f"/intakes/{intake.pk}/review/").content.decode()
    assert "north.csv" in page
    name = season.document["pass"][0]["name"]
    specialist.post(
        f"/intakes/{intake.pk}/review/",
        {"do": "accept", "unfinished": "yes", f"log.{north.pk}": name, f"log.{south.pk}": "out"},
    )
    assert [(log.pk, log.passes) for log in logs_of_season(season)] == [(north.pk, [name])]
    south.refresh_from_db()
    assert south.taken_away_at is not None


def test_a_log_that_is_none_or_too_much_is_refused_with_a_sentence(
    specialist: Client, machine: Machine, settings: Settings
) -> None:
    path = asked(specialist, machine)
    send = f"{path}logs/"

    def words(name: str, content: bytes) -> tuple[int, str]:
        answer = Client().post(send, {"sent": SimpleUploadedFile(name, content)})
        return answer.status_code, unescape(answer.content.decode())

    for name in ("photo.jpg", "letter.pdf", "program.exe", "log"):
        status, page = words(name, b"1,2,3\n")
        assert (status, "is no field log" in page) == (200, True), name
    assert "is empty" in words("empty.csv", b"")[1]
    assert "One thing is not right yet" in Client().post(send, {}).content.decode()
    settings.MOST_LINK_LOG_BYTES = 1000
    status, page = words("large.csv", b"1,2,3\n" * 1000)
    assert (status, "larger than this page takes" in page) == (413, True)
    assert words("small.csv", b"1,2,3\n")[0] == 302
    assert "is here already" in words("again.csv", b"1,2,3\n")[1]
    assert FieldLog.objects.count() == 1
    revoked = FieldLog.objects.get()
    Client().post(send, {"drop": revoked.pk})
    assert FieldLog.objects.get().taken_away_at is not None


def test_nothing_is_written_to_the_disk_for_whoever_has_no_link(
    specialist: Client, machine: Machine, settings: Settings
) -> None:
    path = asked(specialist, machine)
    Link.objects.update(until=timezone.now())
    before = {file for file in settings.UPLOADS.rglob("*") if file.is_file()}
    answer = Client().post(f"{path}logs/", {"sent": SimpleUploadedFile("north.csv", b"1,2,3\n" * 9000)})
    assert answer.status_code == 410
    assert {file for file in settings.UPLOADS.rglob("*") if file.is_file()} == before


def test_the_reminder_is_text_to_copy_with_the_days_and_goes_by_e_mail_where_the_shop_sends_any(
    specialist: Client, machine: Machine, settings: Settings
) -> None:
    typed = {"title": "Season 2027", "units": "us", "wanted_by": SOON, "until": SOON}
    page = unescape(specialist.post(f"/machines/{machine.pk}/intake/new/", typed).content.decode())
    text = re.search(r'<textarea id="reminder"[^>]*>(.*?)</textarea>', page, re.DOTALL)[1]  # type: ignore[index]
    path = path_on(text)
    assert machine.name in text
    assert f"{SOON.day} " in text
    assert str(SOON.year) in text
    assert "<svg " in page
    assert "sends no e-mail" in page
    token = path.split("/")[2]
    address = f"/intakes/{Intake.objects.get().pk}/mail/"
    wished = {"token": token, "to": "zita@farm.example"}
    assert "has not set WETRUN_SMTP" in specialist.post(address, wished).content.decode()
    settings.MAIL_IS_ON = True
    assert "is no e-mail address" in specialist.post(address, wished | {"to": "Zita\nBcc: all"}).content.decode()
    assert not mail.outbox
    specialist.post(address, wished)
    (sent,) = mail.outbox
    assert (sent.to, sent.body) == (["zita@farm.example"], text.replace("\r\n", "\n"))
    assert Intake.objects.get().mailed_to == "zita@farm.example"
    specialist.post(address, wished | {"token": "guess"})
    assert len(mail.outbox) == 1


def test_a_mail_server_that_does_not_answer_is_said_and_the_link_is_still_shown(
    specialist: Client, machine: Machine, settings: Settings
) -> None:
    path = asked(specialist, machine)
    settings.MAIL_IS_ON = True
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", 1, 1
    wished = {"token": path.split("/")[2], "to": "zita@farm.example"}
    page = unescape(specialist.post(f"/intakes/{Intake.objects.get().pk}/mail/", wished).content.decode())
    assert "Nothing was sent" in page
    assert path in page


def test_the_board_says_who_was_asked_who_is_late_and_who_answered(specialist: Client, machine: Machine) -> None:
    def told() -> str:
        page = re.sub(r"\s+", " ", re.sub("<[^>]*>", "", specialist.get("/").content.decode()))
        return unescape(page)

    assert "no answer yet" not in told()
    path = asked(specialist, machine)
    assert "no answer yet" in told()
    assert "Late." not in told()
    Client().post(path, {"do": "add"})
    assert "Begun, last typed" in told()
    Intake.objects.update(wanted_by=date(2020, 1, 1))
    assert "Late." in told()
    Client().post(f"{path}hand-in/", {"filled_in_by": "Zita Quist"})
    assert "waits to be looked through" in told()
    specialist.post(f"/intakes/{Intake.objects.get().pk}/review/", {"do": "accept", "unfinished": "yes"})
    assert "waits to be looked through" not in told()


def test_somebody_else_who_changed_the_season_meanwhile_is_not_overwritten(
    specialist: Client, machine: Machine
) -> None:
    season = make_season(machine)
    intake = handed_in(asked(specialist, machine, season=season.pk))
    Season.objects.filter(pk=season.pk).update(version=7)
    page = specialist.post(
        f"/intakes/{intake.pk}/review/", {"do": "accept", "unfinished": "yes", "version": "1"}
    ).content.decode()
    assert "Somebody else changed" in unescape(page)
    season.refresh_from_db()
    assert season.document == season_document()
    assert Intake.objects.get().stand is Stand.ANSWERED


def test_an_intake_is_handed_over_and_erased_with_its_customer(
    specialist: Client, machine: Machine, settings: Settings, people: Any
) -> None:
    from wetrun.shop.accounts.desk import desk_of
    from wetrun.shop.accounts.roles import Role

    path = asked(specialist, machine)
    Client().post(f"{path}logs/", {"sent": SimpleUploadedFile("north.csv", b"1,2,3\n")})
    intake = handed_in(path, crop=CROP | {"sheet.name": "Burndown at Low Fork Farm"})
    asked(specialist, machine)
    kept = customer_data(machine.customer)["kept"]
    assert {"Intake", "IntakeLog", "Link"} <= set(kept)
    assert "Zita Quist" in str(kept["Intake"])
    Job.objects.all().delete()
    stored = settings.UPLOADS / FieldLog.objects.get().stored
    assert stored.is_file()
    customer_erased(desk_of(people[Role.MANAGER], None), machine.customer)
    left = str([*Intake.objects.values(), *Link.objects.values(), *Trail.objects.values()])
    for name in ("Zita Quist", "evening", "Low Fork"):
        assert name not in left
    assert draft(Intake.objects.get(pk=intake.pk))["area"] == "640 ac"
    assert not any(link.is_open for link in Link.objects.all())


def test_another_value_that_was_typed_counts_though_its_button_was_not_pressed(
    specialist: Client, machine: Machine
) -> None:
    intake = handed_in(asked(specialist, machine))
    typed = {"do": "accept", "do.1.area": "take", "text.1.area": "610", "do.1.crop": "take", "text.1.crop": "soybeans"}
    specialist.post(f"/intakes/{intake.pk}/review/", typed)
    (one,) = Season.objects.get().document["pass"]
    assert (one["area"], one["crop"]) == ("610 ac", "soybeans")


def test_more_than_a_form_holds_is_said_and_what_was_kept_before_stays(specialist: Client, machine: Machine) -> None:
    path = asked(specialist, machine)
    customer = Client()
    step = customer.post(path, {"do": "add"})["Location"]
    customer.post(step, CROP)
    page = unescape(customer.post(step, CROP | {"sheet.name": "x" * 300_000}).content.decode())
    assert "more than a form holds" in page
    assert "kept as you typed it" not in page
    assert draft(Intake.objects.get())["name"] == "Burndown"


def test_a_log_that_arrives_after_it_was_handed_in_is_not_taken(specialist: Client, machine: Machine) -> None:
    asked(specialist, machine)
    stale = Intake.objects.get()
    Intake.objects.update(handed_in_at=timezone.now())
    with pytest.raises(LinkRefused):
        log_taken(stale, FieldLog(name="late.csv", stored="logs/00/late.csv", sha256="2" * 64))
    assert not FieldLog.objects.exists()


def test_a_pass_that_was_renamed_is_known_again_and_one_taken_out_is_told(specialist: Client, machine: Machine) -> None:
    season = make_season(machine)
    before = season.document["pass"]
    path = asked(specialist, machine, season=season.pk, begin="on")
    customer = Client()
    customer.post(f"{path}passes/1/crop/", {"sheet.name": "First clean-up", "sheet.area": "1500"})
    customer.post(path, {"do": "out:2"})
    customer.post(f"{path}hand-in/", {"filled_in_by": "Zita Quist"})
    address = f"/intakes/{Intake.objects.get().pk}/review/"
    page = unescape(specialist.get(address).content.decode())
    assert "The customer took these out" in page
    assert f"{before[1]['crop']}, {before[1]['name']}" in page
    specialist.post(address, {"do": "accept", "unfinished": "yes"})
    season.refresh_from_db()
    after = season.document["pass"]
    assert after[0] == before[0] | {"name": "First clean-up", "area": "1500 ac"}
    assert after[1:] == before[1:]
