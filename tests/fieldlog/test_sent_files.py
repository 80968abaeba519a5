"""What customers send: any case, junk beside, archives in archives, bombs, locks, links, pipes, foreign framing."""

from __future__ import annotations

import gzip
import os
import zipfile
import zlib
from pathlib import Path

import pytest
from bench.made_time_log import driven, header_text, log_bytes, write_task_data
from tests.fieldlog.log_samples import LOGGED
from tests.fieldlog.receiver_samples import drive, gpx_text, nmea_text

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.formats import logs_in, read_logs
from wetrun.fieldlog.readers.found import FoundLogs, PassedOver
from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS, Limits
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile, sent_files

CSV = b"time (s),distance (m),width (m)\n" + b"".join(b"%d,5,24\n" % i for i in range(20))


def zipped(path, entries):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return path


def refusal(path, limits=DEFAULT_LIMITS):
    with pytest.raises(LogRefused) as refused:
        logs_in(path, ReadRequest(limits=limits))
    assert "\n" not in str(refused.value)
    assert refused.value.remedy
    return str(refused.value)


def told(path, limits=DEFAULT_LIMITS):
    return list(read_logs(path, ReadRequest(limits=limits)))


def of_kind(found, kind):
    return [one for one in found if isinstance(one, kind)]


@pytest.mark.parametrize("name", ["LOG.CSV", "My Field (2).Csv", "log.csv.GZ", "ümläut.csv"])
def test_names_in_any_case_and_with_anything_in_them_are_read(tmp_path, name):
    content = gzip.compress(CSV) if name.endswith("GZ") else b"\xef\xbb\xbf" + CSV
    (tmp_path / name).write_bytes(content)
    assert logs_in(tmp_path / name)[0].logs[0].facts.records == 20
    assert logs_in(tmp_path)[0].logs[0].facts.records == 20


def test_folders_with_spaces_and_junk_beside_are_read_and_junk_is_not_told(tmp_path):
    log = tmp_path / "Field 7" / "from the terminal" / "a.csv"
    for place in (log, tmp_path / "__MACOSX" / "Field 7" / "._a.csv", log.with_name("._a.csv"), tmp_path / ".DS_Store"):
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(CSV)
    (found,) = told(tmp_path / "Field 7")
    assert found.name == "Field 7/from the terminal/a.csv"
    packed = zipped(
        tmp_path / "a.zip", {"Field 7/a.csv": CSV, "__MACOSX/Field 7/._a.csv": CSV, "Field 7/.hidden": b"x"}
    )
    (found,) = told(packed)
    assert found.name == "a.zip/Field 7/a.csv"


def test_a_zip_with_bytes_in_front_of_its_entries_is_read(tmp_path):
    plain = zipped(tmp_path / "a.zip", {"a.csv": CSV}).read_bytes()
    (tmp_path / "a.zip").write_bytes(plain + b"trailing bytes of some mailer")
    assert logs_in(tmp_path / "a.zip")[0].logs


def test_a_zip_in_a_zip_is_told_and_the_rest_is_read(tmp_path):
    inner = zipped(tmp_path / "inner.zip", {"b.csv": CSV}).read_bytes()
    outer = zipped(tmp_path / "outer.zip", {"a.csv": CSV, "inner.zip": inner})
    found = told(outer)
    assert [one.name for one in of_kind(found, FoundLogs)] == ["outer.zip/a.csv"]
    (refused,) = of_kind(found, LogRefused)
    assert "zip inside a zip" in str(refused)
    assert "zip inside a zip" in refusal(zipped(tmp_path / "only.zip", {"inner.zip": inner}))


def test_a_zip_in_a_folder_is_read_like_a_folder(tmp_path):
    zipped(tmp_path / "day 1.zip", {"a.csv": CSV})
    (tmp_path / "bad.zip").write_bytes(b"PK\x03\x04 and no more")
    found = told(tmp_path)
    assert [one.name for one in of_kind(found, FoundLogs)] == [f"{tmp_path.name}/day 1.zip/a.csv"]
    assert "the zip is damaged" in str(of_kind(found, LogRefused)[0])


def test_an_office_document_is_told_as_one(tmp_path):
    book = zipped(tmp_path / "log.xlsx", {"[Content_Types].xml": b"<x/>", "xl/workbook.xml": b"<x/>"})
    assert "save the log in it as CSV" in refusal(book)
    (tmp_path / "a.csv").write_bytes(CSV)
    (passed,) = of_kind(told(tmp_path), PassedOver)
    assert passed.name.endswith("log.xlsx")


@pytest.mark.parametrize("name", ["../a.csv", "/etc/a.csv", "..\\a.csv", "C:\\a.csv", "b/../../a.csv", "C:a.csv"])
def test_names_that_lead_out_of_a_zip_are_refused_before_anything_is_unpacked(tmp_path, monkeypatch, name):
    packed = zipped(tmp_path / "a.zip", {name: CSV})
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda *_: pytest.fail("unpacked"))
    assert "leads out of the zip" in refusal(packed)


