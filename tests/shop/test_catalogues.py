"""The tips of a branch: handed in whole or not at all, replaced by name, shown with the core's own numbers."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import DEMO, make_catalogue, make_customer, make_machine, make_season

from wetrun.documents.carrier_words import carrier_named
from wetrun.documents.catalogue_file import catalogue_template, read_catalogue
from wetrun.machine.catalogue import catalogue as generic_catalogue
from wetrun.machine.catalogue import tip_named
from wetrun.papers.reader import Reader
from wetrun.papers.tip_data import tip_data, tip_line
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.jobs.handlers import handler_of
from wetrun.shop.jobs.models import Job
from wetrun.shop.records.models import Catalogue, Machine, Season, TipPlan, Trail

TEXT = (DEMO / "tips.csv").read_text(encoding="utf-8")
TIPS = read_catalogue(DEMO / "tips.csv")
BAD = TEXT.replace("air induction,40,0.402", "air injection,40,4.02", 1)
HEADER = (
    "ident,name,size,angle,family,pressure (psi),flow (gal/min),class,min_pressure,max_pressure,price,pulse,height_rule"
)


@pytest.fixture
def tips(branch: Branch) -> Catalogue:
    return make_catalogue(branch)


@pytest.fixture
def season(machine: Machine) -> Season:
    return make_season(machine)


def upload(text: str | bytes, name: str = "tips.csv") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, text.encode() if isinstance(text, str) else text)


def words(page: str) -> str:
    """A page as it is read: no markup, entities undone, white space as one blank."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", page)).split())


def shown(client: Client, address: str, **asked: str) -> str:
    return words(client.get(address, asked).content.decode())


def test_a_file_handed_in_is_kept_as_it_is_and_its_tips_are_counted(specialist: Client, branch: Branch) -> None:
    answer = specialist.post("/catalogues/import/", {"file": upload(TEXT, "north tips.csv")})
    kept = Catalogue.objects.get()
    assert answer["Location"] == f"/catalogues/{kept.pk}/"
    assert (kept.branch, kept.name, kept.text, kept.tips) == (branch, "north tips.csv", TEXT, len(TIPS))
    line = Trail.objects.get(kind="Catalogue", key=str(kept.pk))
    assert line.by == kept.made_by is not None
    given = specialist.get(f"/catalogues/{kept.pk}/file.csv")
    assert given.content.decode() == TEXT
    assert given["Content-Disposition"] == 'attachment; filename="north tips.csv"'


def test_lines_ended_by_a_spreadsheet_come_back_as_they_were(specialist: Client) -> None:
    raw = TEXT.replace("\n", "\r\n").encode()
    specialist.post("/catalogues/import/", {"file": upload(raw)})
    kept = Catalogue.objects.get()
    assert specialist.get(f"/catalogues/{kept.pk}/file.csv").content == raw


def test_a_spreadsheet_s_older_letters_are_understood(specialist: Client) -> None:
    text = TEXT.replace("Saltlick", "Größe")
    specialist.post("/catalogues/import/", {"file": upload(text.encode("cp1252"))})
    assert Catalogue.objects.get().text == text


def test_pasted_text_is_taken_in_under_the_name_it_is_given(specialist: Client) -> None:
    sent = {"text": TEXT.replace("\n", "\r\n"), "name": "  pasted.csv "}
    specialist.post("/catalogues/import/", sent)
    kept = Catalogue.objects.get()
    assert (kept.name, kept.text) == ("pasted.csv", TEXT)


@pytest.mark.parametrize("sent", ["pasted", "uploaded"])
def test_all_that_is_wrong_is_told_at_once_and_nothing_is_lost(specialist: Client, sent: str) -> None:
    data = {"name": "tips.csv"} | ({"text": BAD} if sent == "pasted" else {"file": upload(BAD)})
    answer = specialist.post("/catalogues/import/", data)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert not Catalogue.objects.exists()
    told = words(page)
    assert "row 3, family" in told
    assert "“air injection”" in told
    assert "no family is called that" in told
    assert "1 things" not in told
    assert html.escape(BAD.splitlines()[2]) in page
    assert 'value="tips.csv"' in page


