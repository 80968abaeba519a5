"""Whatever stands in a record's document, it is answered or refused in sentences: nothing breaks, nothing leaks."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import suppress
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.shop_cases import make_branch
from tests.shop_files import (
    SMALL_CHANGEOVER,
    SMALL_RUN,
    SMALL_SEASON,
    make_log,
    make_map,
    make_small_changeover,
    make_small_run,
    make_small_season,
)

from wetrun.errors import InputProblems
from wetrun.papers.reader import Reader
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.changeovers import document_of as changeover_document_of
from wetrun.shop.answers.changeovers import is_answered
from wetrun.shop.answers.files import changeover_text, season_text, wet_run_text
from wetrun.shop.answers.seasons import problems_of_season, settled
from wetrun.shop.answers.tip_plans import digest_of
from wetrun.shop.answers.wet_runs import judge, laid_out_of
from wetrun.shop.answers.what_ifs import what_if
from wetrun.shop.records.models import Reading, Season

pytestmark = pytest.mark.django_db
JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 10**6),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12),
    st.sampled_from(["../x", "/etc/passwd", "9" * 50, "1e999 gal", "-5 psi", "0 ac", "season.toml"]),
    st.dates(),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.sampled_from(["name", "value", "x"]), st.text(max_size=3), max_size=2),
)
BREAKING = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])


def places(value: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every way into a document."""
    keys = value.keys() if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    for key in keys:
        yield (*way, key)
        yield from places(value[key], (*way, key))


def broken(document: dict[str, Any], way: tuple[Any, ...], junk: object) -> dict[str, Any]:
    """A copy with something else at one place."""
    whole = deepcopy(document)
    holder: Any = whole
    for key in way[:-1]:
        holder = holder[key]
    holder[way[-1]] = junk
    return whole


def ways_of(text: str) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.sampled_from(sorted(places(tomllib.loads(text)), key=str))


@BREAKING
@given(way=ways_of(SMALL_SEASON), junk=JUNK)
def test_a_season_s_document_never_breaks_what_reads_it(branch: Branch, way: tuple[Any, ...], junk: object) -> None:
    whole = broken(tomllib.loads(SMALL_SEASON), way, junk)
    season = unsaved(branch, whole)
    for problem in problems_of_season(season, logs=True):
        assert str(problem).startswith("season.toml: ")
    settled(season)
    digest_of(season)
    assert what_if(season, "Spring", {"rate": "150 L/ha"}, reader=Reader(System.SI))
    tomllib.loads(season_text(season))


def unsaved(branch: Branch, whole: dict[str, Any]) -> Season:
    """A season with a broken document on a machine that is there, which is never saved with it."""
    season = Season.objects.filter(branch=branch).first() or make_small_season(branch)
    machine = whole.get("machine")
    season.machine.document = machine if isinstance(machine, dict) else {}
    season.document = {key: value for key, value in whole.items() if key not in {"machine", "customer"}}
    return season


@BREAKING
@given(way=ways_of(SMALL_RUN), junk=JUNK, place=st.sampled_from(["catch.readings.3", "catch.pressure", "tips.fitted"]))
def test_a_wet_run_s_document_never_breaks_what_reads_it(
    branch: Branch, way: tuple[Any, ...], junk: object, place: str
) -> None:
    run = make_small_run(Season.objects.filter(branch=branch).first() or make_small_season(branch))
    run.document = broken(tomllib.loads(SMALL_RUN), way, junk)
    Reading.objects.create(wet_run=run, place=place, typed="3 bar", number=1)
    judge(run)
    assert run.problems or run.in_us
    with suppress(InputProblems):
        laid_out_of(run)
    tomllib.loads(wet_run_text(run))


@BREAKING
@given(way=ways_of(SMALL_CHANGEOVER), junk=JUNK, record=JUNK)
def test_a_changeover_s_document_never_breaks_what_reads_it(
    branch: Branch, way: tuple[Any, ...], junk: object, record: object
) -> None:
    changeover = make_small_changeover(Season.objects.filter(branch=branch).first() or make_small_season(branch))
    changeover.document = broken(tomllib.loads(SMALL_CHANGEOVER), way, junk) | {"record": record}
    changeover_document_of(changeover)
    assert not is_answered(changeover)
    tomllib.loads(changeover_text(changeover))


def test_a_season_sees_no_tip_file_map_or_log_of_another_branch(branch: Branch) -> None:
    other = make_branch("South yard")
    make_map(other)
    theirs = make_small_season(other)
    make_log(theirs.machine, season=theirs)
    season = make_small_season(branch)
    season.document["pass"][0] |= {"logs": ["drive.csv"], "log_map": "map.toml"}
    assert [problem.key for problem in problems_of_season(season, logs=True)] == [
        "pass[1].logs[1] (“Spring”)",
        "pass[1].log_map (“Spring”)",
    ]
