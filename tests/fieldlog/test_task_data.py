"""Task data that the tests make: what is read, what is never read, what is refused, and damage of every kind."""

from __future__ import annotations

import random
import resource
import shutil
import zipfile

import numpy as np
import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data

from wetrun.errors import LogRefused
from wetrun.fieldlog.inspect import inspection
from wetrun.fieldlog.readers import xml_tags
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.record_facts import BETWEEN_RECORDS
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.trace import usable

LOGGED = ['A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"']
L_PER_HA = 10_000  # raw steps of volume per area
ALL_ON, LEFT_OFF = 0xFFFFFFD5 - (1 << 32), 0xFFFFFFD4 - (1 << 32)


def sprayed(count=300):
    """5 m/s at 187 L/ha, written once; the left section goes off at half way."""
    records = []
    for nth, one in enumerate(driven(count, values=0)):
        values = []
        if nth == 0:
            values = [(0, 187 * L_PER_HA), (1, ALL_ON + 0), (2, 5000)]
        elif nth == count // 2:
            values = [(1, LEFT_OFF)]
        records.append(MadeRecord(one.ms, one.day, one.position, tuple(values)))
    return records


def sprayed_log(count=300):
    return header_text("ABD", LOGGED), log_bytes(sprayed(count), "ABD")


@pytest.fixture
def folder(tmp_path):
    return write_task_data(tmp_path / "TASKDATA", {"TLG00001": sprayed_log()})


def only_log(path):
    (found,) = logs_in(path)
    (log,) = found.logs
    return log


def test_sections_rate_and_speed_come_out_as_driven(folder):
    log = only_log(folder)
    trace = log.trace
    assert log.kind == "sprayer"
    assert [(one.name, one.width_m) for one in trace.sections] == [("1", 5.0), ("2", 12.0), ("3", 6.0)]
    assert trace.full_width_m == pytest.approx(23.0)
    assert set(np.round(trace.width_m[:150], 6)) == {23.0}
    assert set(np.round(trace.width_m[150:], 6)) == {18.0}
    on = usable(trace)
    assert trace.applied_m3pm2[on] == pytest.approx(187e-7)
    assert trace.speed_mps[on] == pytest.approx(5.0)
    assert trace.area_m2[on].sum() == pytest.approx(149 * 1.0 * 23 + 150 * 1.0 * 18)
    first = sprayed(1)[0].position
    assert np.degrees([trace.origin.longitude_rad, trace.origin.latitude_rad]) * 1e7 == pytest.approx(
        [first["B"], first["A"]]
    )
    by_source = {one.source: one.percentiles_mps[3] for one in log.facts.speeds if one.source != BETWEEN_RECORDS}
    assert by_source == pytest.approx({"logged": 5.0, "positions": 5.0}, rel=0.002)


def test_a_section_that_reports_an_error_counts_as_off_and_is_doubted(folder):
    words = ((1, LEFT_OFF + 2), (2, 5000))  # the left section: error
    records = [MadeRecord(one.ms, one.day, one.position, words) for one in driven(100, values=0)]
    log = only_log(write_task_data(folder, {"TLG00001": (header_text("ABD", LOGGED), log_bytes(records, "ABD"))}))
    assert set(np.round(log.trace.width_m, 6)) == {18.0}
    assert any("error on 100 records" in doubt.words for doubt in log.trace.facts.doubts)


def test_nobodys_name_address_or_serial_number_is_kept(folder):
    (found,) = logs_in(folder)
    for secret in ("A. Name", "Street 1", "SERIAL-99", "46A31C2C"):
        assert secret not in repr(found)


def test_a_rate_that_is_not_written_again_is_held_for_a_minute_only(folder):
    trace = only_log(write_task_data(folder, {"TLG00001": sprayed_log(400)})).trace
    known = np.isfinite(trace.applied_m3pm2)
    assert known.sum() == 301  # 60 s at 0.2 s, both ends
    assert known[:301].all()