def test_each_problem_stands_in_its_own_row_with_what_to_do(specialist: Client) -> None:
    lines = [HEADER, "a-tip,,04,110,flat fan,forty,0.40,,,,,,", "a-tip,,04,110,flat fan,60 psi,0.49,Q,,,x,,"]
    page = specialist.post("/catalogues/import/", {"text": "\n".join(lines), "name": "a.csv"}).content.decode()
    rows = re.findall(r'<tr><th scope="row">(row \d, \w+)</th>(.*?)</tr>', page)
    assert [place for place, _ in rows] == ["row 2, pressure", "row 3, class", "row 3, price"]
    assert all(len(re.findall(r"<td[^>]*>[^<–]+</td>", rest)) == 3 for _, rest in rows)


def test_a_table_misread_whole_is_cut_short_and_says_by_how_much(specialist: Client) -> None:
    text = "\n".join([HEADER, *(f"t-{n},,04,110,flat fan,odd,0.40,,,,,," for n in range(450))])
    page = specialist.post("/catalogues/import/", {"text": text, "name": "a.csv"}).content.decode()
    assert page.count('<tr><th scope="row">row ') == 300
    assert "And 150 more." in words(page)


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({}, "Choose a file, or paste its text below."),
        ({"text": TEXT}, "Give it a name"),
        ({"text": TEXT, "name": "../tips.csv"}, "it leads out of the folder"),
        ({"text": TEXT, "name": "season.toml"}, "it is the name of the file itself"),
        ({"text": "x" * (1024**2 + 1), "name": "tips.csv"}, "It is larger than"),
        ({"file": upload(b"\x00\x01binary")}, "the file is binary: byte 1 is zero"),
        ({"file": upload(b"", "empty.csv")}, "The submitted file is empty."),
    ],
    ids=["nothing", "no name", "name that leads out", "name of ours", "too large", "binary", "empty"],
)
def test_what_is_no_tip_file_is_refused_in_words(specialist: Client, sent: dict[str, object], said: str) -> None:
    answer = specialist.post("/catalogues/import/", sent)
    assert answer.status_code == 200
    assert said in words(answer.content.decode())
    assert not Catalogue.objects.exists()


def test_a_newer_file_takes_the_place_of_the_older_and_says_whose_plans_rest_on_it(
    specialist: Client, tips: Catalogue, season: Season
) -> None:
    TipPlan.objects.create(branch=season.branch, season=season, digest="x", method="m", in_us={}, in_si={})
    newer = TEXT.replace("9.40", "9.90")
    answer = specialist.post(
        "/catalogues/import/", {"file": upload(newer), "name": "tips.csv", "over": str(tips.pk)}, follow=True
    )
    tips.refresh_from_db()
    stands = Catalogue.objects.get(replaced_at=None)
    assert tips.replaced_at is not None
    assert (tips.text, stands.text) == (TEXT, newer)
    told = words(answer.content.decode())
    assert f"1 season uses it; its tip plan is out of date until it is made again: {season.machine.name}" in told
    assert "Its tip plan was made before this file was handed in." in told
    assert "9.90" in told
    assert "Other files of this name" in told
    assert f"“tips.csv” is taken in: {len(TIPS)} tips." in told


def test_a_season_that_names_another_file_is_not_told_of(
    specialist: Client, tips: Catalogue, season: Season, other_branch: Branch
) -> None:
    season.document["plan"]["catalogue"] = "other.csv"
    season.save()
    make_season(make_machine(make_customer(other_branch)))
    assert "None." in shown(specialist, f"/catalogues/{tips.pk}/")
    assert "Take it out of use" in shown(specialist, f"/catalogues/{tips.pk}/")


def test_a_season_names_a_file_however_it_was_typed_and_never_one_that_is_only_called_alike(
    specialist: Client, tips: Catalogue, season: Season
) -> None:
    for typed, uses in ((" tips.csv ", True), ("my tips.csv", False), ("TIPS.CSV", False), ("tips.csv", True)):
        season.document["plan"]["catalogue"] = typed
        season.save()
        told = shown(specialist, f"/catalogues/{tips.pk}/")
        assert (season.machine.name in told) is uses, typed


