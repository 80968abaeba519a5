"""The demo: an invented branch whose board tells something, and sign-ins nobody can guess."""

from __future__ import annotations

import tomllib
from datetime import date, timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command
from pytest_django import Settings

from wetrun.errors import InputProblems
from wetrun.planning.readiness import Standing
from wetrun.shop.accounts.desk import desk_of
from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.demo import files
from wetrun.shop.demo.documents import machine_document, season_document, wet_run_document
from wetrun.shop.demo.farms import FARMS, Stage
from wetrun.shop.demo.people import PEOPLE, make_people
from wetrun.shop.folder import SIGN_INS_FILE
from wetrun.shop.jobs.models import Job
from wetrun.shop.records.models import Customer, FieldLog, FilledLoad, TipPlan, WetRun
from wetrun.shop.records.readiness import machines_by_first_day, stands_of

ROOT = Path(__file__).parents[2]


@pytest.fixture
def data(tmp_path: Path, settings: Settings) -> Path:
    settings.DATA, settings.UPLOADS, settings.LEDGERS = tmp_path, tmp_path / "uploads", tmp_path / "ledgers"
    return tmp_path


def sign_ins(file: Path) -> dict[str, str]:
    rows = [line.split() for line in file.read_text().splitlines()[1:] if line.strip()]
    return {row[0]: row[1] for row in rows}


def test_every_machine_stands_where_the_demo_puts_it(data: Path, db: None) -> None:
    said = StringIO()
    call_command("load_demo", stdout=said)
    desk = desk_of(User.objects.get(login="specialist"), None)
    stands = {one.machine.customer.name: one for one in stands_of(machines_by_first_day(desk), desk.today)}
    done = {name: sum(s.standing is Standing.DONE for s in one.readiness.stations) for name, one in stands.items()}
    assert done == {
        "Tall Reed Acres": 7,
        "Copper Slough Farms": 5,
        "Seven Gates Custom": 2,
        "Low Fork Farm": 1,
        "Windbreak Grain": 1,
        "Hedge Apple Farm": 1,
        "Clay Bottom Farm": 0,
        "Quarry Hill Acres": 0,
    }
    stopped = {
        name for name, one in stands.items() if any(s.standing is Standing.STOPS for s in one.readiness.stations)
    }
    assert stopped == {"Clay Bottom Farm", "Copper Slough Farms", "Low Fork Farm"}
    assert [one.proof.value for one in stands["Copper Slough Farms"].lapsed] == ["meter number"]
    assert FilledLoad.objects.filter(machine__customer__name="Low Fork Farm").count() == 4
    assert {run.verdict for run in WetRun.objects.filter(machine__customer__name="Tall Reed Acres")} == {"pass"}
    own = WetRun.objects.get(machine__customer__name="Low Fork Farm")
    assert own.verdict == "fail"
    assert "tip 23" in own.sentence
    assert {log.state for log in FieldLog.objects.all()} == {"ready"}
    assert list(Job.objects.values_list("kind", "state")) == [("changeover", "waiting")]
    first_days = [one.season.first_day for one in stands.values() if one.season and one.season.first_day]
    assert min(first_days) > desk.today
    counts = (User.objects.count(), Customer.objects.count(), TipPlan.objects.count())
    call_command("load_demo", stdout=said)
    assert "the demo was not loaded" in said.getvalue()
    assert counts == (User.objects.count(), Customer.objects.count(), TipPlan.objects.count())
    assert sorted(sign_ins(data / SIGN_INS_FILE)) == sorted(login for login, _, _ in PEOPLE)


def test_each_of_its_people_signs_in_with_a_password_drawn_by_chance(data: Path, db: None) -> None:
    file = data / SIGN_INS_FILE
    desks = make_people(file)
    first = sign_ins(file)
    assert file.stat().st_mode & 0o777 == 0o600
    assert set(desks) == set(Role)
    for login, password in first.items():
        assert authenticate(None, username=login, password=password) == User.objects.get(login=login)
    User.objects.all().delete()
    Branch.objects.all().delete()
    make_people(file)
    assert set(first.values()).isdisjoint(sign_ins(file).values())
    assert len(set(first.values())) == len(PEOPLE)


def test_its_days_move_with_today_and_keep_their_distances() -> None:
    plain = tomllib.loads((ROOT / "demo" / "season.toml").read_text(encoding="utf-8"))
    moved = files.document_of("season.toml", date(2031, 2, 3))
    by = date(2031, 2, 3) - date(2027, 4, 15)
    assert [one["first"] - by for one in moved["pass"]] == [one["first"] for one in plain["pass"]]
    assert moved["pass"][2]["product"][0]["last"] - by == plain["pass"][2]["product"][0]["last"]
    assert moved["pass"][0]["rate"] == plain["pass"][0]["rate"]


@pytest.mark.parametrize("farm", FARMS, ids=lambda farm: farm.customer)
def test_a_boom_has_as_many_tips_everywhere_as_its_sections_hold(farm: object) -> None:
    from wetrun.shop.demo.farms import Farm

    assert isinstance(farm, Farm)
    machine = machine_document(farm, date(2030, 4, 1))
    tips = sum(machine["boom"]["sections"])
    assert machine["owned"][0]["count"] == tips
    assert machine["boom"]["odd"][0]["positions"] == f"1,{tips}"
    if farm.stage >= Stage.RUN:
        run = wet_run_document(farm, date(2030, 4, 1))
        assert len(run["catch"]["readings"]) == tips
        assert len(run["section"]) == len(run["monitor"]["as_left"]["section_width"]) == farm.sections
    if farm.passes:
        season = season_document(farm, date(2030, 4, 1))
        assert min(one["first"] for one in season["pass"]) == date(2030, 4, 1)
        assert all(one["last"] - one["first"] > timedelta(0) for one in season["pass"])


def test_where_its_files_are_missing_it_says_which(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert files.demo_folder() == ROOT / "demo"
    (tmp_path / "season.toml").touch()
    monkeypatch.setattr(files, "PLACES", (tmp_path,))
    with pytest.raises(InputProblems, match=r"missing: changeover\.toml, log_map\.toml, make_logs\.py, tips\.csv"):
        files.demo_folder()


def test_a_wheel_carries_every_file_of_it() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    carried = settings["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert carried == {f"demo/{name}": f"wetrun/shop/demo/files/{name}" for name in files.NAMES}
