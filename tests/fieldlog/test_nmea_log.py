"""NMEA 0183 logs that the tests write: sentences joined by clock, midnight, dates that lie, junk, refusals."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest
from tests.fieldlog.receiver_samples import START, Fix, drive, gga, nmea_text, rmc, sentence, vtg

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers import nmea_log, receiver_json_log
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.nmea_clock import NO_DATE, receiver_clock
from wetrun.fieldlog.readers.request import ReadRequest

BOOM = mapping_from('format_version = 1\n[boom]\nfull_width = { value = 36, unit = "m" }', file="boom.toml")


@pytest.fixture
def read(tmp_path):
    def written(content, request=ReadRequest()):  # noqa: B008 - frozen
        path = tmp_path / "receiver.log"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        (found,) = logs_in(path, request)
        assert found.format == nmea_log.FORMAT
        (log,) = found.logs
        return log

    return written


def middles(log):
    return {one.source: float(one.percentiles_mps[3]) for one in log.facts.speeds}


def repaired(log):
    return {one.words: one.count for one in log.repairs}


@pytest.mark.parametrize("talker", ["GP", "GN", "GL", "GA", "GB", "GQ"])
def test_sentences_of_one_reading_become_one_record_whoever_talks(read, talker):
    log = read(nmea_text(drive(60), talker))
    assert (log.facts.records, log.facts.span_s, log.facts.no_fix, log.facts.backward_steps) == (60, 59.0, 0, 0)
    assert middles(log)["positions"] == pytest.approx(5.0, rel=1e-3)
    assert middles(log)["logged"] == pytest.approx(5.0, rel=1e-3)
    assert "no width" in log.missing


def test_a_stated_boom_makes_a_trace(tmp_path):
    path = tmp_path / "a.nmea"
    path.write_text(nmea_text(drive(60)), encoding="ascii")
    (trace,) = traces_in(path, ReadRequest(BOOM))
    assert np.nansum(trace.area_m2) == pytest.approx(59 * 5 * 36, rel=1e-3)
    assert any("the whole track counts as sprayed" in doubt.words for doubt in trace.facts.doubts)


def test_a_knot_is_1852_metres_an_hour(read):
    slow = [Fix(fix.at, fix.lon, fix.lat, 1852 / 3600) for fix in drive(30)]
    log = read("".join(f"{rmc(fix)}\n" for fix in slow))
    assert middles(log)["logged"] == pytest.approx(1852 / 3600, rel=1e-6)


def test_a_speed_in_km_per_h_alone_is_read(read):
    lines = (gga(fix) + "\n" + sentence("GPVTG,0.0,T,,M,,N,18.0,K,A") + "\n" for fix in drive(30))
    assert middles(read("".join(lines)))["logged"] == pytest.approx(5.0)


def test_speed_through_water_is_no_speed_over_ground(read):
    lines = (f"{gga(fix)}\n{sentence('VWVHW,0.0,T,0.0,M,3.0,N,5.6,K')}\n" for fix in drive(30))
    log = read("".join(lines))
    assert "logged" not in middles(log)
    assert any("speed through water is no speed over ground" in words for words in repaired(log))


@pytest.mark.parametrize(("line", "dated"), [(rmc, True), (gga, False)])
def test_the_clock_runs_on_over_midnight_with_and_without_dates(read, line, dated):
    log = read("".join(f"{line(fix)}\n" for fix in drive(60)))
    assert (log.facts.span_s, log.facts.backward_steps, log.facts.longest_step_s) == (59.0, 0, 1.0)
    assert any("The clock has no date" in doubt.words for doubt in log.doubts) is not dated


@pytest.mark.parametrize("days", [-1, -7 * 1024])
def test_a_date_that_is_behind_at_first_moves_no_record(read, days):
    fixes = drive(60)
    late = [Fix(fix.at + dt.timedelta(days=days), fix.lon, fix.lat) for fix in fixes[:30]]
    log = read("".join(f"{rmc(fix)}\n" for fix in [*late, *fixes[30:]]))
    assert (log.facts.span_s, log.facts.backward_steps, log.facts.gaps) == (59.0, 0, 0)
    assert any("the date jumps while the clock runs on" in words for words in repaired(log))


def test_two_days_in_one_file_stay_two_days(read):
    tomorrow = drive(30, start=START + dt.timedelta(hours=20))
    log = read(nmea_text([*drive(30, start=START - dt.timedelta(hours=9)), *tomorrow]))
    assert (log.facts.gaps, log.facts.gap_total_s) == (1, 29 * 3600 - 29)


def test_undated_readings_take_the_day_of_those_around_them():
    day_ms = np.array([1000, 2000, 3000, 90_000, 91_000])
    date = np.array([NO_DATE, 10, NO_DATE, NO_DATE, 10])
    assert np.diff(receiver_clock(day_ms, date).time_s).tolist() == [1.0, 1.0, 87.0, 1.0]
    assert receiver_clock(day_ms, date).time_s[0] == 10 * 86_400 + 1


def test_a_wrong_checksum_is_left_out_and_counted(read):
    lines = nmea_text(drive(60)).splitlines()
    spoilt = [line.replace(",", ",6", 1) if nth % 10 == 0 else line for nth, line in enumerate(lines)]
    log = read("\n".join(spoilt))
    assert repaired(log)["sentences whose checksum is wrong were left out"] == 18
    assert middles(log)["positions"] == pytest.approx(5.0, rel=1e-3)


def test_a_file_without_checksums_is_read_and_that_is_said(read):
    bare = "".join(line.partition("*")[0] + "\r\n" for line in nmea_text(drive(60)).splitlines())
    log = read(bare)
    assert log.facts.records == 60
    assert repaired(log)["sentences without a checksum were taken as they stand: none has one"] == 180


def test_a_sentence_that_lost_its_end_is_left_out_where_others_have_theirs(read):
    lines = [f"{rmc(fix)}\r\n" for fix in drive(60)]
    lines[20] = lines[20][:30]  # a place cut short, glued to the next sentence
    log = read("".join(lines))
    assert repaired(log)["sentences that lost their end were left out"] == 1
    assert log.facts.records == 59
    assert log.facts.jumps == 0


def test_junk_comments_other_sentences_and_glued_lines_do_no_harm(read):
    lines = [f"{gga(fix)}{vtg(fix)}{rmc(fix)}" for fix in drive(60)]
    lines[10] += "\x00\x01\x7f"
    lines[5] = "# (a comment)\n2031-05-01 12:00:00 " + lines[5]
    lines[7] += "\n$GPGSV,3,1,12,07,10,333,39*41\n!AIVDM,1,1,,A,15M67F0000G?ufbE`FepT@3n00Sa,0*0B\n$PXYZ,1,2\n"
    log = read("\r".join(lines).encode() + bytes(range(128, 256)) * 40)
    assert (log.facts.records, log.facts.no_fix, log.facts.span_s) == (60, 0, 59.0)


def test_sentences_across_the_blocks_of_reading_are_whole(read, monkeypatch):
    monkeypatch.setattr("wetrun.fieldlog.readers.nmea_sentences.BLOCK", 97)
    log = read(nmea_text(drive(60)))
    assert log.facts.records == 60
    assert not log.repairs


def test_a_reading_without_a_fix_has_no_place(read):
    lines = [f"{gga(fix, quality=0 if nth < 10 else 1)}\n" for nth, fix in enumerate(drive(60))]
    assert read("".join(lines)).facts.no_fix == 10
    void = [
        rmc(fix) if nth >= 10 else sentence(rmc(fix)[1:-3].replace(",A,", ",V,", 1))
        for nth, fix in enumerate(drive(60))
    ]
    assert read("\n".join(void)).facts.no_fix == 10


@pytest.mark.parametrize(("quality", "words"), [(8, "simulated"), (6, "dead reckoning"), (7, "typed by hand")])
def test_places_that_are_not_measured_are_used_and_doubted(read, quality, words):
    log = read("".join(f"{gga(fix, quality=quality)}\n" for fix in drive(60)))
    assert log.facts.no_fix == 0
    assert any(f"60 of 60 clock readings the position is {words}" in doubt.words for doubt in log.doubts)


def test_two_places_of_one_reading_are_told_apart(read):
    fixes = drive(61)
    lines = (f"{gga(fix)}\n{rmc(Fix(fix.at, after.lon, after.lat))}\n" for fix, after in pairwise(fixes))
    log = read("".join(lines))
    assert middles(log)["positions"] == pytest.approx(5.0, rel=1e-3)
    assert any("GGA and RMC tell places 5.0 m apart" in doubt.words for doubt in log.doubts)


def test_south_and_west_are_negative(read, tmp_path):
    south = [Fix(fix.at, -70.5, -(fix.lat - 20), 5.0) for fix in drive(60)]
    path = tmp_path / "south.log"
    path.write_text(nmea_text(south), encoding="ascii")
    (trace,) = traces_in(path, ReadRequest(BOOM))
    assert trace.origin is not None
    assert np.degrees(trace.origin.longitude_rad) == pytest.approx(-70.5)
    assert np.degrees(trace.origin.latitude_rad) == pytest.approx(-30.0)


def test_a_log_without_any_time_and_one_too_long_are_refused(read):
    with pytest.raises(LogRefused, match="none of its 2 sentences tells a time"):
        read("$SDDPT,5.3,0.4,*79\n$GPGSV,3,1,12,07,10,333,39*41\n")
    with pytest.raises(LogRefused, match="--most-records"):
        read(nmea_text(drive(60)), ReadRequest(limits=Limits(most_records=50)))


def test_reports_as_json_lines_are_read_and_cut_lines_counted(tmp_path):
    from tests.fieldlog.receiver_samples import json_text

    lines = json_text(drive(60)).splitlines()
    lines[11] = lines[11][:40]
    lines[13] = "[" * 5000
    path = tmp_path / "reports.log"
    path.write_text("\n".join(lines), encoding="utf-8")
    (found,) = logs_in(path)
    assert found.format == receiver_json_log.FORMAT
    (log,) = found.logs
    assert log.facts.records == 58
    assert middles(log) == pytest.approx({"logged": 5.0, "positions": 5.0, "between records": 5.0}, rel=1e-3)
    assert repaired(log)["lines are cut off or no JSON and were left out"] == 2
    assert repaired(log)["other reports were passed over: SKY 60, VERSION 1"] == 61
