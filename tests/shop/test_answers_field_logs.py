"""Field logs and replays from records: read once, told in both unit systems, driven again to the same numbers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.shop_files import SMALL_MAP, make_log, make_map, make_small_season, small_log_text

from wetrun.errors import InputProblems, LogRefused, NotDefined
from wetrun.fieldlog.joining import joined_trace
from wetrun.fieldlog.lag_fit import lag_finding
from wetrun.fieldlog.readers.mapping import mapping_in
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.tallied import tallied
from wetrun.fleet.reading import reading_of
from wetrun.papers.reader import Reader
from wetrun.papers.replay_data import ReplayedLog, replay_data
from wetrun.planning.evidence import evidence_of_logs
from wetrun.planning.exact_answer import exact_answer, response_for
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.replaying import replayed_pass
from wetrun.planning.tip_set import hydraulics, tip_sets
from wetrun.planning.window import Trial
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers import replays
from wetrun.shop.answers.field_logs import keep_reading_of, read_log
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.replays import ReplayAsked, digest_of, replay_of
from wetrun.shop.answers.seasons import season_file_of
from wetrun.shop.answers.tally import ledger_cache
from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of
from wetrun.shop.records.models import FieldLog, Season

pytestmark = pytest.mark.django_db


def replay_asked(of_pass: str, **more: Any) -> ReplayAsked:
    return ReplayAsked(**{"pass_name": of_pass, **more})


SPRING = replay_asked("Spring", tip="iso-11005-ai")


@pytest.fixture
def season(branch: Branch) -> Season:
    make_map(branch)
    return make_small_season(branch)


@pytest.fixture
def log(season: Season) -> FieldLog:
    return make_log(season.machine, season=season, passes=["Spring"])


def test_a_log_is_told_in_both_unit_systems_and_its_tallies_are_kept(log: FieldLog) -> None:
    read_log(log)
    keep_reading_of(log)
    kept = FieldLog.objects.get(pk=log.pk)
    assert (kept.state, kept.refused) == ("ready", "")
    (us,), (si,) = kept.in_us["sets"], kept.in_si["sets"]
    assert (us["name"], us["logs"][0]["driven"]) == ("drive.csv", True)
    middle = {
        one["source"]: (one["values"][3], two["values"][3])
        for one, two in zip(us["logs"][0]["speeds"]["rows"], si["logs"][0]["speeds"]["rows"], strict=True)
    }
    assert middle["logged"] == ("5.6", "9.0")  # 2.5 m/s
    assert [row["unit"] for row in si["logs"][0]["columns"] if row["means"] == "target rate"] == ["L/ha"]
    entry, note = ledger_cache().found(kept.ledger_key)
    assert note == ""
    assert entry is not None
    assert len(entry.logs) == 1


def test_a_plan_finds_a_log_tallied_that_was_read_before(log: FieldLog, season: Season) -> None:
    read_log(log)
    assert tip_plan_of(season).inputs["ledgers"] == {str(log.pk): log.ledger_key}


@pytest.mark.parametrize(
    ("text", "mapped", "words"),
    [
        ("no log at all", "", "drive.csv"),
        ("A,B\n1,2\n", "", "drive.csv"),
        ("Clock,Dist\n1,2\n", "map.toml", "Swath"),
    ],
)
def test_a_log_that_cannot_be_used_says_why_and_breaks_nothing(
    season: Season, text: str, mapped: str, words: str
) -> None:
    log = make_log(season.machine, text, column_map=mapped)
    read_log(log)
    assert log.state == "refused"
    assert words in log.refused
    assert log.ledger_key == ""
    json.dumps(log.in_us)


def test_a_log_whose_file_is_gone_is_refused_in_a_sentence(season: Season) -> None:
    log = make_log(season.machine)
    log.stored = "logs/gone.csv"
    read_log(log)
    assert log.state == "refused"
    assert log.refused


def by_hand(
    season: Season, log: FieldLog, folder: Path, *, lag_s: float | None = None, fit: bool = False
) -> ReplayedLog:
    """The replay put together from the rooms below, as the command line does."""
    (folder / "drive.csv").write_text(small_log_text(), encoding="utf-8")
    (folder / "map.toml").write_text(SMALL_MAP, encoding="utf-8")
    file = season_file_of(season)
    planned, sprayer = file.season.passes[0], file.season.sprayer
    reading = reading_of(folder / "drive.csv", ReadRequest(mapping_in(folder / "map.toml")))
    (trace,) = (joined_trace(pieces) for pieces in reading.logs)
    tip_set = next(one for one in tip_sets(sprayer, file.catalogue) if one.tip.ident == SPRING.tip)
    usual_mps = evidence_of_logs([tallied(trace)]).usual_mps
    trial = Trial(hydraulics(tip_set, sprayer, planned.carrier), tip_set, planned, combined_limits(planned), usual_mps)
    finding = lag_finding(trace, np.random.default_rng(1), tolerance_frac=planned.tolerance_frac) if fit else None
    lag = response_for(sprayer.control.response, finding, lag_s=lag_s)
    return ReplayedLog(
        trace=trace,
        finding=finding,
        replays=tuple(
            (
                replayed_pass(trial, trace, rate, 0.0),
                exact_answer(trial, trace, rate, sprayer=sprayer, lag=lag, worst=10),
            )
            for rate in (planned.rate_m3pm2, None)
        ),
    )


@pytest.mark.parametrize("lag", ["", "1.5 s"])
def test_a_replay_of_a_record_has_the_numbers_of_the_rooms_below(
    season: Season, log: FieldLog, tmp_path: Path, lag: str
) -> None:
    found = replay_of(log, season, replay_asked("Spring", tip=SPRING.tip, lag=lag))
    wanted = by_hand(season, log, tmp_path, lag_s=1.5 if lag else None)
    for system, kept in ((System.US, found.in_us), (System.SI, found.in_si)):
        assert kept["logs"] == [plain(replay_data(wanted, Reader(system)))]
    (told,) = found.in_si["logs"]
    assert told["rates"][0]["lag"].startswith("lag 1.50 s" if lag else "without lag")


def test_the_map_shows_every_cell_where_the_log_was_driven(season: Season, log: FieldLog) -> None:
    found = replay_of(log, season, SPRING)
    found.save()
    found.refresh_from_db()
    cells = [each["properties"] for each in found.map["features"]]
    area_m2 = sum(each["area_m2"] for each in cells) + found.map["left_out_m2"]
    (told,) = found.in_si["logs"]
    assert Reader(System.SI).area(area_m2) == told["rates"][0]["area"]
    assert found.map["about"]["cell_m"] == 5.0
    west, south, east, north = found.map["bbox"]
    assert -40.0 <= west < east < -39.98
    assert south < 41.0 < north


def test_a_map_of_too_many_cells_is_drawn_coarser(
    season: Season, log: FieldLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(replays, "MOST_CELLS", 200)
    found = replay_of(log, season, SPRING)
    assert 0 < len(found.map["features"]) <= 200
    assert found.map["about"]["cell_m"] > 5.0


def test_without_a_tip_the_plan_s_own_set_is_driven(season: Season, log: FieldLog) -> None:
    with pytest.raises(NotDefined, match="no plan proposes a set"):
        replay_of(log, season, replay_asked("Spring"))
    plan = keep_plan(tip_plan_of(season), None)
    found = replay_of(log, season, replay_asked("Spring"))
    assert found.tip == plan.in_us["passes"][0]["set"]["ident"]


@pytest.mark.parametrize(
    ("asked", "fault"),
    [
        (replay_asked("Autumn", tip="iso-11005-ai"), InputProblems),
        (replay_asked("Spring", tip="nothing"), NotDefined),
        (replay_asked("Spring", tip="iso-11005-ai", lag="soon"), InputProblems),
        (replay_asked("Spring", tip="iso-11005-ai", delay="-1 s"), InputProblems),
    ],
)
def test_what_cannot_be_driven_is_refused(
    season: Season, log: FieldLog, asked: ReplayAsked, fault: type[Exception]
) -> None:
    with pytest.raises(fault):
        replay_of(log, season, asked)


def test_a_log_that_cannot_be_used_is_not_driven(season: Season) -> None:
    with pytest.raises(LogRefused):
        replay_of(make_log(season.machine, "no log", column_map=""), season, SPRING)


def test_another_question_has_another_digest(season: Season, log: FieldLog) -> None:
    first = digest_of(log, season, SPRING)
    assert digest_of(log, season, SPRING) == first
    assert digest_of(log, season, replay_asked("Spring", tip="iso-11005-ai", lag="1 s")) != first
    season.machine.document["tank"] = "900 L"
    assert digest_of(log, season, SPRING) != first
