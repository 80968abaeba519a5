"""Typing a wet run: sheets test by test, what every tip gave, two technicians at one boom, nothing typed ever lost."""

from __future__ import annotations

import re
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone
from tests.shop.form_reading import sent_by
from tests.shop_cases import make_machine, make_user, make_wet_run

from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.records.models import Customer, Machine, Reading, Trail, WetRun
from wetrun.shop.records.readings import TypedReading, keep_reading

SMALL = {
    "name": "Small one",
    "boom": {
        "spacing": "20 in",
        "sections": [5, 5],
        "odd": [{"kind": "drop", "positions": "10", "tip": "iso-11003-ff"}],
    },
    "control": {"loop": "flow meter"},
}


@pytest.fixture
def machine(customer: Customer) -> Machine:
    """A boom of ten tips, so that a page comes at once."""
    return make_machine(customer, SMALL)


@pytest.fixture
def wet_run(machine: Machine) -> WetRun:
    run = make_wet_run(machine)
    tips = {"fitted": "iso-11004-ff"}
    run.document = {
        "format_version": 1,
        "title": run.title,
        "tips": tips,
        "catch": {"unit": "fl oz", "pressure": "40 psi"},
    }
    run.save()
    return run


@pytest.fixture
def reed(branch: Branch) -> Client:
    return browser_of(branch, "A. Reed")


@pytest.fixture
def ash(branch: Branch) -> Client:
    return browser_of(branch, "B. Ash")


def browser_of(branch: Branch, name: str) -> Client:
    client = Client()
    client.force_login(make_user(branch, Role.TECHNICIAN, name.casefold(), name=name))
    return client


class Form:
    """A form of a page as a browser has it: every box as it stands, then what is typed."""

    def __init__(self, client: Client, address: str, page: str = "", *, kind: str = "sheet") -> None:
        self.client, self.address = client, address
        text = page or client.get(address).content.decode()
        self.sent = sent_by(re.findall(rf'<form class="{kind}".*?</form>', text, re.DOTALL)[0])

    def send(self, **typed: str) -> Any:
        """Send it with some boxes typed over; two underscores stand for a point."""
        posted = self.sent.copy()
        for name, text in typed.items():
            posted[name.replace("__", ".")] = text
        return self.client.post(self.address, posted.urlencode(), "application/x-www-form-urlencoded")


def boom_of(client: Client, run: WetRun, page: str = "") -> Form:
    """The sheet along the boom."""
    return Form(client, address(run, "catch"), page, kind="sheet tips-sheet")


def address(run: WetRun, test: str) -> str:
    return f"/wet-runs/{run.pk}/{test}/"


def caught(run: WetRun) -> dict[str, Any]:
    readings: dict[str, Any] = document_of(WetRun.objects.get(pk=run.pk))["catch"].get("readings", {})
    return readings


def test_what_every_tip_gave_is_kept_reading_by_reading(reed: Client, wet_run: WetRun) -> None:
    sheet = boom_of(reed, wet_run)
    answer = sheet.send(catch__readings__1="39.2", catch__readings__2="39,5", catch__readings__4="")
    assert answer.status_code == 302
    assert caught(wet_run) == {"1": "39.2", "2": "39,5"}
    assert {one.by.name for one in Reading.objects.select_related("by") if one.by} == {"A. Reed"}
    page = reed.get(address(wet_run, "catch")).content.decode()
    assert 'name="catch.readings.1" value="39.2"' in page
    assert 'name="catch.readings.2" value="39,5"' in page
    assert "2 of 10 typed" in page


def test_sending_a_boom_twice_keeps_it_once(reed: Client, wet_run: WetRun) -> None:
    sheet = boom_of(reed, wet_run)
    sheet.send(catch__readings__1="39.2")
    sheet.send(catch__readings__1="39.2")
    assert Reading.objects.count() == 1


def test_two_technicians_on_one_boom_do_not_overwrite_each_other(reed: Client, ash: Client, wet_run: WetRun) -> None:
    left, right = (boom_of(client, wet_run) for client in (reed, ash))
    left.send(catch__readings__1="39.2", catch__readings__2="39.5")
    right.send(catch__readings__5="38.8", catch__readings__6="39.0")
    assert caught(wet_run) == {"1": "39.2", "2": "39.5", "5": "38.8", "6": "39.0"}