def test_of_very_many_seasons_those_with_an_old_plan_come_first(
    specialist: Client, tips: Catalogue, machine: Machine
) -> None:
    seasons = [make_season(machine) for _ in range(45)]
    for n, one in enumerate(seasons):
        Season.objects.filter(pk=one.pk).update(title=f"Season no. {n}")
    plan = TipPlan.objects.create(branch=machine.branch, season=seasons[0], digest="x", method="m", in_us={}, in_si={})
    TipPlan.objects.filter(pk=plan.pk).update(made_at=tips.made_at - timedelta(days=1))
    told = shown(specialist, f"/catalogues/{tips.pk}/")
    listed = told[told.index("Seasons that use it") :]
    assert listed.index("Season no. 0 ") < listed.index("Season no. 44 ")
    assert listed.count("Season no.") == 40
    assert "And 5 more." in listed


def test_a_name_that_stands_is_asked_back_before_it_is_replaced(specialist: Client, tips: Catalogue) -> None:
    newer = TEXT.replace("9.40", "9.90")
    page = specialist.post("/catalogues/import/", {"file": upload(newer)}).content.decode()
    assert Catalogue.objects.get().text == TEXT
    assert "A file of that name stands already." in words(page)
    assert f'name="over" value="{tips.pk}"' in page
    assert "saltlick-04-ai,Saltlick 110-04 air induction,04,110,air induction,30,0.348,UC,30 psi,100 psi,9.90," in page
    specialist.post("/catalogues/import/", {"text": newer, "name": "tips.csv", "over": str(tips.pk)})
    assert Catalogue.objects.get(replaced_at=None).text == newer


def test_of_two_who_replace_a_file_the_second_is_asked_back(specialist: Client, tips: Catalogue) -> None:
    sent = {"name": "tips.csv", "over": str(tips.pk)}
    specialist.post("/catalogues/import/", {**sent, "text": TEXT.replace("9.40", "9.90")})
    specialist.post("/catalogues/import/", {**sent, "text": TEXT.replace("9.40", "9.99")})
    assert "9.90" in Catalogue.objects.get(replaced_at=None).text


def test_the_same_text_again_changes_nothing(specialist: Client, tips: Catalogue) -> None:
    answer = specialist.post("/catalogues/import/", {"file": upload(TEXT)}, follow=True)
    assert Catalogue.objects.get().pk == tips.pk
    assert "Nothing changed" in words(answer.content.decode())
    assert not Trail.objects.exists()


def test_what_is_not_right_in_seasons_is_counted_again_after_their_file_was_replaced(
    specialist: Client, tips: Catalogue, season: Season
) -> None:
    season.document["plan"]["fit"] = ["saltlick-04-ai"]
    season.save()
    less = "\n".join(line for line in TEXT.splitlines() if not line.startswith("saltlick-04-ai"))
    specialist.post("/catalogues/import/", {"text": less, "name": "tips.csv", "over": str(tips.pk)})
    job = Job.objects.get(kind="recount")
    assert job.args == {"machines": [season.machine_id]}

    class Under:
        args, branch = job.args, job.branch

        def progress(self, *_: object) -> None:
            return

    handler_of("recount")(Under())  # type: ignore[arg-type]
    before = season.problems
    season.refresh_from_db()
    assert season.problems > before


def test_a_file_in_use_stays_and_one_that_nobody_uses_can_be_taken_out(
    specialist: Client, tips: Catalogue, season: Season
) -> None:
    answer = specialist.post(f"/catalogues/{tips.pk}/", follow=True)
    assert "“tips.csv” stays, because it is in use." in words(answer.content.decode())
    season.delete()
    specialist.post(f"/catalogues/{tips.pk}/")
    tips.refresh_from_db()
    assert tips.replaced_at is not None
    assert "None yet." in shown(specialist, "/catalogues/")
    assert specialist.post(f"/catalogues/{tips.pk}/").status_code == 403
    assert "Out of use since" in shown(specialist, f"/catalogues/{tips.pk}/")