def test_bombs_are_refused_by_what_they_say_of_themselves(tmp_path, monkeypatch):
    ratio = zipped(tmp_path / "ratio.zip", {"a.csv": b"\0" * (8 << 20)})
    total = zipped(tmp_path / "total.zip", {f"{nth}.csv": CSV * 40 for nth in range(9)})
    many = zipped(tmp_path / "many.zip", {f"{nth}.csv": b"x" for nth in range(60)})
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda *_: pytest.fail("unpacked"))
    assert "times its size" in refusal(ratio)
    assert "unpacks to" in refusal(total, Limits(most_unpacked_bytes=60_000))
    assert "in 60 files" in refusal(many, Limits(most_files=50))


def test_a_bomb_that_lies_about_its_size_is_stopped_while_unpacking(tmp_path):
    packed = zipped(tmp_path / "a.zip", {"a.csv": CSV * 4000})
    content = bytearray(packed.read_bytes())
    size, claimed = (len(CSV) * 4000).to_bytes(4, "little"), (100).to_bytes(4, "little")
    assert content.count(size) == 2
    packed.write_bytes(content.replace(size, claimed))
    tight = Limits(most_file_bytes=100_000)
    assert "it cannot be unpacked" in refusal(packed, tight) or "larger than" in refusal(packed, tight)


@pytest.mark.parametrize("suffix", ["csv", "gpx", "log"])
def test_a_gzip_that_unpacks_without_end_is_stopped_at_the_limit(tmp_path, suffix):
    heads = {"csv": CSV, "gpx": gpx_text([drive(5)]).encode()[:-12], "log": nmea_text(drive(5)).encode()}
    path = tmp_path / f"bomb.{suffix}.gz"
    path.write_bytes(gzip.compress(heads[suffix] + b" \n" * (4 << 20)))
    assert path.stat().st_size < 100_000
    assert "larger than" in refusal(path, Limits(most_file_bytes=1 << 20))


def test_a_locked_zip_is_told_with_what_to_do(tmp_path):
    packed = zipped(tmp_path / "a.zip", {"a.csv": CSV})
    content = bytearray(packed.read_bytes())
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        content[content.index(mark) + at] |= 1
    packed.write_bytes(content)
    assert "locked with a password" in refusal(packed)


def test_links_that_lead_out_of_a_folder_are_left_alone(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "secret.csv").write_bytes(CSV)
    folder = tmp_path / "sent"
    folder.mkdir()
    (folder / "own.csv").write_bytes(CSV)
    (folder / "link.csv").symlink_to(tmp_path / "elsewhere" / "secret.csv")
    (folder / "up").symlink_to(tmp_path / "elsewhere")
    (folder / "round").symlink_to(folder)
    assert [one.name for one in told(folder)] == ["sent/own.csv"]


def test_a_link_that_is_named_itself_is_followed(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "a.csv").write_bytes(CSV)
    (tmp_path / "link.csv").symlink_to(tmp_path / "elsewhere" / "a.csv")
    assert logs_in(tmp_path / "link.csv")[0].logs


def test_a_folder_is_listed_only_for_a_log_that_has_companions(tmp_path, monkeypatch):
    (tmp_path / "a.csv").write_bytes(CSV)
    (tmp_path / "a.gpx").write_text(gpx_text([drive(30)]))
    (tmp_path / "A.Dbf").write_bytes(b"values")
    task = write_task_data(
        tmp_path / "TASKDATA", {"TLG00001": (header_text("ABD", LOGGED), log_bytes(driven(30), "ABD"))}
    )
    listed: list[str] = []
    plain = Path.iterdir

    def noted(folder):
        listed.append(folder.name)
        return plain(folder)

    monkeypatch.setattr(Path, "iterdir", noted)
    assert logs_in(tmp_path / "a.csv")[0].logs[0].facts.records == 20
    assert logs_in(tmp_path / "a.gpx")[0].logs
    assert not listed
    assert logs_in(task / "TASKDATA.XML")[0].logs
    assert listed == ["TASKDATA"]
    (file,) = sent_files(tmp_path / "a.csv")
    assert isinstance(file, SentFile)
    table = file.beside(".dbf")
    assert table is not None
    assert table.name == "A.Dbf"
    assert file.beside(".shx") is None
    assert file.kin["a.csv"] is file
    assert listed == ["TASKDATA", tmp_path.name]


def test_too_many_files_are_refused_and_the_limit_can_be_raised(tmp_path):
    for nth in range(21):
        (tmp_path / f"{nth}.txt").touch()
    (tmp_path / "a.csv").write_bytes(CSV)
    assert "over 20 files" in refusal(tmp_path, Limits(most_files=20))
    assert logs_in(tmp_path / "a.csv", ReadRequest(limits=Limits(most_files=20)))[0].logs
    assert of_kind(told(tmp_path, Limits(most_files=22)), FoundLogs)