def test_what_both_typed_at_one_tip_is_shown_side_by_side_and_neither_is_lost(
    reed: Client, ash: Client, wet_run: WetRun
) -> None:
    left, right = (boom_of(client, wet_run) for client in (reed, ash))
    left.send(catch__readings__3="39.2")
    page = right.send(catch__readings__3="93.2", catch__readings__4="38.8").content.decode()
    assert caught(wet_run) == {"3": "39.2", "4": "38.8"}
    assert "A. Reed typed 39.2" in page
    assert 'name="catch.readings.3" value="93.2"' in page
    again = boom_of(ash, wet_run, page)
    assert again.send(theirs="catch.readings.3").status_code == 302
    assert caught(wet_run)["3"] == "39.2"
    assert again.send().status_code == 302
    assert caught(wet_run)["3"] == "93.2"
    assert [one.typed for one in Reading.objects.filter(place="catch.readings.3")] == ["39.2", "93.2"]


def test_a_reading_nobody_can_read_stays_on_the_page_with_its_sentence_and_the_rest_is_kept(
    reed: Client, wet_run: WetRun
) -> None:
    sheet = boom_of(reed, wet_run)
    page = sheet.send(catch__readings__1="39.2", catch__readings__2="39.5 psi").content.decode()
    assert caught(wet_run) == {"1": "39.2"}
    assert 'name="catch.readings.2" value="39.5 psi"' in page
    assert 'aria-invalid="true"' in page
    assert page.count('class="wrong-words"') == 1
    assert "1 reading kept." in page


def test_tips_that_gave_nothing_are_written_so_without_a_keypad_of_letters(reed: Client, wet_run: WetRun) -> None:
    sheet = boom_of(reed, wet_run)
    sheet.send(catch__readings__1="39.2", dry="2, 5")
    assert caught(wet_run) == {"1": "39.2", "2": "no flow", "5": "no flow"}


def test_a_first_reading_takes_the_unit_that_was_printed_beside_it(reed: Client, wet_run: WetRun) -> None:
    wet_run.document = {key: value for key, value in wet_run.document.items() if key != "catch"}
    wet_run.save()
    boom_of(reed, wet_run).send(catch__readings__1="39.2")
    assert document_of(WetRun.objects.get(pk=wet_run.pk))["catch"] == {"unit": "fl oz", "readings": {"1": "39.2"}}


def test_a_unit_that_was_changed_meanwhile_does_not_change_what_was_typed(
    reed: Client, ash: Client, wet_run: WetRun
) -> None:
    sheet = boom_of(reed, wet_run)
    Form(ash, address(wet_run, "catch")).send(sheet__unit="mL")
    sheet.send(catch__readings__1="39.2")
    assert caught(wet_run) == {"1": "39.2 fl oz"}


def test_what_stands_out_is_marked_at_its_tip_once_it_is_kept(reed: Client, wet_run: WetRun) -> None:
    wet_run.document["catch"] |= {"time": "30 s", "jug": "0.2 fl oz"}
    wet_run.save()
    sheet = boom_of(reed, wet_run)
    given = ("25.6", "25.5", "7.1", "25.7", "25.6", "25.4", "25.7", "25.6", "25.5", "19.2")
    sheet.send(**{f"catch__readings__{n}": text for n, text in enumerate(given, start=1)})
    page = reed.get(address(wet_run, "catch")).content.decode()
    marked = re.findall(r'id="tip-(\d+)-says">\s*<p>([^<]*)</p>', page)
    assert [tip for tip, _ in marked] == ["3"]
    assert "fail" in marked[0][1]
    assert "iso-11003-ff" in page  # what position 10 carries on purpose
    few = boom_of(reed, wet_run)
    few.send(**{f"catch__readings__{n}": "" for n in range(4, 11)})
    assert "only 3 tips can be read. Catch 8 tips or more." in reed.get(address(wet_run, "catch")).content.decode()


def test_a_sheet_is_kept_with_every_quantity_as_it_was_typed(reed: Client, wet_run: WetRun) -> None:
    sheet = Form(reed, address(wet_run, "screen"))
    answer = sheet.send(sheet__rate="15.0 gal/ac", sheet__speed="13", sheet__flow="47,3 gal/min", sheet__width="36.6 m")
    assert answer["Location"] == f"/wet-runs/{wet_run.pk}/"
    typed = {"rate": "15.0 gal/ac", "speed": "13 mph", "flow": "47,3 gal/min", "width": "36.6 m"}
    assert WetRun.objects.get(pk=wet_run.pk).document["screen"] == typed
    line = Trail.objects.get(kind="WetRun", key=str(wet_run.pk))
    assert (line.what, line.after) == ("Monitor's screen written down", typed)


