"""Troubles seen in real task data that no other test here makes: close rows, a receiver's clock, road runs, framing."""

from __future__ import annotations

import gzip
import zipfile

import numpy as np
import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data

from wetrun.fieldlog.readers.formats import logs_in
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.sent_files import SentFile, sent_files
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_pieces import tables_in
from wetrun.fieldlog.trace import usable

LISTED = ['A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"']
ON, OFF = ((0, 1_870_000), (1, -43), (2, 5000)), ((0, 1_870_000), (1, -64), (2, 12_000))


def written(folder, records, letters="ABD"):
    return write_task_data(folder, {"TLG00001": (header_text(letters, LISTED), log_bytes(records, letters))})


def only_log(path):
    (found,) = logs_in(path)
    (log,) = found.logs
    return log


def drive(count=200, letters="ABD", values=ON):
    return [MadeRecord(one.ms, one.day, one.position, values) for one in driven(count, letters=letters, values=0)]


def test_several_records_of_one_second_at_one_position_are_one_instant(tmp_path):
    whole = only_log(written(tmp_path / "whole", drive()))
    split = [
        MadeRecord(one.ms + late_ms, one.day, one.position, (one.values[nth],))
        for one in drive()
        for nth, late_ms in enumerate((0, 0, 20))  # one changed value each: two at one reading, one 20 ms on
    ]
    log = only_log(written(tmp_path / "split", split))
    assert (log.facts.records, log.facts.same_time) == (600, 200)
    assert any(repair.kind == "joined" and repair.count == 400 for repair in log.trace.facts.repairs)
    on = usable(log.trace)
    assert log.trace.speed_mps[on] == pytest.approx(whole.trace.speed_mps[usable(whole.trace)])
    assert log.trace.area_m2[on].sum() == pytest.approx(whole.trace.area_m2[usable(whole.trace)].sum())


@pytest.mark.parametrize(
    ("gps_ms", "gps_day"), [(0, 0), (43_200_000 - 7_200_000, 18_627), (4_294_967_295, 65_535), (86_399_999, 1)]
)
def test_the_receivers_own_clock_is_never_used_however_far_off(tmp_path, gps_ms, gps_day):
    letters = "ABCDEFGHI"
    want = only_log(written(tmp_path / "want", drive(letters=letters), letters))
    records = [
        MadeRecord(one.ms, one.day, {**one.position, "H": gps_ms, "I": gps_day}, one.values)
        for one in drive(letters=letters)
    ]
    log = only_log(written(tmp_path / "off", records, letters))
    assert log.trace.time_s.tobytes() == want.trace.time_s.tobytes()
    assert log.trace.area_m2.tobytes() == want.trace.area_m2.tobytes()
    assert log.facts.span_s == want.facts.span_s


def test_a_road_run_and_standing_with_sections_off_are_left_out_and_told(tmp_path):
    records = [
        MadeRecord(one.ms, one.day, one.position, OFF if 50 <= nth < 150 else ON) for nth, one in enumerate(drive())
    ]
    log = only_log(written(tmp_path, records))
    assert any(repair.kind == "all off" and repair.count == 100 for repair in log.trace.facts.repairs)
    assert np.nanmax(log.trace.shown_speed_mps) == pytest.approx(5.0)
    assert log.trace.area_m2[usable(log.trace)].sum() == pytest.approx(98 * 23.0, rel=0.001)
    (logged,) = [one for one in log.facts.speeds if one.source == "logged"]
    assert logged.percentiles_mps[-1] == pytest.approx(12.0)  # the road run still shows in the records as written


def test_bytes_around_a_zip_do_not_keep_it_from_being_read(tmp_path):
    folder = written(tmp_path / "TASKDATA", drive())
    packed = tmp_path / "sent.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for file in folder.iterdir():
            archive.write(file, f"My Job/{file.name}")
    packed.write_bytes(packed.read_bytes() + b"\0" * 200)
    assert only_log(packed).facts.records == 200


def test_a_foreign_frame_around_the_stream_is_refused_with_its_first_bytes(tmp_path):
    folder = written(tmp_path / "TASKDATA", drive())
    (folder / "TLG00001.bin").write_bytes(bytes.fromhex("cafe0001") + b"\xff" * 500)
    (found,) = logs_in(folder)
    assert "begins ca fe 00 01 ff ff ff ff" in found.refused[0].reason


def test_pieces_come_alike_from_a_file_a_gzip_and_a_zip(tmp_path):
    content = log_bytes(drive(3000), "ABD")
    (tmp_path / "plain.bin").write_bytes(content)
    (tmp_path / "packed.bin.gz").write_bytes(gzip.compress(content))
    with zipfile.ZipFile(tmp_path / "sent.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.bin", content)
    header = header_in(header_text("ABD", LISTED).encode(), file="TLG00001.xml")
    limits = Limits(most_ratio=10_000)
    for name in ("plain.bin", "packed.bin.gz", "sent.zip"):
        (sent,) = sent_files(tmp_path / name, limits)
        assert isinstance(sent, SentFile)
        tables = list(tables_in(sent.open_plain, header, file=name, piece_records=700))
        assert len(tables) > 4
        assert sum(table.records.count for table in tables) == 3000


def test_an_entry_of_a_zip_without_a_name_is_left_out(tmp_path):
    folder = written(tmp_path / "TASKDATA", drive())
    packed = tmp_path / "sent.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for file in folder.iterdir():
            archive.write(file, f"My Job/{file.name}")
        archive.writestr("nameless", b"")
    packed.write_bytes(packed.read_bytes().replace(b"nameless", b"\0ameless"))
    assert only_log(packed).facts.records == 200