def test_twenty_thousand_and_one_entries_are_too_many(tmp_path):
    packed = zipped(tmp_path / "a.zip", {f"{nth}": b"" for nth in range(DEFAULT_LIMITS.most_files + 1)})
    assert "in 20001 files" in refusal(packed)


def test_a_file_larger_than_the_limit_is_refused_and_the_limit_can_be_raised(tmp_path):
    (tmp_path / "a.csv").write_bytes(CSV * 100)
    tight = Limits(most_file_bytes=1000)
    assert "--most-gib" in refusal(tmp_path / "a.csv", tight)
    packed = zipped(tmp_path / "a.zip", {"a.csv": CSV * 100})
    assert "larger than" in refusal(packed, tight)
    for path in (tmp_path / "a.csv", packed):
        assert logs_in(path, ReadRequest(limits=tight.raised(gib=0.001)))[0].logs


def test_a_pipe_and_a_device_do_not_keep_anybody_waiting(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "a.csv").write_bytes(CSV)
    assert "a pipe or a device" in refusal(tmp_path / "pipe.csv")
    assert "a pipe or a device" in refusal(Path("/dev/zero"))
    assert [one.name for one in told(tmp_path)] == [f"{tmp_path.name}/a.csv"]


def test_a_file_that_cannot_be_opened_is_told(tmp_path, monkeypatch):
    (tmp_path / "a.csv").write_bytes(CSV)
    (tmp_path / "b.csv").write_bytes(CSV)
    opened = Path.open

    def locked(path, *mode, **options):
        if path.name == "b.csv":
            raise PermissionError(13, "Permission denied")
        return opened(path, *mode, **options)

    monkeypatch.setattr(Path, "open", locked)
    assert [one.name for one in of_kind(told(tmp_path), FoundLogs)] == [f"{tmp_path.name}/a.csv"]
    assert "Permission denied" in refusal(tmp_path / "b.csv")


# Vendor framing around a standard stream.


@pytest.fixture
def task_data(tmp_path):
    log = header_text("ABD", LOGGED), log_bytes(driven(300), "ABD")
    return write_task_data(tmp_path / "TASKDATA", {"TLG00001": log})


FOREIGN = bytes.fromhex("56 4e 44 52 01 00 02 00 de ad be ef 00 00 10 00") * 2


def test_a_container_of_somebodys_own_is_refused_with_its_first_bytes_and_what_to_ask_for(task_data, tmp_path):
    inside = b"".join(file.read_bytes() for file in sorted(task_data.iterdir()))
    for name in ("job.vnd", "job"):
        (tmp_path / name).write_bytes(FOREIGN + zlib.compress(inside))
        words = refusal(tmp_path / name)
        assert "it begins 56 4e 44 52 01 00 02 00" in words
        assert "ask for the standard export" in words
    (tmp_path / "job.dat").write_bytes(FOREIGN + zlib.compress(inside))
    words = refusal(tmp_path / "job.dat")
    assert "begins 56 4e 44 52 01 00 02 00" in words
    assert "standard export" in words


def test_a_container_beside_logs_is_passed_over_by_name_in_a_folder_and_in_a_zip(task_data, tmp_path):
    (task_data / "job.vnd").write_bytes(FOREIGN)
    packed = zipped(tmp_path / "a.zip", {f"x/{file.name}": file.read_bytes() for file in task_data.iterdir()})
    for path in (task_data, packed):
        found = told(path)
        assert len(of_kind(found, FoundLogs)[0].logs) == 1
        (passed,) = of_kind(found, PassedOver)
        assert passed.name.endswith("job.vnd")
        assert "56 4e 44 52" in passed.reason


def test_task_data_with_foreign_bytes_in_front_is_refused_with_them(task_data):
    main = task_data / "TASKDATA.XML"
    main.write_bytes(FOREIGN + main.read_bytes())
    assert "it begins 56 4e 44 52 01 00 02 00" in refusal(task_data)


def test_a_time_log_with_foreign_bytes_in_front_is_read_from_its_first_record_on(task_data):
    file = task_data / "TLG00001.bin"
    file.write_bytes(FOREIGN + file.read_bytes())
    (found,) = logs_in(task_data)
    (log,) = found.logs
    assert 297 <= log.facts.records <= 301
    assert any(repair.count for repair in log.repairs)


def test_foreign_bytes_in_front_of_a_track_and_a_receiver_log(tmp_path):
    (tmp_path / "a.log").write_bytes(FOREIGN + nmea_text(drive(60)).encode())
    assert logs_in(tmp_path / "a.log")[0].logs[0].facts.records == 60
    (tmp_path / "a.gpx").write_bytes(FOREIGN + gpx_text([drive(60)]).encode())
    assert "56 4e 44 52" in refusal(tmp_path / "a.gpx")