def test_speeds_wrapped_in_network_messages_stand_side_by_side(folder):
    wrapped = [
        'A="DFFE" B="" C="DET-1" D="65096" E="0" F="15"',
        'A="DFFE" B="" C="DET-1" D="65097" E="0" F="15"',
        'A="DFFE" B="" C="DET-1" D="129026" E="32" F="47"',
        'A="DFFE" B="" C="DET-1" D="129026" E="16" F="31"',  # the course, not a speed
    ]
    words = ((0, 5600), (1, 0xFFFF), (2, 500), (3, 123))
    records = [MadeRecord(one.ms, one.day, one.position, words) for one in driven(100, values=0)]
    log = only_log(write_task_data(folder, {"TLG00001": (header_text("ABD", wrapped), log_bytes(records, "ABD"))}))
    by_source = {one.source: one.percentiles_mps[3] for one in log.facts.speeds if one.source != BETWEEN_RECORDS}
    assert by_source == pytest.approx({"wheel": 5.6, "GNSS": 5.0, "positions": 5.0}, rel=0.002)
    assert any("wheel is more than a tenth above" in doubt.words for doubt in log.doubts)


@pytest.mark.parametrize("status", [15, 8])
def test_position_status_never_rejects_but_simulated_is_doubted(folder, status):
    records = [MadeRecord(one.ms, one.day, {**one.position, "D": status}, one.values) for one in sprayed()]
    log = only_log(write_task_data(folder, {"TLG00001": (header_text("ABD", LOGGED), log_bytes(records, "ABD"))}))
    assert np.isfinite(log.trace.east_m).all()
    assert any("simulated" in doubt.words for doubt in log.doubts) == (status == 8)


def test_positions_at_nought_are_dropped_and_their_share_told(folder):
    records = [MadeRecord(o.ms, o.day, {**o.position, **({"A": 0, "B": 0} if n < 30 else {})}, o.values)
               for n, o in enumerate(sprayed())]  # fmt: skip
    log = only_log(write_task_data(folder, {"TLG00001": (header_text("ABD", LOGGED), log_bytes(records, "ABD"))}))
    assert log.facts.no_fix == 30
    assert any("10.0 %" in repair.words for repair in log.repairs)
    assert np.isnan(log.trace.east_m[0])


def test_a_clock_set_back_and_a_gap_are_cut_and_counted(folder):
    written = sprayed()[0].values
    late = [600_000 if 100 <= n < 200 else 0 for n in range(300)]
    records = [
        MadeRecord(one.ms + late[n], one.day, one.position, one.values if n % 100 else written)
        for n, one in enumerate(sprayed())
    ]
    log = only_log(write_task_data(folder, {"TLG00001": (header_text("ABD", LOGGED), log_bytes(records, "ABD"))}))
    assert (log.facts.gaps, log.facts.backward_steps) == (1, 1)
    assert log.trace.facts.backward_steps == 1
    assert np.nanmax(log.trace.interval_s) == pytest.approx(0.2)


def test_logs_absent_empty_headerless_or_of_one_record_are_told_and_the_rest_is_read(tmp_path):
    good = sprayed_log()
    one = header_text("ABD", []), log_bytes(driven(1, values=0), "ABD")
    logs = {"TLG00001": good, "TLG00002": (good[0][:-9], good[1]), "TLG00003": one, "TLG00004": (good[0], b""),
            "TLG00005": good}  # fmt: skip
    folder = write_task_data(tmp_path / "TASKDATA", logs)
    (folder / "TLG00005.bin").unlink()
    (found,) = logs_in(folder)
    told = {refused.file: refused for refused in found.refused}
    assert [log.name for log in found.logs] == ["TLG00001", "TLG00003"]
    assert found.logs[1].missing == "no speed and fewer than two positions"
    assert set(told) == {"TLG00002.xml", "TLG00004.bin", "TLG00005.bin"}
    assert told["TLG00002.xml"].place == "line 1"
    assert "cut off" in told["TLG00002.xml"].reason
    assert "not there" in told["TLG00005.bin"].reason
    assert len(traces_in(folder)) == 1


