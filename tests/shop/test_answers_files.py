"""Files in and out: what was handed in comes out as it was, and the command line reads it to the same numbers."""

from __future__ import annotations

import io
import tomllib
import zipfile
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.shop_cases import (
    DEMO,
    demo,
    make_branch,
    make_catalogue,
    make_changeover,
    make_season,
    make_user,
    make_wet_run,
    season_document,
)
from tests.shop_files import SMALL_SEASON, small_season_text

from wetrun.documents.season_file import read_season
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.errors import InputProblems
from wetrun.papers.reader import Reader
from wetrun.proving.session import wet_run_result
from wetrun.quantity import System
from wetrun.shop.accounts.desk import Desk, desk_of
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.files import (
    changeover_from,
    changeover_text,
    keep_season,
    keep_test,
    season_from,
    season_text,
    wet_run_from,
    wet_run_text,
    write_zip,
)
from wetrun.shop.answers.laid_out import toml_text
from wetrun.shop.answers.wet_runs import data_of, judge
from wetrun.shop.document_field import document_of, document_text
from wetrun.shop.records.models import Customer, Machine, Season, WetRun

EXAMPLES = {
    kind: (files("wetrun.documents") / f"example_{kind}.toml").read_text()
    for kind in ("season", "wetrun", "changeover")
}


@pytest.fixture
def desk(branch: Branch) -> Desk:
    return desk_of(make_user(branch), branch.pk)


def demo_text(name: str) -> str:
    return (DEMO / name).read_text(encoding="utf-8")


def kept_season(text: str, desk: Desk) -> Season:
    return Season.objects.get(pk=keep_season(season_from(text, desk, "season.toml"), desk).pk)


@pytest.mark.django_db
@pytest.mark.parametrize("text", [demo_text("season.toml"), EXAMPLES["season"], SMALL_SEASON])
def test_a_season_file_comes_out_as_it_went_in_comments_and_all(text: str, desk: Desk) -> None:
    season = kept_season(text, desk)
    assert season_text(season) == text
    season.received = ""
    assert tomllib.loads(season_text(season)) == tomllib.loads(text)
    # TOML itself wants plain values before tables; among each other both keep their order.
    given, written = (tomllib.loads(each)["pass"][0] for each in (text, season_text(season)))
    for kind in (dict, str):
        assert [key for key in written if isinstance(written[key], kind)] == [
            key for key in given if isinstance(given[key], kind)
        ]


@pytest.mark.django_db
@pytest.mark.parametrize("text", [demo_text("wetrun.toml"), EXAMPLES["wetrun"]])
def test_a_wet_run_file_comes_out_as_it_went_in(text: str, machine: Machine, desk: Desk) -> None:
    make_catalogue(machine.branch)
    make_season(machine)
    run = keep_test(wet_run_from(text, machine, "wetrun.toml"), desk)
    run = WetRun.objects.get(pk=run.pk)
    run.received = ""
    assert tomllib.loads(wet_run_text(run)) == tomllib.loads(text)


@pytest.mark.django_db
@pytest.mark.parametrize("text", [demo_text("changeover.toml"), EXAMPLES["changeover"]])
def test_a_changeover_file_comes_out_as_it_went_in(text: str, machine: Machine, desk: Desk) -> None:
    make_season(machine)
    changeover = keep_test(changeover_from(text, machine, "changeover.toml"), desk)
    changeover.refresh_from_db()
    changeover.received = ""
    assert tomllib.loads(changeover_text(changeover)) == tomllib.loads(text)  # type: ignore[arg-type]


@pytest.mark.django_db
def test_customer_and_machine_are_found_by_name_however_it_is_typed(desk: Desk, branch: Branch) -> None:
    first = kept_season(SMALL_SEASON, desk)
    again = small_season_text(
        **{"Two Creeks": "two  creeks", "Number 2, 12 m": "NUMBER 2, 12 m", "2027-04-30": "2027-05-02"}
    )
    proposal = season_from(again, desk, "spring.toml")
    assert (proposal.is_new_customer, proposal.is_new_machine, proposal.is_new_season) == (False, False, False)
    assert [str(one) for one in proposal.season_changes] == ["pass[1].last was 2027-04-30, becomes 2027-05-02"]
    assert [one.key for one in proposal.machine_changes] == ["name"]
    keep_season(proposal, desk)
    assert (Customer.objects.count(), Machine.objects.count(), Season.objects.count()) == (1, 1, 1)
    first.refresh_from_db()
    assert first.received == again
    assert str(first.last_day) == "2027-06-10"


@pytest.mark.django_db
def test_a_customer_of_the_same_name_in_another_branch_is_somebody_else(desk: Desk) -> None:
    kept_season(SMALL_SEASON, desk)
    other = make_branch("South yard")
    proposal = season_from(SMALL_SEASON, desk_of(make_user(other), other.pk), "season.toml")
    assert proposal.is_new_customer
    assert proposal.words[0] == "Customer “Two Creeks” is new."


@pytest.mark.django_db
def test_the_same_file_twice_changes_nothing(desk: Desk) -> None:
    kept_season(SMALL_SEASON, desk)
    proposal = season_from(SMALL_SEASON, desk, "season.toml")
    assert proposal.words == ("Nothing is another than it is.",)
    assert proposal.machine_changes == proposal.season_changes == ()


