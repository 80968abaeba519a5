"""Clocks of text logs: numbers whose size says what they are, dates without a clock, counts of rows."""

from __future__ import annotations

import numpy as np
import pytest

from wetrun.fieldlog.readers.clock import clock_of, counts_rows, why_no_clock, without_clock
from wetrun.fieldlog.readers.formats import logs_in


def read_as(*cells, unit="", format_=""):
    clock = clock_of(cells, unit=unit, format_=format_)
    assert clock is not None
    return clock.words, clock.seconds(cells).tolist()


@pytest.mark.parametrize(
    ("cells", "words", "seconds"),
    [
        (("1004549898", "1004549901"), "s since 1970", [1004549898, 1004549901]),
        (("1004549898000", "1004549898200"), "ms since 1970", [1004549898, 1004549898.2]),
        (("1004549898000000", "1004549898200000"), "us since 1970", [1004549898, 1004549898.2]),
        # 31 October 2001, 17:38:18 in fourteen digits; a ten-digit number is never taken for one.
        (("20011031173818", "20011031173821"), "date and clock in fourteen digits", [1004549898, 1004549901]),
        # Noon of 31 October 2001 is day 37195.5 of a spreadsheet.
        (("37195.5", "37195.50001"), "day number of a spreadsheet", [1004529600, 1004529600.864]),
    ],
)
def test_a_number_is_read_as_its_size_says(cells, words, seconds):
    told, read = read_as(*cells)
    assert told == words
    assert read == pytest.approx(seconds, abs=2e-6)


def test_day_numbers_say_how_coarse_they_are():
    clock = clock_of(("42123.45678", "42123.45679"), unit="", format_="")
    assert clock is not None
    assert "5 decimals, so the clock goes in steps of 0.864 s" in clock.doubts[0].words


@pytest.mark.parametrize("cells", [("1", "2", "3"), ("24538654", "24538655"), ("0.2", "0.4"), ("37195", "37195")])
def test_a_bare_number_of_no_known_size_has_no_reading(cells):
    assert clock_of(cells, unit="", format_="") is None


@pytest.mark.parametrize(
    "cells",
    [("2019-04-16",) * 3, ("4/16/2019",) * 3, ("16.04.2019",) * 3, ("2019-04-16T00:00:00Z",) * 3, ("20190416",) * 3],
)
def test_dates_without_a_clock_are_no_times(cells):
    assert without_clock(cells)
    assert clock_of(cells, unit="", format_="") is None
    assert "without a time of day" in why_no_clock(cells)


def test_a_count_of_rows_is_told_as_one():
    cells = [str(number) for number in range(1, 300)]
    assert "counts rows" in why_no_clock(cells)
    assert counts_rows(np.arange(1.0, 300))
    assert not counts_rows(np.concatenate([np.arange(200.0), np.arange(300.0, 400)]))


def test_clocks_hours_off_or_days_behind_give_the_same_speeds(write_rows, plain_rows):
    speeds = []
    for first in ("2031-05-01T10:00:", "2031-04-30T03:00:", "1980-01-06T00:00:"):
        rows = [{**row, "time (s)": f"{first}{0.2 * i:06.3f}Z"} for i, row in enumerate(plain_rows())]
        rows = [{name.replace("time (s)", "utc"): cell for name, cell in row.items()} for row in rows]
        (log,) = logs_in(write_rows(rows))[0].logs
        assert log.trace is not None
        speeds.append(log.trace.speed_mps[1:])
    assert speeds[0] == pytest.approx(np.full(59, 5.0))
    assert speeds[1] == pytest.approx(speeds[0], rel=1e-5)
    assert speeds[2] == pytest.approx(speeds[0], rel=1e-5)


@pytest.mark.parametrize("time", ["2031-05-01", "count"])
def test_a_log_without_a_clock_still_tells_its_places(write_rows, plain_rows, time):
    rows = [{"time": i + 1 if time == "count" else time, **row} for i, row in enumerate(plain_rows(200))]
    for row in rows:
        del row["time (s)"]
    (log,) = logs_in(write_rows(rows))[0].logs
    assert (log.facts.records, log.facts.untimed, log.facts.no_fix) == (200, 200, 0)
    assert log.trace is None
    assert ("counts rows" if time == "count" else "without a time of day") in log.missing
    assert not log.facts.speeds