def test_any_case_sub_folders_junk_and_a_zip_give_the_same(folder, tmp_path):
    packed = tmp_path / "from the terminal.zip"
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in folder.iterdir():
            archive.write(file, f"My Job 1/TASKDATA/{file.name.swapcase()}")
            archive.writestr(f"__MACOSX/My Job 1/TASKDATA/._{file.name}", b"\0\5\x16\7junk")
    want = only_log(folder).trace.area_m2.tobytes()
    assert only_log(packed).trace.area_m2.tobytes() == want
    assert only_log(folder / "TASKDATA.XML").trace.area_m2.tobytes() == want


def test_parts_in_files_of_their_own_are_read_and_a_missing_one_is_doubted(folder):
    text = (folder / "TASKDATA.XML").read_text(encoding="utf-8-sig")
    start, end = text.index("<DVC"), text.index("</DVC>") + 6
    (folder / "dvc00000.xml").write_text(f"<XFC>{text[start:end]}</XFC>", encoding="utf-8")
    parts = '<XFR A="DVC00000" B="1"/><XFR A="PFD00000" B="1"/>'
    (folder / "TASKDATA.XML").write_text(text[:start] + parts + text[end:], encoding="utf-8")
    (found,) = logs_in(folder)
    trace = found.logs[0].trace
    assert trace is not None
    assert len(trace.sections) == 3
    assert "PFD00000" in found.doubts[0].words


@pytest.mark.parametrize("version", ["", "0", "9", "four"])
def test_an_unusable_version_number_is_doubted_not_refused(folder, version):
    text = (
        (folder / "TASKDATA.XML")
        .read_text(encoding="utf-8-sig")
        .replace('VersionMajor="4"', f'VersionMajor="{version}"')
    )
    (folder / "TASKDATA.XML").write_text(text, encoding="utf-8")
    (found,) = logs_in(folder)
    assert "version number" in found.doubts[0].words
    assert found.logs[0].trace is not None


BOMB = (
    '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><ISO11783_TaskData>&b;</ISO11783_TaskData>'
)
REFUSED = {
    "entities": (BOMB, "document type"),
    "outside document type": ('<!DOCTYPE x SYSTEM "file:///etc/passwd"><ISO11783_TaskData/>', "document type"),
    "cut off": ('<ISO11783_TaskData VersionMajor="4"><TSK A="T', "cut off"),
    "another file": ("<html></html>", "not ISO 11783-10"),
    "empty": ("", "empty"),
    "path trick": ('<ISO11783_TaskData><TSK><TLG A="../../etc/x"/></TSK></ISO11783_TaskData>', "only names such as"),
    "outside path": ('<ISO11783_TaskData><XFR A="/etc/passwd"/></ISO11783_TaskData>', "only names such as"),
    "deep nesting": ("<a>" * 90 + "</a>" * 90, "nested deeper"),
    "unknown encoding": ('<?xml version="1.0" encoding="klingon"?><ISO11783_TaskData/>', "encoding"),
}


@pytest.mark.parametrize(("text", "says"), REFUSED.values(), ids=REFUSED.keys())
def test_a_bad_main_file_is_refused_with_a_sentence(folder, text, says):
    (folder / "TASKDATA.XML").write_text(text, encoding="utf-8")
    with pytest.raises(LogRefused, match=says):
        logs_in(folder)


def test_too_large_an_xml_is_refused_before_it_is_parsed(folder, monkeypatch):
    monkeypatch.setattr(xml_tags, "MOST_XML_BYTES", 100)
    with pytest.raises(LogRefused, match="larger than"):
        logs_in(folder)


def test_archives_that_lead_out_or_unpack_to_too_much_are_refused(tmp_path):
    for name, content, says in (
        ("../TASKDATA.XML", b"<x/>", "leads out"),
        ("/TASKDATA.XML", b"<x/>", "leads out"),
        ("TASKDATA.XML", b"\0" * (64 << 20), "times its size"),
    ):
        packed = tmp_path / "bad.zip"
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(name, content)
        with pytest.raises(LogRefused, match=says):
            logs_in(packed)


