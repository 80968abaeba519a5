"""What numbered values come to, and how rates and speeds are taken from logs that write them one way or another."""

from __future__ import annotations

import numpy as np
import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data

from wetrun.fieldlog.readers.data_dictionary import CONDENSED_OVERRIDE, DICTIONARY, si_of
from wetrun.fieldlog.readers.formats import logs_in
from wetrun.fieldlog.trace import usable

SPEED, STATES = 'A="018D" B="" C="DET-1"', 'A="00A1" B="" C="DET-2"'
TARGET, APPLIED = 'A="0001" B="" C="DET-2"', 'A="0002" B="" C="DET-2"'
FINE_TARGET, FINE_APPLIED = 'A="024C" B="" C="DET-2"', 'A="024D" B="" C="DET-2"'
SET_FLOW, FLOW = 'A="0024" B="" C="DET-2"', 'A="0025" B="" C="DET-2"'
SOURCE = 'A="0190" B="" C="DET-1"'
WHEEL = 'A="DFFE" B="" C="DET-1" D="65096" E="0" F="15"'
RADAR = 'A="DFFE" B="" C="DET-1" D="65097" E="0" F="15"'
GNSS = 'A="DFFE" B="" C="DET-1" D="129026" E="32" F="47"'
ALL_ON, LEFT_OFF = -43, -44  # three sections of 5, 12 and 6 m; the leftmost in the lowest bits
MM3_S_AT_187 = 2_150_500  # 187 L/ha on 23 m at 5 m/s


@pytest.fixture
def log_of(tmp_path):
    """Return the only log of a drive northward at 5 m/s, 0.2 s a record, with these values."""

    def made(listed, values_of, *, count=300, moved=lambda _nth, one: one.position):
        records = [
            MadeRecord(one.ms, one.day, moved(nth, one), tuple(values_of(nth)))
            for nth, one in enumerate(driven(count, values=0))
        ]
        log = header_text("ABD", listed), log_bytes(records, "ABD")
        (found,) = logs_in(write_task_data(tmp_path / "TASKDATA", {"TLG00001": log}))
        return found.logs[0]

    return made


@pytest.mark.parametrize(
    ("number", "raw", "unit", "worth"),
    [
        (21, 1_000_000_000, "m3/m3", 1.0), (22, 5_000_000, "m3/m3", 0.005), (23, 1, "m3/m3", 1e-9),
        (24, 1, "m3/m3", 1e-9), (25, 1, "m3/m3", 1e-9), (36, 1_514_165, "m3/s", 0.001514165),
        (121, 1_280_000, "kg/m3", 1280.0), (157, 1, "", 1.0), (325, 12_345, "m3", 12.345), (400, 2, "", 2.0),
        (467, 1250, "", 0.125), (588, 1870, "m3/m2", 1.87e-4), (589, 187, "m3/m2", 1.87e-5),
        (590, 1, "m3/m2", 1e-7), (591, 1, "m3/m2", 1e-7), (592, 1, "m3/m2", 1e-7),
        *((number, -43, "", -43.0) for number in CONDENSED_OVERRIDE),
    ],
)  # fmt: skip
def test_a_numbered_value_comes_to_its_unit(number, raw, unit, worth):
    assert DICTIONARY[number].unit == unit
    assert float(si_of(number, np.array([float(raw)]))[0]) == pytest.approx(worth, rel=1e-12)


def rates_used(log):
    return {use.meaning: use for use in log.trace.facts.columns if use.meaning.endswith("rate")}


def test_a_rate_in_tenths_of_a_millilitre_is_taken_where_it_is_the_only_one(log_of):
    log = log_of([SPEED, STATES, FINE_TARGET, FINE_APPLIED], lambda _: ((0, 5000), (1, ALL_ON), (2, 187), (3, 190)))
    on = usable(log.trace)
    assert log.trace.target_m3pm2[on] == pytest.approx(187e-7)
    assert log.trace.applied_m3pm2[on] == pytest.approx(190e-7)
    assert {use.column for use in rates_used(log).values()} == {"number 588", "number 589"}


def test_the_finer_of_two_rates_goes_first(log_of):
    values = ((0, 5000), (1, ALL_ON), (2, 190), (3, 1_870_000))
    log = log_of([SPEED, STATES, FINE_APPLIED, APPLIED], lambda _: values)
    assert log.trace.applied_m3pm2[usable(log.trace)] == pytest.approx(187e-7)
    assert rates_used(log)["applied_rate"].column == "number 2"


def test_a_flow_over_width_and_speed_stands_in_for_a_rate_and_says_so(log_of):
    def values(nth):
        width = ALL_ON if nth < 150 else LEFT_OFF
        speed = 5000 if nth < 250 else 150
        return (0, speed), (1, width), (2, MM3_S_AT_187), (3, MM3_S_AT_187)

    log = log_of([SPEED, STATES, SET_FLOW, FLOW], values)
    for rate_m3pm2 in (log.trace.target_m3pm2, log.trace.applied_m3pm2):
        assert rate_m3pm2[:150] == pytest.approx(187e-7)
        assert rate_m3pm2[150:250] == pytest.approx(187e-7 * 23 / 18)
        assert np.isnan(rate_m3pm2[250:]).all()  # 0.15 m/s
    used = rates_used(log)["applied_rate"]
    assert (used.column, used.unit, used.stated) == ("number 37", "mm3/s", False)
    assert "worked out" in used.evidence
    assert "the logged speed" in used.evidence


