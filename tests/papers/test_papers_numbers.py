"""Numbers on paper: typed ones as typed, others exact enough to be typed, speeds rounded so that they hold."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.paper_reading import pass_named

from wetrun.machine.sprayer import Control
from wetrun.papers.card_data import card_data, monitor_rows
from wetrun.papers.control_rows import limit_rows
from wetrun.papers.entered import Entered
from wetrun.papers.extras import Extras
from wetrun.papers.ladder import drop_words, state_at
from wetrun.papers.pass_data import window_words
from wetrun.papers.reader import EXACT_FRAC, Reader, percent
from wetrun.planning.speed_point import point_at
from wetrun.quantity import Kind, System, read
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import DropletClass, probability_within
from wetrun.spray.pulse import DutySource, PulseSetting
from wetrun.spray.supply import Hold

READERS = [Reader(system) for system in System]
SPEEDS = st.floats(0.3, 12.0)


def si(text, kind):
    return read(text, kind).si_value


@pytest.mark.parametrize("reader", READERS, ids=str)
@pytest.mark.parametrize("kind", [Kind.RATE, Kind.SPACING, Kind.WIDTH, Kind.PRESSURE, Kind.SPEED, Kind.BOOM_FLOW])
@given(shown=st.floats(0.05, 5000.0))
def test_a_number_to_be_typed_loses_less_than_a_thousandth(reader, kind, shown):
    value = reader.inside(shown, kind)
    assert read(reader.exact(value, kind), kind).si_value == pytest.approx(value, rel=EXACT_FRAC)


def test_a_number_to_be_typed_has_no_more_digits_than_it_needs():
    us, metric = READERS
    rates = ["15 gal/ac", "16.7 gal/ac", "150.5 L/ha", "187 L/ha"]
    assert [us.rate(si(text, Kind.RATE)) for text in rates] == [
        "15.0 gal/ac",
        "16.7 gal/ac",
        "16.09 gal/ac",
        "19.99 gal/ac",
    ]
    assert [metric.rate(si(text, Kind.RATE)) for text in rates] == [
        "140.3 L/ha",
        "156.2 L/ha",
        "150.5 L/ha",
        "187 L/ha",
    ]
    assert us.exact(si("25 psi", Kind.PRESSURE), Kind.PRESSURE) == "25 psi"
    assert metric.exact(si("20 in", Kind.SPACING), Kind.SPACING) == "50.8 cm"


def test_what_was_typed_stands_on_the_card_as_typed(report, season):
    extras = {
        "pass[1].rate.target": "150,5 L/ha",
        "pass[1].height": "22 in",
        "machine.boom.spacing": "20.0 in, by tape",
        "machine.control.max_pressure": "95psi",
        "machine.control.hold.pressure": "1,7 bar",
    }
    one = pass_named(report, "Post herbicide")
    found = monitor_rows(one, season, Entered(extras, Reader(System.US)))
    rows = {row["name"]: row["value"] for row in found}
    assert (
        rows["Target rate"] == "150,5 L/ha (15.0 gal/ac)"
    )  # typed text first, the value held in it in the paper's unit
    assert (rows["Tip spacing"], rows["Highest pressure"]) == ("20.0 in, by tape", "95psi")
    assert (rows["Boom height"], rows["Minimum hold"]) == ("22 in", "1,7 bar (25 psi)")


@pytest.mark.parametrize("reader", READERS, ids=str)
@given(ends=st.tuples(SPEEDS, SPEEDS).map(sorted))
def test_every_speed_a_window_prints_is_held(reader, ends):
    low, high = (float(text) for text in reader.inward(*ends))
    printed = [reader.inside(shown, Kind.SPEED) for shown in (low, high)]
    assert low <= high or math.isclose(*ends, rel_tol=1e-5)
    if low <= high:
        assert all(ends[0] * (1 - 1e-8) <= speed <= ends[1] * (1 + 1e-8) for speed in printed)


@pytest.mark.parametrize("reader", READERS, ids=str)
def test_the_window_and_the_rows_of_a_pass_agree_at_the_printed_ends(report, reader):
    for one in report.plan.proposed.passes:
        if one.window is None:
            continue
        ends = window_words(one.window, reader).removesuffix(reader.unit(Kind.SPEED)).split(" to ")
        assert [state_at(one.window, reader.inside(float(end), Kind.SPEED)) for end in ends] == ["held", "held"]


def test_speeds_of_a_limit_are_rounded_to_its_safe_side():
    reader = Reader(System.US)
    assert reader.at_least(si("8.41 mph", Kind.SPEED)) == "8.5 mph"
    assert reader.at_least(si("8.4 mph", Kind.SPEED)) == "8.4 mph"


def test_the_per_cent_beside_a_class_is_that_of_what_is_allowed(report):
    one = pass_named(report, "Post herbicide")
    point = point_at(one.trial, speed_mps=one.evidence.usual_mps, rate_m3pm2=one.rate_m3pm2)
    assert point.droplets is not None
    pattern = one.trial.tip_set.tip.pattern
    printed = frozenset(DropletClass(n) for n in range(point.droplets.finest, point.droplets.coarsest + 1))
    said = []
    for allowed in (None, frozenset({point.droplets.coarsest}), frozenset({DropletClass.F})):
        trial = replace(one.trial, limits=replace(one.limits, classes=allowed))
        sure = probability_within(pattern, point.tip_pa, allowed or printed)
        said.append(drop_words(trial, point))
        assert said[-1].endswith(f"({percent(sure)})")
    assert len(set(said)) == 3


PULSE = PulseSetting(frequency_hz=15.0, set_pressure_pa=si("50 psi", Kind.PRESSURE), duty_from=DutySource.METER)


def test_a_pulse_width_card_lists_what_its_monitor_asks_for(season, make_report, make_pass):
    control = Control(loop=Loop.PULSE, pulse=PULSE, cab_high_pa=si("95 psi", Kind.PRESSURE))
    planned = make_pass("Post herbicide", products=(), fit_families=None)
    report = make_report(replace(season, sprayer=replace(season.sprayer, control=control), passes=(planned,)))
    extras = Extras(typed={"machine.control.pulse.frequency": "15 Hz", "machine.control.pulse.least_duty": "30 %"})
    (one,) = report.plan.proposed.passes
    card = card_data(one, report, Reader(System.US), extras)
    assert card is not None
    rows = {row["name"]: row for row in card["monitor"]}
    shown = [rows[name]["value"] for name in ("Frequency", "Set pressure", "Least duty", "Greatest duty")]
    assert shown == ["15 Hz", "50 psi", "30 %", "100 %"]
    assert rows["Minimum hold"] == {"name": "Minimum hold", "value": "none", "note": "the least duty is the floor"}
    assert "not typed" in rows["Greatest duty"]["note"]
    assert rows["Least duty"]["note"] == ""
    assert any("lowest duty" in words for words in card["floor"])


@pytest.mark.parametrize("loop", Loop)
def test_a_machine_without_a_hold_is_told_what_stops_it_instead(season, loop):
    control = Control(loop=loop, pulse=PULSE if loop is Loop.PULSE else None)
    rows = limit_rows(replace(season.sprayer, control=control), Entered({}, Reader(System.US)))
    (note,) = (note for name, value, note in rows if (name, value) == ("Minimum hold", "none"))
    assert note
    assert ("duty" in note) is (loop is Loop.PULSE)


@pytest.mark.parametrize(
    ("hold", "shown"),
    [
        (Hold(cab_pressure_pa=si("25 psi", Kind.PRESSURE)), "25 psi"),
        (Hold(boom_flow_m3s=si("12.5 gal/min", Kind.BOOM_FLOW)), "12.5 gal/min"),
        (Hold(duty_frac=0.3), "30 %"),
    ],
)
def test_a_hold_is_shown_as_the_kind_it_was_typed(season, hold, shown):
    control = replace(season.sprayer.control, hold=hold)
    rows = limit_rows(replace(season.sprayer, control=control), Entered({}, Reader(System.US)))
    assert ("Minimum hold", shown, f"typed as {hold.kind.value}") in rows