def test_a_link_that_leads_out_of_the_folder_is_not_followed(folder, tmp_path):
    secret = tmp_path / "secret.bin"
    shutil.move(folder / "TLG00001.bin", secret)
    (folder / "TLG00001.bin").symlink_to(secret)
    (found,) = logs_in(folder)
    assert [refused.file for refused in found.refused] == ["TLG00001.bin"]


def test_a_file_over_the_limit_is_refused_and_the_limit_can_be_raised(folder):
    tight = Limits(most_file_bytes=2000)
    (found,) = logs_in(folder, ReadRequest(limits=tight))
    assert not logs_in(folder, ReadRequest(limits=tight.raised(gib=0.001)))[0].refused
    assert "larger than" in found.refused[0].reason


def test_an_empty_folder_says_what_is_wanted(tmp_path):
    with pytest.raises(LogRefused, match="there is no log in it"):
        logs_in(tmp_path)


def test_a_log_without_width_says_so_when_a_plan_asks_for_it(folder):
    log = header_text("ABD", LOGGED[2:]), log_bytes(driven(50, values=1), "ABD")
    text = (folder / "TASKDATA.XML").read_text(encoding="utf-8-sig")
    write_task_data(folder, {"TLG00001": log})
    start, end = text.index("<DVC"), text.index("</DVC>") + 6
    (folder / "TASKDATA.XML").write_text(text[:start] + text[end:], encoding="utf-8")
    with pytest.raises(LogRefused, match="TLG00001: no working width"):
        traces_in(folder)


def damage(content, chance):
    """Flip a bit, cut a piece out, write a piece twice, or overwrite one."""
    at, length, kind = chance.randrange(len(content)), chance.randint(1, 60), chance.randrange(4)
    if kind == 0:
        content[at] ^= 1 << chance.randrange(8)
    elif kind == 1 and len(content) > length + 40:
        del content[at : at + length]
    elif kind == 2:
        content[at:at] = content[at : at + length]
    else:
        content[at : at + 4] = chance.choice([b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff", b"<!--", b'A=""'])


def test_five_hundred_damaged_sets_are_read_or_refused_and_nothing_else(tmp_path):
    folder = write_task_data(tmp_path / "TASKDATA", {"TLG00001": sprayed_log(120)})
    files = {file.name: file.read_bytes() for file in folder.iterdir()}
    chance = random.Random(20310502)  # noqa: S311 - a seed, so that a failure comes again
    outcomes = dict.fromkeys(("read", "trace refused", "log refused", "set refused"), 0)
    recovered = []
    for case in range(500):
        name = chance.choice(["TLG00001.bin", "TLG00001.bin", "TLG00001.xml", "TASKDATA.XML"])
        content = bytearray(files[name])
        for _ in range(chance.randint(1, 4)):
            damage(content, chance)
        for other, whole in files.items():
            (folder / other).write_bytes(bytes(content) if other == name else whole)
        outcome, records = outcome_of(_zipped(folder, tmp_path, chance) if case % 10 == 0 else folder)
        outcomes[outcome] += 1
        if name == "TLG00001.bin" and outcome == "read" and case % 10:
            recovered.append(records)
    assert min(outcomes[kind] for kind in ("read", "log refused", "set refused")) > 50, outcomes
    assert np.median(recovered) >= 115
    assert max(recovered) <= 130
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss < 2 << 20  # KiB


def _zipped(folder, tmp_path, chance):
    packed = tmp_path / "damaged.zip"
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in folder.iterdir():
            archive.write(file, file.name)
    content = bytearray(packed.read_bytes())
    damage(content, chance)
    packed.write_bytes(bytes(content))
    return packed


def outcome_of(path):
    try:
        (found,) = logs_in(path)
    except LogRefused:
        return "set refused", 0
    if not found.logs:
        return "log refused", 0
    if found.logs[0].trace is None:
        return "trace refused", 0
    inspection(found.logs[0].trace)
    return "read", found.logs[0].facts.records