def test_a_bad_reading_on_a_sheet_keeps_everything_typed_with_the_sentence_at_its_field(
    reed: Client, wet_run: WetRun
) -> None:
    page = Form(reed, address(wet_run, "screen")).send(
        sheet__rate="15.0 gal/ac", sheet__speed="13 psi", sheet__flow="47.3", sheet__width="120 ft"
    )
    text = page.content.decode()
    assert 'value="13 psi"' in text
    assert 'value="15.0 gal/ac"' in text
    assert 'id="sheet-speed-wrong"' in text
    assert "screen" not in WetRun.objects.get(pk=wet_run.pk).document
    kept = Form(reed, address(wet_run, "screen")).send(sheet__speed="13 psi", unfinished="yes")
    assert kept.status_code == 302
    assert WetRun.objects.get(pk=wet_run.pk).document["screen"] == {"speed": "13 psi"}


def test_two_tests_of_one_run_are_typed_side_by_side(reed: Client, ash: Client, wet_run: WetRun) -> None:
    screen, evenness = Form(reed, address(wet_run, "screen")), Form(ash, address(wet_run, "evenness"))
    screen.send(sheet__rate="15.0 gal/ac", sheet__speed="13 mph", sheet__flow="47.3 gal/min", sheet__width="120 ft")
    assert evenness.send(sheet__height="22 in").status_code == 302
    document = WetRun.objects.get(pk=wet_run.pk).document
    assert (document["screen"]["speed"], document["evenness"]["height"]) == ("13 mph", "22 in")


def test_the_second_of_two_who_type_one_test_is_told_what_now_stands_there(
    reed: Client, ash: Client, wet_run: WetRun
) -> None:
    typed = {"sheet__rate": "15.0 gal/ac", "sheet__speed": "13 mph", "sheet__flow": "47.3 gal/min"}
    one, two = (Form(client, address(wet_run, "screen")) for client in (reed, ash))
    one.send(**typed, sheet__width="120 ft")
    page = two.send(**typed, sheet__width="119 ft").content.decode()
    assert WetRun.objects.get(pk=wet_run.pk).document["screen"]["width"] == "120 ft"
    assert "Now stands there: 120 ft" in page
    assert 'value="119 ft"' in page
    assert Form(ash, two.address, page).send().status_code == 302
    assert WetRun.objects.get(pk=wet_run.pk).document["screen"]["width"] == "119 ft"


def test_a_gate_that_is_not_safe_is_written_where_it_is_asked_about(reed: Client, wet_run: WetRun) -> None:
    sheet = Form(reed, address(wet_run, "gates"))
    page = reed.get(address(wet_run, "gates")).content.decode()
    assert "Never clear a tip by mouth" in page
    gate = {"sheet.overhead_lines.__is": "yes", "sheet.overhead_lines.safe": "no"}
    sheet.sent.update({"sheet.by": "A. Reed", "sheet.overhead_lines.remark": "line over the gate"})
    for name, text in gate.items():
        sheet.sent[name] = text
    assert sheet.send().status_code == 302
    gates = WetRun.objects.get(pk=wet_run.pk).document["gates"]
    assert gates == {"by": "A. Reed", "overhead_lines": {"remark": "line over the gate", "safe": False}}
    said = reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    assert "Confirm every gate before water flows." in said


def test_a_reading_sent_by_a_device_is_on_the_sheet_and_a_sheet_kept_after_it_stands(
    reed: Client, wet_run: WetRun, branch: Branch
) -> None:
    wet_run.document["screen"] = {"rate": "15 gal/ac", "speed": "13 mph", "flow": "47.3 gal/min", "width": "120 ft"}
    wet_run.save()
    keep_reading(
        wet_run, TypedReading(uuid4(), "screen.width", "119 ft", timezone.now()), make_user(branch, login="dev")
    )
    sheet = Form(reed, address(wet_run, "screen"))
    assert sheet.sent["sheet.width"] == "119 ft"
    sheet.send(sheet__width="118 ft")
    assert document_of(WetRun.objects.get(pk=wet_run.pk))["screen"]["width"] == "118 ft"


