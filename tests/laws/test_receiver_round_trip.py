"""What a receiver writes is what is read: GPX and NMEA 0183 of any drive anywhere, written and read back."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.fieldlog.receiver_samples import Fix, gpx_text, nmea_text
from tests.log_reading import sent

from wetrun.fieldlog.readers.gpx_points import points_in
from wetrun.fieldlog.readers.nmea_clock import receiver_clock
from wetrun.fieldlog.readers.nmea_instants import NmeaInstants
from wetrun.fieldlog.readers.nmea_sentences import Found, sentences_in
from wetrun.fieldlog.readers.request import PLAIN_REQUEST

GAPLESS_S = 40_000.0  # without a date, a clock says nothing of whole days between two readings


@st.composite
def drives(draw: st.DrawFn) -> list[Fix]:
    """Fixes in time order, hundredths of a second apart or hours, at any places between the poles."""
    steps = draw(st.lists(st.integers(1, round(GAPLESS_S * 100)), min_size=1, max_size=30))
    start = draw(st.datetimes(dt.datetime(1990, 1, 1), dt.datetime(2069, 1, 1), timezones=st.just(dt.UTC)))  # noqa: DTZ001
    start = start.replace(microsecond=start.microsecond // 10_000 * 10_000)
    moments = np.cumsum([0, *steps])
    return [
        Fix(
            start + dt.timedelta(milliseconds=10 * int(after)),
            draw(st.floats(-179.99, 179.99)),
            draw(st.floats(-89.99, 89.99)),
            draw(st.floats(0, 30)),
        )
        for after in moments
    ]


def written(text: str, folder: str) -> Path:
    path = Path(folder) / "receiver"
    path.write_text(text, encoding="utf-8")
    return path


@given(fixes=drives(), talker=st.sampled_from(["GP", "GN", "GL", "GA"]))
def test_nmea_is_read_back(fixes: list[Fix], talker: str) -> None:
    with TemporaryDirectory() as folder:
        path = written(nmea_text(fixes, talker), folder)
        found, instants = Found(), NmeaInstants()
        for sort, fields in sentences_in(sent(path), PLAIN_REQUEST, found):
            instants.add(sort, fields)
    assert not found.repairs()
    time_s = receiver_clock(instants.day_ms, instants.date).time_s
    assert time_s == pytest.approx([fix.at.timestamp() for fix in fixes], abs=1e-3)
    for kind in ("GGA", "RMC"):  # seven digits of a minute
        assert instants.column(f"{kind} lon") == pytest.approx([fix.lon for fix in fixes], abs=1e-9)
        assert instants.column(f"{kind} lat") == pytest.approx([fix.lat for fix in fixes], abs=1e-9)
    knots = [fix.speed * 3600 / 1852 for fix in fixes]
    assert instants.column("RMC speed") == pytest.approx(knots, abs=5.1e-4)
    assert instants.column("VTG speed") == pytest.approx(knots, abs=5.1e-4)


@given(fixes=drives(), cut=st.integers(0, 31), prefix=st.sampled_from(["", "any:"]))
def test_gpx_is_read_back_segment_by_segment(fixes: list[Fix], cut: int, prefix: str) -> None:
    parts = [fixes[:cut], fixes[cut:]]
    head = f'<{prefix}gpx xmlns{":any" if prefix else ""}="http://www.topografix.com/GPX/1/1">'
    with TemporaryDirectory() as folder:
        points = points_in(sent(written(gpx_text(parts, head=head, prefix=prefix), folder)), PLAIN_REQUEST)
    assert points.lengths == [len(part) for part in parts]
    assert points.times == pytest.approx([fix.at.timestamp() for fix in fixes], abs=1e-5)
    assert list(points.columns["lon"]) == pytest.approx([fix.lon for fix in fixes], abs=5.1e-10)
    assert list(points.columns["lat"]) == pytest.approx([fix.lat for fix in fixes], abs=5.1e-10)
