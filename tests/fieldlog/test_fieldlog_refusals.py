"""Logs that cannot be used end in one sentence with place and remedy, and in nothing else."""

from __future__ import annotations

import gzip

import pytest
from tests.log_reading import only_trace

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers.mapping import mapping_from, mapping_in

HEAD = b"time (s),distance (m),width (m)\n"
GOOD = HEAD + b"".join(b"%d,5,24\n" % i for i in range(20))

BROKEN = {
    "empty": b"",
    "blank lines only": b"\n\n  \n",
    "nothing but a byte order mark": b"\xef\xbb\xbf\n",
    "header only": HEAD,
    "binary": bytes(range(256)) * 40,
    "a picture's first bytes": b"\x89PNG\r\n\x1a\n" + b"\x07" * 99,
    "UTF-16": GOOD.decode().encode("utf-16"),
    "another encoding": HEAD + "1,5,24,Müller\n".encode("latin-1"),
    "zip": b"PK\x03\x04" + b"\0" * 60,
    "prose": b"Dear all,\nplease find the log attached\nthanks\n",
    "no columns": b"time\n1\n2\n3\n",
    "no header": b"1,5,24\n2,5,24\n3,5,24\n",
    "column name twice": b"time (s),distance (m),distance (m)\n1,5,24\n",
    "no time column": b"distance (m),width (m)\n5,24\n5,24\n",
    "no way to a speed": b"time (s),width (m)\n1,24\n2,24\n",
    "no width": b"time (s),distance (m)\n1,5\n2,5\n",
    "bare number as time": b"time,distance (m),width (m)\n1,5,24\n2,5,24\n",
    "words as time": b"time,distance (m),width (m)\nnoon,5,24\nlater,5,24\n",
    "no unit of distance": b"time (s),distance,width (m)\n1,5,24\n2,5,24\n",
    "no unit of width": b"time (s),speed (m/s),width\n1,5,24\n2,5,24\n",
    "all missing": HEAD + b"NaN,NaN,NaN\n" * 20,
    "every width zero": HEAD + b"".join(b"%d,5,0\n" % i for i in range(20)),
    "every distance missing": HEAD + b"".join(b"%d,NA,24\n" % i for i in range(20)),
    "clock stands still": HEAD + b"7,5,24\n" * 20,
    "single record": HEAD + b"1,5,24\n",
    "every instant an hour apart": HEAD + b"".join(b"%d,5,24\n" % (3600 * i) for i in range(2)),
    "ragged rows": HEAD + b"1,5\n" * 20,
    "one endless line": b"time (s),distance (m)," + b"x" * 200_000 + b"\n1,2,3\n",
    "an endless line further down": GOOD + b"9" * 200_000 + b"\n",
    "damaged gzip": gzip.compress(GOOD * 500, mtime=0)[:200],
    "gzip of zeros": gzip.compress(b"\0" * 5_000_000),
    "too many sections": b"time (s),section,distance (m),width (m)\n"
    + b"".join(b"%d,%d,5,24\n" % (i, i) for i in range(99)),
}


@pytest.mark.parametrize("content", BROKEN.values(), ids=BROKEN.keys())
def test_a_broken_log_is_refused_with_place_and_remedy(tmp_path, content):
    path = tmp_path / "broken.csv"
    path.write_bytes(content)
    with pytest.raises(LogRefused) as refused:
        only_trace(path)
    assert refused.value.file == "broken.csv"
    assert refused.value.place
    assert refused.value.reason
    assert refused.value.remedy
    assert "\n" not in str(refused.value).strip()


def test_a_gigabyte_of_zeros_is_refused_from_its_first_block(tmp_path, monkeypatch):
    path = tmp_path / "zeros.csv"
    with path.open("wb") as hole:
        hole.truncate(1 << 30)
    monkeypatch.setattr(
        "wetrun.fieldlog.readers.csv_log.blocks_of", lambda *_: pytest.fail("read past the first block")
    )
    with pytest.raises(LogRefused, match="byte 0 is zero"):
        only_trace(path)


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    with pytest.raises(LogRefused, match="there is no such file"):
        only_trace(tmp_path / "absent.csv")
    with pytest.raises(LogRefused, match="there is no log in it"):
        only_trace(tmp_path)


def test_the_control_is_accepted(tmp_path):
    path = tmp_path / "good.csv"
    path.write_bytes(GOOD)
    assert only_trace(path).facts.instants == 20


def test_everything_wrong_in_a_mapping_is_named_at_once():
    text = """
    format_version = 2
    extra = 1
    [columns]
    distance = { column = "D", unit = "gal/ac" }
    colour = { column = "C" }
    width = { unit = "ft" }
    time = { column = "T", pattern = "x" }
    [boom]
    full_width = { value = -3, unit = "ft" }
    """
    with pytest.raises(InputProblems) as refused:
        mapping_from(text, file="mine.toml")
    keys = {problem.key for problem in refused.value.problems}
    assert keys == {
        "format_version",
        "extra",
        "columns.distance.unit",
        "columns.colour",
        "columns.width",
        "columns.time.pattern",
        "boom.full_width.value",
    }
    assert all(problem.remedy for problem in refused.value.problems)


@pytest.mark.parametrize(
    "text",
    [
        "not toml at all [",
        "format_version = true",
        "format_version = 1\ncolumns = 3",
        "format_version = 1\nboom = 3",
        'format_version = 1\n[boom]\nfull_width = { value = 100, unit = "gal" }',
    ],
)
def test_a_mapping_that_is_none_is_refused(text):
    with pytest.raises(InputProblems):
        mapping_from(text, file="mine.toml")


def test_a_mapping_file_must_exist_and_be_small_and_text(tmp_path):
    (tmp_path / "big.toml").write_bytes(b"#" * 200_000)
    (tmp_path / "binary.toml").write_bytes(b"\xff\xfe\x00")
    for name in ("absent.toml", "big.toml", "binary.toml"):
        with pytest.raises(InputProblems, match=name):
            mapping_in(tmp_path / name)


def test_a_mapping_for_another_log_names_the_columns_it_misses(tmp_path):
    path = tmp_path / "good.csv"
    path.write_bytes(GOOD)
    text = 'format_version = 1\n[columns]\ndistance = { column = "DIST" }\nwidth = { column = "W" }'
    with pytest.raises(InputProblems) as refused:
        only_trace(path, mapping_from(text, file="mine.toml"))
    assert [problem.value for problem in refused.value.problems] == ["'DIST'", "'W'"]