@pytest.mark.django_db
def test_a_file_with_mistakes_is_kept_with_them_counted(desk: Desk) -> None:
    text = small_season_text(**{'rate = "200 L/ha"': 'rate = "200 L/hat"', 'tip = "iso-11004-pre"': 'tip = "nothing"'})
    proposal = season_from(text, desk, "season.toml")
    assert {one.key for one in proposal.problems} == {"pass[1].rate (“Spring”)", "machine.owned[1].tip"}
    season = keep_season(proposal, desk)
    assert season.problems == 2
    assert season_text(season) == text


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "customer.name"),
        ("title = ", "line 1, column 1"),
        ("x" * 5_100_000, "5 MB at most"),
        ("a\x00b = 1", "line 1"),
        ("[" * 5000, "cannot be read"),
        ("a" + ".a" * 5000 + " = 1", "deep in each other"),
        (SMALL_SEASON.replace("format_version = 1", "format_version = 9"), "Use a newer Wetrun"),
        (SMALL_SEASON.replace("most_sets = 1", "most_sets = nan"), "a number with an end"),
        (SMALL_SEASON.replace("most_sets = 1", "most_sets = 0x" + "f" * 9000), "so many digits"),
        (SMALL_SEASON.replace("Small season", "Small\\u0000season"), "a zero byte"),
        (SMALL_SEASON.replace('name = "Two Creeks"', ""), "customer.name"),
    ],
)
def test_a_hostile_file_is_refused_in_a_sentence_and_leaves_nothing(text: str, said: str, desk: Desk) -> None:
    with pytest.raises(InputProblems) as refused:
        season_from(text, desk, "season.toml")
    assert said in str(refused.value)
    assert not Customer.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "name", ["/etc/passwd", "../tips.csv", "C:\\\\tips.csv", "a//b.csv", "~/tips.csv", ".hidden", "season.toml"]
)
def test_a_name_that_leads_out_is_told_and_nothing_is_read_there(name: str, desk: Desk) -> None:
    text = SMALL_SEASON.replace("[plan]", f'[plan]\ncatalogue = "{name}"')
    (problem,) = season_from(text, desk, "season.toml").problems
    assert problem.key == "plan.catalogue"
    assert "hand the file in under it" in problem.remedy


@pytest.mark.django_db
def test_a_wet_run_file_with_its_own_machine_changes_the_machine_it_is_handed_in_for(
    desk: Desk, branch: Branch
) -> None:
    season = kept_season(SMALL_SEASON, desk)
    machine = season.machine
    machine.document |= {"fill": {"usable": "900 L"}}
    machine.save()
    own = demo("wetrun.toml")
    del own["season"], own["pass"]
    own["machine"] = tomllib.loads(SMALL_SEASON)["machine"] | {"tank": "1200 L"}
    proposal = wet_run_from(toml_text(own), machine, "wetrun.toml")
    assert [str(one) for one in proposal.machine_changes] == ['tank was "1000 L", becomes "1200 L"']
    kept = keep_test(proposal, desk)
    machine.refresh_from_db()
    assert machine.document["tank"] == "1200 L"
    assert machine.document["fill"] == {"usable": "900 L"}
    assert kept.season is None
    kept.received = ""
    assert tomllib.loads(wet_run_text(kept)) == own  # type: ignore[arg-type]


@pytest.mark.django_db
def test_a_wet_run_file_that_names_a_season_needs_one(desk: Desk, machine: Machine) -> None:
    with pytest.raises(InputProblems, match="no season to stand on"):
        wet_run_from(demo_text("wetrun.toml"), machine, "wetrun.toml")


@pytest.mark.django_db
def test_the_command_line_reads_what_is_handed_out_to_the_same_numbers(machine: Machine, tmp_path: Path) -> None:
    make_catalogue(machine.branch)
    season = make_season(machine)
    run = make_wet_run(machine, season)
    make_changeover(machine, season)
    judge(run)
    opened = io.BytesIO()
    write_zip(season, opened)
    with zipfile.ZipFile(opened) as packed:
        packed.extractall(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "changeover-soybeans-to-corn-july.toml",
        "season.toml",
        "tips.csv",
        "wetrun-before-the-season.toml",
    ]
    assert [one.ident for one in read_season(tmp_path / "season.toml").season.passes] == [
        one["name"] for one in season_document()["pass"]
    ]
    file = read_wetrun(tmp_path / "wetrun-before-the-season.toml")
    result = wet_run_result(file.run, pressure_words=Reader(System.US).difference)
    assert data_of(result, System.US, machine.branch.name) == run.in_us
    assert data_of(result, System.SI, machine.branch.name) == run.in_si


@pytest.mark.django_db
def test_a_zip_of_the_same_records_has_the_same_bytes(machine: Machine) -> None:
    season = make_season(machine)
    first, second = io.BytesIO(), io.BytesIO()
    write_zip(season, first)
    write_zip(season, second)
    assert first.getvalue() == second.getvalue()


PLAIN = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20),
    st.integers(-(2**63) + 1, 2**63 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.times(),
)
KEYS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12)
TABLES = st.recursive(
    PLAIN,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=8,
)


@pytest.mark.django_db
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(extra=st.dictionaries(KEYS, TABLES, max_size=4), at=st.sampled_from(["season", "pass", "machine"]))
def test_whatever_else_a_file_holds_comes_out_as_it_went_in(extra: dict[str, Any], at: str, desk: Desk) -> None:
    document = tomllib.loads(SMALL_SEASON)
    place = {"season": document, "pass": document["pass"][0], "machine": document["machine"]}[at]
    place.update({key: value for key, value in extra.items() if key not in place})
    text = toml_text(document)
    season = season_from(text, desk, "season.toml").season
    season.received = ""
    # As the database would give them back.
    season.document = document_of(document_text(season.document))
    season.machine.document = document_of(document_text(season.machine.document))
    assert tomllib.loads(season_text(season)) == tomllib.loads(text)
