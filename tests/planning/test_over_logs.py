"""A season over tallied logs: a drive counts once, the middle rate is a log's own, and turns are asked once a boom."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from tests.season_cases import planned, sprayer

from wetrun.errors import InputProblems
from wetrun.fieldlog.ledger import ledger_as_arrays
from wetrun.fieldlog.readers.formats import traces_in
from wetrun.fieldlog.tallied import (
    TalliedLog,
    TurnQuestion,
    each_drive_once,
    instants_between,
    tallied,
    tallied_in_pieces,
)
from wetrun.fieldlog.tally import stored_entries
from wetrun.fieldlog.trace import Trace
from wetrun.machine.catalogue import catalogue
from wetrun.planning.evidence import evidence_of_logs
from wetrun.planning.over_logs import report_over_logs, tallied_by_pass
from wetrun.planning.passes import Product, Season

HEADER = "time (s),distance (m),swath width (m),applied rate (L/ha),target rate (L/ha)"


def drive(folder: Path, name: str, *, speed_mps: float, targets: tuple[float, ...]) -> Trace:
    """A log of 100 steps a target, 0.2 s apart, straight on a 24 m boom."""
    lines = [
        f"{0.2 * (at * 100 + i):.1f},{0.2 * speed_mps:.3f},24,{target + i % 3},{target}"
        for at, target in enumerate(targets)
        for i in range(100)
    ]
    path = folder / name
    path.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
    return traces_in(path)[0]


def season(*passes: str, **changes: object) -> Season:
    return Season(title="t", customer="c", sprayer=sprayer(), passes=tuple(planned(one, **changes) for one in passes))


@pytest.mark.parametrize(("targets", "middle"), [((100.0,), 100.0), ((100.0, 100.0, 150.0), 100.0), ((90.0,), 90.0)])
def test_the_rate_of_a_log_is_the_middle_one_by_area(tmp_path: Path, targets: tuple[float, ...], middle: float) -> None:
    found = evidence_of_logs([tallied(drive(tmp_path, "a.csv", speed_mps=4.0, targets=targets))])
    assert found.log_rate_m3pm2 == pytest.approx(middle * 1e-7, rel=1e-13)


def test_the_middle_rate_of_many_rates_is_within_a_bin_of_the_exact_one(tmp_path: Path) -> None:
    targets = tuple(np.random.default_rng(3).uniform(80, 160, 41).round(2).tolist())
    trace = drive(tmp_path, "a.csv", speed_mps=4.0, targets=targets)
    found = evidence_of_logs([tallied(trace)]).log_rate_m3pm2
    counted = np.isfinite(trace.speed_mps)
    exact = np.sort(trace.target_m3pm2[counted])[(counted.sum() - 1) // 2]
    assert found == pytest.approx(exact, rel=2**-13)


def test_a_drive_exported_twice_counts_once_and_is_told(tmp_path: Path) -> None:
    first = tallied(drive(tmp_path, "spring.csv", speed_mps=4.0, targets=(100.0,)))
    again = tallied(drive(tmp_path, "again.csv", speed_mps=4.0, targets=(100.0,)))
    other = tallied(drive(tmp_path, "summer.csv", speed_mps=5.0, targets=(100.0,)))
    logs = (first, again, other)
    kept, twice = each_drive_once(logs)
    assert kept == (first, other)
    assert twice == ("again.csv: the same drive as spring.csv; counted once.",)
    assert evidence_of_logs(logs).speed.total_cm2 == evidence_of_logs([first, other]).speed.total_cm2
    asked = season("one")
    whole = tallied_by_pass(
        asked, {"one": [drive(tmp_path, f"{n}.csv", speed_mps=4.0, targets=(150.0,)) for n in "ab"]}
    )
    report = report_over_logs(asked, catalogue(), whole, file="season.toml")
    assert "b.csv: the same drive as a.csv; counted once." in report.notes["one"].log_doubts
    assert len(report.notes["one"].turns) == 1


def test_a_log_of_two_passes_is_tallied_once_and_asked_each_pass_s_label(tmp_path: Path) -> None:
    trace = drive(tmp_path, "a.csv", speed_mps=4.0, targets=(100.0,))
    tight = Product(name="p", rate_m3pm2=1e-7, label_high_m3pm2=1.2e-7)
    asked = season("one", "two", "three")
    passes = (asked.passes[0], replace(asked.passes[1], products=(tight,)), asked.passes[2])
    done = tallied_by_pass(replace(asked, passes=passes), {one.ident: [trace] for one in passes})
    assert done["one"][0] is done["two"][0] is done["three"][0]
    ratios = sorted(question.label_ratio for question in done["one"][0].turns)
    assert ratios == [pytest.approx(1.2), float("inf")]


def test_a_pass_with_neither_speeds_nor_logs_is_named(tmp_path: Path) -> None:
    none: dict[str, list[TalliedLog]] = {}
    with pytest.raises(InputProblems, match=r"north\.toml: pass one: neither speeds nor a log"):
        report_over_logs(season("one", speeds=None), catalogue(), none, file="north.toml")


def test_a_log_in_pieces_is_tallied_to_the_bits_of_the_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    trace = drive(tmp_path, "a.csv", speed_mps=4.0, targets=(100.0, 150.0, 90.0))
    bend = np.sin(np.arange(trace.time_s.size) / 30) / 20
    whole = replace(trace, curvature_radpm=bend)
    asked = TurnQuestion((-12.0, -4.0, 4.0, 12.0), 1.1)
    cuts = [0, 1, 70, 71, 250, trace.time_s.size]
    pieces = [instants_between(whole, start, stop) for start, stop in pairwise(cuts)]
    before = bits(tallied(whole, [asked]))
    assert bits(tallied_in_pieces(iter(pieces), [asked])) == before
    monkeypatch.setattr("wetrun.fieldlog.tallied.TURN_INSTANTS", 50)
    assert bits(tallied(whole, [asked])) == before
    assert tallied(whole, [asked]).turns[asked].turning_cm2 > 0


def bits(found: TalliedLog) -> str:
    """All of it, bit by bit."""
    arrays = [*ledger_as_arrays(found.ledger).values(), *stored_entries(found.rate)]
    shown = [one.tobytes() if isinstance(one, np.ndarray) else one for one in arrays]
    return repr((shown, found.drive, found.facts, found.full_width_m, found.turns))