@pytest.mark.parametrize("system", list(System))
def test_the_list_of_tips_shows_the_core_s_numbers(specialist: Client, tips: Catalogue, system: System) -> None:
    User.objects.update(units=system.value)
    told = shown(specialist, f"/catalogues/{tips.pk}/")
    for tip in TIPS:
        line = tip_line(tip, Reader(system))
        for key in ("words", "ident", "range", "flow", "price", "family"):
            assert line[key] in told
        assert all(f"{one['letters']} {one['at']}" in told for one in line["classes"])
    assert "maker's class rows" in told


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"q": "-04"}, {f"saltlick-04-{kind}" for kind in ("ai", "end", "ff", "pre")}),
        ({"family": "PRE_ORIFICE", "q": "SALTLICK 05"}, {"saltlick-05-pre"}),
        ({"q": "110-06", "family": "AIR_INDUCTION"}, {"saltlick-06-ai"}),
        ({"q": "", "family": "nonsense"}, {tip.ident for tip in TIPS}),
        ({"q": "cone"}, set()),
    ],
    ids=["by_size", "by_words_and_family", "by_angle_and_family", "a_family_nobody_has", "nothing_called_that"],
)
def test_tips_are_found_by_words_and_family(
    specialist: Client, tips: Catalogue, asked: dict[str, str], found: set[str]
) -> None:
    page = specialist.get(f"/catalogues/{tips.pk}/", asked).content.decode()
    assert set(re.findall(r"\?tip=([^\"]+)", page)) == found
    assert ("No tip here is called that." in page) == (not found)


def test_a_long_list_comes_a_page_at_a_time(specialist: Client) -> None:
    first = specialist.get("/catalogues/generic/").content.decode()
    last = specialist.get("/catalogues/generic/", {"page": "2"}).content.decode()
    assert first.count("?tip=") == 50
    assert last.count("?tip=") == len(generic_catalogue()) - 50
    assert "Tips marked generic stand in" in words(first)


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("liquid", ["water", "UAN 28"])
def test_one_tip_is_shown_over_its_pressures_as_the_core_says(
    specialist: Client, tips: Catalogue, system: System, liquid: str
) -> None:
    User.objects.update(units=system.value)
    told = shown(specialist, f"/catalogues/{tips.pk}/tip/", tip="saltlick-04-ai", carrier=liquid)
    said = tip_data(tip_named(TIPS, "saltlick-04-ai"), carrier_named(liquid), Reader(system))
    for row in said["rows"]:
        assert f"{row['pressure']} {row['flow']} {row['letters']} {row['sure']} {row['authority']}" in told
    assert f"With {liquid}, {said['density']}." in told
    assert said["origin"] in told
    assert "Droplet classes are for clean water" in told


def test_a_generic_tip_says_that_it_is_one_and_on_whose_word_its_range_is(specialist: Client) -> None:
    told = shown(specialist, "/catalogues/generic/tip/", tip="iso-11004-ai")
    assert "Import the maker's own rows before you order or spray." in told
    assert "(from memory)" in told
    assert "family default" in told


def test_a_density_as_weighed_goes_before_the_liquid_s_name(specialist: Client) -> None:
    told = shown(specialist, "/catalogues/generic/tip/", tip="iso-11004-ff", carrier="water", density="11.2")
    assert "With a liquid as weighed, 11.20 lb/gal." in told


def test_a_density_that_cannot_be_is_told_and_stays_as_typed(specialist: Client) -> None:
    asked = {"tip": "iso-11004-ff", "carrier": "UAN 28", "density": "heavy"}
    page = specialist.get("/catalogues/generic/tip/", asked).content.decode()
    assert 'value="heavy"' in page
    assert page.count('class="wrong-words"') == 1
    assert "“heavy”" in words(page)