def test_a_proven_run_takes_nothing_anywhere_and_says_so(reed: Client, specialist: Client, wet_run: WetRun) -> None:
    sheets = [Form(reed, address(wet_run, test)) for test in ("screen", "gates", "tips", "catch")]
    boom = boom_of(reed, wet_run)
    WetRun.objects.filter(pk=wet_run.pk).update(proven_at=timezone.now())
    before = WetRun.objects.get(pk=wet_run.pk).document
    answers = [sheet.send() for sheet in sheets] + [boom.send(catch__readings__1="39.2")]
    for answer in answers:
        assert answer.status_code == 409
        assert "This wet run is proven and takes no more readings." in answer.content.decode()
    stands = specialist.post(f"/wet-runs/{wet_run.pk}/stands/", {"reading": "catch tip 1"}, follow=True)
    assert "takes no more readings" in stands.content.decode()
    assert (
        "takes no more readings" in specialist.post(f"/wet-runs/{wet_run.pk}/prove/", {}, follow=True).content.decode()
    )
    assert WetRun.objects.get(pk=wet_run.pk).document == before
    assert not Reading.objects.exists()


def test_a_question_is_answered_by_who_looked_again(reed: Client, wet_run: WetRun) -> None:
    wet_run.document["catch"] |= {"time": "30 s", "jug": "0.2 fl oz"}
    wet_run.save()
    sheet = boom_of(reed, wet_run)
    given = ("25.6", "25.5", "256", "25.7", "25.6", "25.4", "25.7", "25.6", "25.5", "19.2")
    sheet.send(**{f"catch__readings__{n}": text for n, text in enumerate(given, start=1)})
    page = reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    assert 'name="reading" value="catch tip 3"' in page
    reed.post(f"/wet-runs/{wet_run.pk}/stands/", {"reading": "catch tip 3", "remark": "looked twice"})
    reed.post(f"/wet-runs/{wet_run.pk}/stands/", {"reading": "catch tip 99"})
    (stands,) = WetRun.objects.get(pk=wet_run.pk).document["stands"]
    assert (stands["reading"], stands["by"], stands["remark"]) == ("catch tip 3", "A. Reed", "looked twice")
    page = reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    assert "confirmed as typed by A. Reed" in page
    assert 'value="catch tip 3"' not in page


def test_a_test_no_run_has_is_not_found(reed: Client, wet_run: WetRun) -> None:
    assert reed.get(address(wet_run, "soup")).status_code == 404


COURSE = {
    "length": "300 ft",
    "source": [
        {"name": "wheel", "kind": "wheel sensor", "number": "315", "form": "pulses per 300 ft"},
        {"name": "GPS", "kind": "GPS"},
    ],
}


def one_more(client: Client, run: WetRun) -> Form:
    """The boxes of one more run over the course, the first form of its page."""
    return Form(client, address(run, "course"))


def test_a_run_over_the_course_is_typed_in_four_boxes(reed: Client, wet_run: WetRun) -> None:
    wet_run.document["course"] = COURSE
    wet_run.save()
    first = one_more(reed, wet_run)
    assert (first.sent["way"], first.sent["seen"]) == ("out", "0")
    assert first.send(time="15.75", **{"source-0": "322", "source-1": "12.9"}).status_code == 302
    second = one_more(reed, wet_run)
    assert second.sent["way"] == "back"
    second.send(time="15,86 s", **{"source-0": "321", "source-1": "20.8 km/h"})
    runs = WetRun.objects.get(pk=wet_run.pk).document["course"]["run"]
    assert runs == [
        {"way": "out", "time": "15.75 s", "shown": {"GPS": "12.9 mph"}, "pulses": {"wheel": 322}},
        {"way": "back", "time": "15,86 s", "shown": {"GPS": "20.8 km/h"}, "pulses": {"wheel": 321}},
    ]


