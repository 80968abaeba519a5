"""Papers of records: set from what was kept, the same bytes each time; and the jobs that make what is kept."""

from __future__ import annotations

import pytest
from tests.shop_cases import make_branch, make_user
from tests.shop_files import (
    make_log,
    make_map,
    make_small_changeover,
    make_small_run,
    make_small_season,
)
from tests.shop_jobs import Clock, make_worker

from wetrun.documents.season_file import read_season
from wetrun.errors import InputProblems, NotDefined
from wetrun.papers.load_sheet_data import load_sheet_data
from wetrun.papers.measured_amount import marked_measures
from wetrun.papers.reader import Reader
from wetrun.planning.loads import load_plan
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.bench import bench
from wetrun.shop.answers.changeovers import changeover_of
from wetrun.shop.answers.laid_out import season_laid_out
from wetrun.shop.answers.loads import load_sheets_of
from wetrun.shop.answers.papers import PAPERS, Record, paper_of
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.tip_plans import keep_plan, standing_plan, tip_plan_of
from wetrun.shop.answers.wet_runs import judge
from wetrun.shop.jobs.asking import asked
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.records.models import FieldLog, Replay, Season, TipPlan

pytestmark = pytest.mark.django_db


@pytest.fixture
def season(branch: Branch) -> Season:
    return make_small_season(branch)


def printed(record: Record, which: str, system: System = System.SI, of_pass: str = "") -> tuple[str, bytes]:
    return paper_of(record, which, system=system, size="a4", shop="North yard", of_pass=of_pass)


def test_every_paper_of_a_plan_comes_out_of_what_was_kept(season: Season) -> None:
    plan = TipPlan.objects.get(pk=keep_plan(tip_plan_of(season), None).pk)
    Season.objects.update(document={})  # the season as it is now is not asked
    for system in System:
        assert printed(plan, "tip plan", system)[0] == "tip-plan.pdf"
        for which, of_pass, name, mark in (
            ("tip plan", "", "tip-plan.pdf", b"%PDF"),
            ("cab card", "Flag leaf", "cab-card-flag-leaf.pdf", b"%PDF"),
            ("lanes", "Flag leaf", f"lanes-flag-leaf-{system.value}.svg", b"<svg"),
        ):
            file, content = printed(plan, which, system, of_pass)
            assert file == name
            assert content.startswith(mark)
            assert printed(plan, which, system, of_pass) == (file, content)
    assert printed(plan, "tip plan", System.US) != printed(plan, "tip plan", System.SI)


def test_a_paper_bears_the_name_of_the_shop_that_prints_it(season: Season) -> None:
    plan = tip_plan_of(season)
    one, other = (
        paper_of(plan, "tip plan", system=System.SI, size="a4", shop=shop)[1] for shop in ("North yard", "South yard")
    )
    assert one != other


def test_a_wet_run_and_a_changeover_are_printed_with_their_pictures(season: Season) -> None:
    run, changeover = make_small_run(season), make_small_changeover(season)
    judge(run)
    changeover_of(changeover)
    for record, which, name, mark in (
        (run, "wet run", "wet-run.pdf", b"%PDF"),
        (run, "boom", "boom-si.svg", b"<svg"),
        (changeover, "changeover", "changeover.pdf", b"%PDF"),
        (changeover, "first acres", "first-acres-si.svg", b"<svg"),
    ):
        file, content = printed(record, which)
        assert file == name
        assert content.startswith(mark)


def test_load_sheets_are_those_of_the_command_line(season: Season) -> None:
    season.document["pass"][0] |= {"product": [{"name": "Clearground", "rate": "2 L/ha", "form": "SL"}], "load": {}}
    with bench(season_laid_out(season)) as laid:
        file = read_season(laid.file, logs_needed=False)
    for system in System:
        marked = marked_measures(file.typed, system)
        wanted = [
            load_sheet_data(
                load_plan(planned, file.season.sprayer, marked.measures),
                marked,
                Reader(system),
                machine="Number 2, 12 m",
                title="Small season",
            )
            for planned in file.season.passes
        ]
        assert load_sheets_of(season, Reader(system)) == plain(wanted)
        assert load_sheets_of(season, Reader(system), "Flag leaf") == plain(wanted)[1:]
    assert printed(season, "load sheet", System.SI, "Spring")[0] == "load-sheet-spring.pdf"
    with pytest.raises(InputProblems, match="the season has no such pass"):
        load_sheets_of(season, Reader(System.SI), "Autumn")


def test_a_paper_a_record_does_not_have_is_refused_in_words(season: Season) -> None:
    plan, run = tip_plan_of(season), make_small_run(season)
    for record, which, of_pass in (
        (plan, "wet run", ""),
        (plan, "poster", ""),
        (plan, "cab card", "Autumn"),
        (run, "wet run", ""),
        (run, "boom", ""),
    ):
        with pytest.raises(NotDefined):
            printed(record, which, of_pass=of_pass)
    assert set(PAPERS) >= {
        "tip plan",
        "cab card",
        "lanes",
        "load sheet",
        "wet run",
        "boom",
        "changeover",
        "first acres",
    }


def work(kind: str, branch: Branch, **args: object) -> Job:
    job = asked(branch, kind, by=make_user(branch, login=kind.replace(" ", "-")), words=kind, args=args)
    make_worker(Clock()).do_next()
    job.refresh_from_db()
    return job


def test_a_job_makes_the_plan_that_then_stands(season: Season) -> None:
    job = work("tip plan", season.branch, season=season.pk)
    assert (job.state, job.problem) == (State.DONE, "")
    plan = standing_plan(season)
    assert plan is not None
    assert job.result == {"tip_plan": plan.pk}
    assert plan.made_by == job.made_by


def test_a_job_for_a_season_with_mistakes_fails_in_their_words_and_leaves_the_old_plan(season: Season) -> None:
    before = keep_plan(tip_plan_of(season), None)
    season.document["pass"][0]["rate"] = "200 L/hat"
    season.save()
    job = work("tip plan", season.branch, season=season.pk)
    assert job.state == State.FAILED
    assert "pass[1].rate (“Spring”)" in job.problem
    assert standing_plan(season) == before


def test_a_job_of_another_branch_finds_nothing(season: Season) -> None:
    job = work("tip plan", make_branch("South yard"), season=season.pk)
    assert job.state == State.FAILED
    assert standing_plan(season) is None


def test_jobs_answer_changeovers_read_logs_and_drive_them_again(season: Season) -> None:
    make_map(season.branch)
    changeover, log = make_small_changeover(season), make_log(season.machine, season=season)
    assert work("changeover", season.branch, changeover=changeover.pk).state == State.DONE
    changeover.refresh_from_db()
    assert changeover.reached
    assert changeover.version == 1  # nobody who is typing at it is told of a change
    assert work("field log", season.branch, log=log.pk).result == {"log": log.pk, "state": "ready"}
    args = {"log": log.pk, "season": season.pk, "pass_name": "Spring", "tip": "iso-11005-ai", "digest": "any"}
    job = work("replay", season.branch, **args)
    assert job.state == State.DONE
    replay = Replay.objects.get(pk=job.result["replay"])
    assert (replay.log, replay.tip, replay.made_by) == (FieldLog.objects.get(), "iso-11005-ai", job.made_by)