def test_a_tip_that_is_not_in_the_file_is_not_there(specialist: Client, tips: Catalogue) -> None:
    assert specialist.get(f"/catalogues/{tips.pk}/tip/", {"tip": "iso-11004-ff"}).status_code == 404
    assert specialist.get(f"/catalogues/{tips.pk}/tip/").status_code == 200


def test_a_name_with_markup_stays_a_name(specialist: Client, branch: Branch) -> None:
    text = TEXT.replace("Saltlick 110-04 air induction", "<b>04</b> & more").replace("saltlick-04-ai", "a/b?c=<d>&e")
    Catalogue.objects.create(branch=branch, name="odd.csv", text=text, tips=len(TIPS))
    kept = Catalogue.objects.get()
    page = specialist.get(f"/catalogues/{kept.pk}/").content.decode()
    assert "<b>04</b>" not in page
    (link,) = re.findall(r'href="([^"]*\?tip=a%2F[^"]*)"', page)
    assert "a/b?c=<d>&e" in words(specialist.get(html.unescape(link)).content.decode())


def test_what_an_older_wetrun_took_in_and_is_refused_now_shows_what_is_wrong(
    specialist: Client, branch: Branch
) -> None:
    kept = Catalogue.objects.create(branch=branch, name="old.csv", text=BAD, tips=len(TIPS))
    told = shown(specialist, f"/catalogues/{kept.pk}/")
    assert "row 3, family" in told
    assert specialist.get(f"/catalogues/{kept.pk}/tip/").status_code == 404


def test_the_template_is_taken_in_as_it_stands(specialist: Client) -> None:
    text = specialist.get("/catalogues/template.csv").content.decode()
    assert text == catalogue_template()
    specialist.post("/catalogues/import/", {"text": text, "name": "template.csv"})
    assert Catalogue.objects.get().tips == 2


@pytest.mark.parametrize("count", [1, 40])
def test_the_list_of_files_asks_as_often_for_many_as_for_one(
    specialist: Client, branch: Branch, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        Catalogue.objects.create(branch=branch, name=f"tips {n}.csv", text=TEXT, tips=len(TIPS))
    specialist.get("/catalogues/")
    with django_assert_num_queries(5):
        specialist.get("/catalogues/")


@pytest.mark.parametrize("count", [1, 40])
def test_a_file_s_page_asks_as_often_for_many_seasons_as_for_one(
    specialist: Client, tips: Catalogue, machine: Machine, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(count):
        made = make_season(machine)
        TipPlan.objects.create(branch=made.branch, season=made, digest="x", method="m", in_us={}, in_si={})
    specialist.get(f"/catalogues/{tips.pk}/")
    with django_assert_num_queries(8):
        page = specialist.get(f"/catalogues/{tips.pk}/").content.decode()
    assert page.count("Its tip plan was made before") == 0


def test_another_branch_s_file_is_not_there(
    stranger: Client, specialist: Client, tips: Catalogue, other_branch: Branch
) -> None:
    for address in ("", "tip/", "file.csv"):
        assert stranger.get(f"/catalogues/{tips.pk}/{address}").status_code == 404
    assert stranger.post(f"/catalogues/{tips.pk}/").status_code == 404
    Catalogue.objects.create(branch=other_branch, name="far.csv", text=TEXT, tips=len(TIPS))
    assert "far.csv" not in shown(specialist, "/catalogues/")
    stranger.post("/catalogues/import/", {"file": upload(TEXT.replace("9.40", "9.90")), "over": str(tips.pk)})
    tips.refresh_from_db()
    assert tips.replaced_at is None


def test_a_viewer_sees_every_tip_and_no_buttons(viewer: Client, tips: Catalogue) -> None:
    for address in ("/catalogues/", f"/catalogues/{tips.pk}/", "/catalogues/generic/"):
        page = viewer.get(address)
        assert page.status_code == 200
        assert "/import/" not in page.content.decode()
        assert "Take it out of use" not in page.content.decode()
    assert viewer.get("/catalogues/import/").status_code == 403
    assert viewer.post("/catalogues/import/", {"file": upload(TEXT)}).status_code == 403
    assert viewer.post(f"/catalogues/{tips.pk}/").status_code == 403