def test_a_flow_without_a_speed_of_the_log_gives_no_rate(log_of):
    log = log_of([STATES, FLOW], lambda _: ((0, ALL_ON), (1, MM3_S_AT_187)))
    assert np.isnan(log.trace.applied_m3pm2).all()
    assert rates_used(log) == {}


@pytest.mark.parametrize(("raw", "word"), [(1, "wheel"), (2, "ground"), (5, "simulated"), (77, "source 77")])
def test_what_the_logged_speed_is_from_is_shown(log_of, raw, word):
    log = log_of([SPEED, STATES, SOURCE], lambda nth: ((0, 5000), (1, ALL_ON), *(((2, raw),) if nth == 0 else ())))
    (words,) = [one.words for one in log.facts.speeds if one.source == "logged"]
    assert words.endswith(f"number 400 says: {word}")


# Which bits of a message carry the speed, and what a step is worth, is from memory (source iso-11783-pgn).
WRAPPED = {"wheel": (WHEEL, 1e-3), "radar": (RADAR, 1e-3), "GNSS": (GNSS, 1e-2)}


def middle_mps(log):
    return {one.source: one.percentiles_mps[3] for one in log.facts.speeds}


@pytest.mark.parametrize("source", WRAPPED)
def test_a_wrapped_speed_alone_is_a_source_of_its_own(log_of, source):
    listed, step_mps = WRAPPED[source]
    log = log_of([listed, STATES], lambda _: ((0, round(5.1 / step_mps)), (1, ALL_ON)))
    assert middle_mps(log)[source] == pytest.approx(5.1)
    assert set(middle_mps(log)) == {source, "positions", "between records"}
    assert log.trace.shown_speed_mps == pytest.approx(5.1)


def test_wrapped_speeds_stand_side_by_side_with_the_logged_one_and_one_that_is_off_is_a_finding(log_of):
    values = ((0, 5000), (1, 5100), (2, 4950), (3, 505), (4, ALL_ON))
    agreeing = log_of([SPEED, WHEEL, RADAR, GNSS, STATES], lambda _: values)
    told = middle_mps(agreeing)
    assert told == pytest.approx(
        {"logged": 5.0, "wheel": 5.1, "radar": 4.95, "GNSS": 5.05, "positions": 5.0, "between records": 5.0}, rel=0.003
    )
    assert not any("tenth" in doubt.words for doubt in agreeing.doubts)
    off = log_of(
        [SPEED, WHEEL, RADAR, GNSS, STATES], lambda _: ((0, 5000), (1, 5000), (2, 5600), (3, 500), (4, ALL_ON))
    )
    assert any("speed by radar is more than a tenth above" in doubt.words for doubt in off.doubts)


def test_a_wrapped_speed_written_only_on_change_is_held_for_a_minute(log_of):
    written = {0: 5000, 100: 6000}
    log = log_of(
        [WHEEL, STATES], lambda nth: ([(0, written[nth])] if nth in written else []) + [(1, ALL_ON)], count=600
    )
    shown = log.trace.shown_speed_mps
    assert shown[:100] == pytest.approx(5.0)
    assert shown[100:401] == pytest.approx(6.0)  # 60 s at 0.2 s, both ends
    assert np.isnan(shown[401:]).all()


def test_words_that_mean_error_or_not_there_tell_no_speed(log_of):
    log = log_of([WHEEL, STATES], lambda nth: ((0, (0xFFFF, 0xFE00, 0xFB00, 5000)[nth % 4]), (1, ALL_ON)))
    (wheel,) = [one for one in log.facts.speeds if one.source == "wheel"]
    assert wheel.instants == 75
    assert wheel.percentiles_mps == pytest.approx(5.0)


def test_bits_of_a_message_that_are_not_its_speed_are_no_speed(log_of):
    course = 'A="DFFE" B="" C="DET-1" D="129026" E="16" F="31"'
    other = 'A="DFFE" B="" C="DET-1" D="65267" E="0" F="15"'
    log = log_of([course, other, SPEED, STATES], lambda _: ((0, 999), (1, 999), (2, 5000), (3, ALL_ON)))
    assert set(middle_mps(log)) == {"logged", "positions", "between records"}


def test_a_jump_to_another_continent_is_cut_and_speeds_of_both_sides_are_true(log_of):
    def moved(nth, one):  # as when the simulator of a receiver is switched over
        far = {"A": one.position["A"] - 850_000_000, "B": -900_000_000} if nth >= 150 else {}
        return {**one.position, **far}

    log = log_of([SPEED, STATES], lambda _: ((0, 5000), (1, ALL_ON)), moved=moved)
    trace = log.trace
    assert log.facts.jumps == 1
    assert any(repair.kind == "jump" and repair.count == 1 for repair in trace.facts.repairs)
    assert np.isnan(trace.interval_s).sum() == 2  # the first instant and the jump
    on = usable(trace)
    assert trace.speed_mps[on] == pytest.approx(5.0)
    assert trace.distance_m[on] == pytest.approx(1.0, rel=0.002)
    assert trace.area_m2[on].sum() == pytest.approx(298 * 23.0, rel=0.002)