def test_a_run_that_is_sent_twice_is_kept_once_and_those_of_two_people_are_both_kept(
    reed: Client, ash: Client, wet_run: WetRun
) -> None:
    wet_run.document["course"] = COURSE
    wet_run.save()
    mine, hers = one_more(reed, wet_run), one_more(ash, wet_run)
    for form in (mine, mine):
        form.send(time="15.75", **{"source-0": "322"})
    hers.send(time="15.86", way="back", **{"source-0": "321"})
    runs = WetRun.objects.get(pk=wet_run.pk).document["course"]["run"]
    assert [(one["way"], one["time"]) for one in runs] == [("out", "15.75 s"), ("back", "15.86 s")]


def test_a_bad_run_stays_in_its_boxes_with_the_sentence_at_the_box(reed: Client, wet_run: WetRun) -> None:
    wet_run.document["course"] = COURSE
    wet_run.save()
    page = one_more(reed, wet_run).send(time="15.75 psi", **{"source-0": "many", "source-1": "12.9"}).content.decode()
    assert 'value="15.75 psi"' in page
    assert 'value="many"' in page
    assert page.count('class="wrong-words"') == 2
    assert "run" not in WetRun.objects.get(pk=wet_run.pk).document["course"]


def test_a_course_is_made_ready_before_anything_is_driven(reed: Client, wet_run: WetRun) -> None:
    sheet = Form(reed, address(wet_run, "course"))
    answer = sheet.send(**{"sheet.length": "300", "sheet.source.n0.name": "GPS", "sheet.source.n0.kind": "GPS"})
    assert answer.status_code == 302
    assert WetRun.objects.get(pk=wet_run.pk).document["course"]["length"] == "300 ft"
    assert "keeps this run from being judged" not in reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()


def test_a_boom_that_pulses_is_caught_again_at_low_duty_and_only_there(
    reed: Client, wet_run: WetRun, machine: Machine
) -> None:
    assert "Catch at low duty" not in reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    pulse = {"frequency": "15 Hz", "set_pressure": "44 psi", "duty_from": "flow meter"}
    machine.document = SMALL | {"control": {"loop": "pulse width", "pulse": pulse}}
    machine.save()
    wet_run.document["catch"] |= {"time": "30 s", "jug": "0.2 fl oz"}
    wet_run.save()
    assert "Catch at low duty" in reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    boom_of(reed, wet_run).send(**{f"catch__readings__{n}": "25.6" for n in range(1, 11)})
    Form(reed, address(wet_run, "low-duty")).send(sheet__duty="35", sheet__time="60 s")
    low = Form(reed, address(wet_run, "low-duty"), kind="sheet tips-sheet")
    given = {f"catch__low__readings__{n}": "17.9" for n in range(1, 11)} | {"catch__low__readings__4": "9.0"}
    assert low.send(**given).status_code == 302
    kept = document_of(WetRun.objects.get(pk=wet_run.pk))["catch"]
    assert (kept["low"]["duty"], kept["low"]["readings"]["4"], kept["readings"]["4"]) == ("35 %", "9.0", "25.6")
    page = reed.get(address(wet_run, "low-duty")).content.decode()
    assert "At duty 35 %" in page
    assert "tip 4" in page.lower()


def test_no_water_flows_before_every_gate_is_confirmed_and_every_test_says_so(reed: Client, wet_run: WetRun) -> None:
    for page in ("", "course/", "catch/", "steady/"):
        assert "No water yet." in reed.get(f"/wet-runs/{wet_run.pk}/{page}").content.decode()
    seen = {"last_product": "UAN 32; rinsed three times", "where_water_lands": "gravel yard", "backflow": "air gap"}
    sure = dict.fromkeys(("overhead_lines", "nobody_under_boom", "cautions_read"), True)
    wet_run.document["gates"] = {"by": "A. Reed", **seen, **sure}
    wet_run.save()
    for page in ("", "course/", "catch/", "steady/"):
        text = reed.get(f"/wet-runs/{wet_run.pk}/{page}").content.decode()
        assert "No water yet." not in text
    assert "Nobody under a boom" in reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()


def test_a_reading_at_a_place_no_file_has_is_told_and_keeps_nothing_else_from_being_looked_at(
    reed: Client, wet_run: WetRun, branch: Branch
) -> None:
    keep_reading(wet_run, TypedReading(uuid4(), "soup.of.day", "12", timezone.now()), make_user(branch, login="dev"))
    page = reed.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    assert "soup.of.day" in page
    assert "A wet-run file has no such place." in page
    assert reed.get(address(wet_run, "catch")).status_code == 200
