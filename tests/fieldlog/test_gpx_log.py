"""GPX files that the tests write: what is read, what is never read, where tracks are cut, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from tests.fieldlog.receiver_samples import drive, gpx_text

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers import gpx_log, gpx_points
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest

BOOM = mapping_from('format_version = 1\n[boom]\nfull_width = { value = 36, unit = "m" }', file="boom.toml")


@pytest.fixture
def gpx(tmp_path):
    def write(text, encoding="utf-8"):
        path = tmp_path / "track.gpx"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    return write


def found_in(path, request=ReadRequest()):  # noqa: B008 - frozen
    (found,) = logs_in(path, request)
    assert found.format == gpx_log.FORMAT
    return found


def middle(log, source):
    return next(float(one.percentiles_mps[3]) for one in log.facts.speeds if one.source == source)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize(
    ("head", "prefix"),
    [
        ('<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0">', ""),
        ('<g:gpx version="1.1" xmlns:g="http://www.topografix.com/GPX/1/1">', "g:"),
        ("<gpx>", ""),
    ],
)
def test_a_track_is_read_in_any_namespace_and_encoding(gpx, head, prefix, encoding):
    (log,) = found_in(gpx(gpx_text([drive(60)], head=head, prefix=prefix), encoding)).logs
    assert (log.facts.records, log.facts.span_s, log.facts.no_fix) == (60, 59.0, 0)
    assert middle(log, "positions") == pytest.approx(5.0, rel=1e-4)
    assert "no width" in log.missing


def test_with_a_stated_boom_the_whole_track_is_driven_again_and_that_is_said(gpx):
    (trace,) = traces_in(gpx(gpx_text([drive(60)])), ReadRequest(BOOM))
    assert np.nansum(trace.area_m2) == pytest.approx(59 * 5 * 36, rel=1e-4)
    assert any("the whole track counts as sprayed" in doubt.words for doubt in trace.facts.doubts)


def test_segments_are_never_joined(gpx):
    fixes = drive(80)
    found = found_in(gpx(gpx_text([fixes[:40], fixes[40:]])))
    assert [log.name for log in found.logs] == ["track.gpx, track 1.1", "track.gpx, track 1.2"]
    assert [log.facts.records for log in found.logs] == [40, 40]


def test_segments_a_gap_of_the_clock_apart_stay_in_one_log_that_is_cut_there(gpx):
    fixes = drive(80)
    (log,) = found_in(gpx(gpx_text([fixes[:40], fixes[60:]]))).logs
    assert (log.facts.records, log.facts.gaps, log.facts.gap_total_s) == (60, 1, 21.0)
    assert middle(log, "positions") == pytest.approx(5.0, rel=1e-4)


def test_of_thousands_of_segments_the_longest_are_read_and_the_rest_told(gpx):
    fixes = drive(700)
    parts = [fixes[2 * nth : 2 * nth + 2] for nth in range(300)] + [fixes[600:]]
    found = found_in(gpx(gpx_text(parts)))
    assert len(found.logs) == gpx_log.MOST_PARTS
    assert max(log.facts.records for log in found.logs) == 100
    assert any(one.kind == "short segment" and one.count == 2 * 101 for one in found.logs[0].repairs)


def test_a_speed_of_gpx_1_0_is_metres_per_second_and_that_of_an_extension_is_worked_out(gpx):
    (stated,) = found_in(gpx(gpx_text([drive(120)], inside="<speed>5.5</speed><course>10</course>"))).logs
    assert middle(stated, "logged") == pytest.approx(5.5)
    km_per_h = "<extensions><a:ext xmlns:a='x'><a:speed>18.0</a:speed></a:ext></extensions>"
    (extended,) = found_in(gpx(gpx_text([drive(120)], inside=km_per_h))).logs
    assert middle(extended, "logged") == pytest.approx(5.0)
    assert [one.stated for one in extended.columns if one.meaning == "speed"] == [False]


def test_a_track_without_times_shows_where_and_says_that_it_has_no_speed(gpx):
    text = gpx_text([drive(30)])
    text = "".join(part.partition("</time>")[2] if nth else part for nth, part in enumerate(text.split("<time>")))
    assert "time" not in text
    (log,) = found_in(gpx(text)).logs
    assert (log.facts.records, log.facts.untimed, log.facts.speeds) == (30, 30, ())
    assert "no time" in log.missing


def test_times_that_are_no_dates_are_shown_as_they_stand(gpx):
    (log,) = found_in(gpx(gpx_text([drive(30)]).replace("2031-05", "31.V"))).logs
    assert "31.V-01T23:59" in log.missing


def test_times_almost_all_equal_are_told(gpx):
    (log,) = found_in(gpx(gpx_text([drive(1) * 25 + drive(2)]))).logs
    assert log.facts.same_time == 25
    assert any("25 of 27 points carry the time of the one before" in doubt.words for doubt in log.doubts)


def test_zones_and_fractions_of_times_are_honoured(gpx):
    first, second = (
        f'<trkpt lat="50" lon="10"><time>{time}</time></trkpt>'
        for time in ("2031-05-01T12:00:00.25+02:00", "2031-05-01T10:00:01")
    )
    (log,) = found_in(gpx(f"<gpx><trk><trkseg>{first}{second}</trkseg></trk></gpx>")).logs
    assert log.facts.span_s == pytest.approx(0.75)


def test_waypoints_and_routes_are_passed_over_and_told(gpx):
    points = (
        '<wpt lat="1" lon="2"><name>A. Name</name></wpt><rte><rtept lat="1" lon="2"/><rtept lat="1" lon="2"/></rte>'
    )
    found = found_in(gpx(gpx_text([drive(30)], head=f"<gpx>{points}")))
    assert [doubt.words.partition(" are ")[0] for doubt in found.doubts] == ["1 waypoints", "2 points of routes"]
    assert found.logs[0].facts.records == 30
    with pytest.raises(LogRefused, match="1 waypoints and 2 points of routes, and no track"):
        logs_in(gpx(f"<gpx>{points}</gpx>"))


def test_nobodys_name_is_kept(gpx):
    text = gpx_text([drive(30)], inside="<name>Farm of A. Name</name><desc>Street 1</desc><cmt>SERIAL-99</cmt>")
    told = repr(found_in(gpx(text)))
    assert not any(secret in told for secret in ("A. Name", "Street 1", "SERIAL-99"))


def test_a_file_that_breaks_off_keeps_what_came_before_and_says_so(gpx):
    text = gpx_text([drive(60)])
    found = found_in(gpx(text[: text.index("<trkpt", len(text) // 2) + 20]))
    assert 25 < found.logs[0].facts.records < 35
    (doubt,) = found.doubts
    assert "cut off or damaged" in doubt.words
    assert f"only the {found.logs[0].facts.records} points before it are read" in doubt.words


BROKEN = {
    "an entity bomb": '<!DOCTYPE g [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><gpx><trk>&b;</trk></gpx>',
    "a document type from elsewhere": '<!DOCTYPE gpx SYSTEM "file:///etc/passwd"><gpx/>',
    "an undeclared entity": "<gpx>&secret;</gpx>",
    "too deep": "<gpx>" + "<a>" * 100,
    "cut off before any point": "<gpx><trk><trkseg><trkpt lat=",
    "an unknown encoding": '<?xml version="1.0" encoding="klingon"?><gpx><trk/></gpx>',
    "an endless piece": "<gpx><trk><name>" + 'x="' + "<a b='" + "x" * (3 << 20),
    "nothing in it": "<gpx></gpx>",
}


@pytest.mark.parametrize("text", BROKEN.values(), ids=BROKEN.keys())
def test_what_no_track_needs_is_refused_in_one_sentence(gpx, text):
    with pytest.raises(LogRefused) as refused:
        logs_in(gpx(text))
    assert refused.value.reason
    assert refused.value.remedy
    assert "\n" not in str(refused.value)


def test_an_endless_attribute_is_refused_before_it_is_whole(gpx, monkeypatch):
    path = gpx("<gpx><trk a='" + "x" * (8 << 20))
    read = []
    checked = gpx_points._Walk.check_piece

    def counted(walk, fed):
        read.append(fed)
        checked(walk, fed)

    monkeypatch.setattr(gpx_points._Walk, "check_piece", counted)
    with pytest.raises(LogRefused, match="longer than 1 MiB without an end"):
        logs_in(path)
    assert sum(read) < 2 << 20


def test_more_points_than_the_limit_are_refused_with_the_way_to_raise_it(gpx):
    path = gpx(gpx_text([drive(60)]))
    with pytest.raises(LogRefused, match="--most-records"):
        logs_in(path, ReadRequest(limits=Limits(most_records=59)))
    assert found_in(path, ReadRequest(limits=Limits(most_records=59).raised(records=60))).logs[0].facts.records == 60


def test_a_point_without_a_readable_place_counts_as_no_fix(gpx):
    text = gpx_text([drive(60)]).replace('lat="50.0', 'lat="north', 1)
    (log,) = found_in(gpx(text)).logs
    assert (log.facts.records, log.facts.no_fix) == (60, 1)
    assert np.isfinite(middle(log, "positions"))
